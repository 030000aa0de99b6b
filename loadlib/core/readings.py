"""Readings that a person takes: clamp, plug-in meter, utility meter, source display."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from loadlib.errors import InputError

__all__ = ["INSTRUMENTS", "KINDS", "Reading"]

INSTRUMENTS = ("clamp", "plug meter", "utility meter", "source display")
KINDS = ("running", "cycling", "peak hold", "inrush")


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading, as it was read off.

    ``place`` is ``"whole"``, ``"leg A"``, ``"neutral"``, ``"circuit NAME"`` or
    ``"appliance ID"``. ``legs`` are the legs that were clamped. ``turns`` is how often the
    wire went through the jaw. ``band_share`` and ``band_digits`` are the instrument's
    accuracy (share of reading; counts of the last digit ``digit``). For a difference of two
    displays (before and after a breaker) ``watts`` is the earlier and ``watts_after`` the
    later figure. ``on`` names what was known to run.
    """

    place: str
    instrument: str
    kind: str = "running"
    amps: float | None = None
    volts: float | None = None
    watts: float | None = None
    watts_after: float | None = None
    energy_wh: float | None = None
    period_s: float | None = None
    legs: tuple[str, ...] = ()
    turns: int = 1
    band_share: float = 0.03
    band_digits: float = 5.0
    digit: float = 0.1
    at: datetime | None = None
    outdoor_c: float | None = None
    on: tuple[str, ...] = ()
    note: str = ""

    def __post_init__(self) -> None:
        if self.instrument not in INSTRUMENTS:
            raise InputError(
                f"reading: instrument {self.instrument!r}", hint="One of: " + ", ".join(INSTRUMENTS)
            )
        if self.kind not in KINDS:
            raise InputError(
                f"reading: kind {self.kind!r}", hint="Say which: " + ", ".join(KINDS) + "."
            )
        if self.at is not None and self.at.tzinfo is None:
            raise InputError("reading: the time has no zone", hint="Give an offset, e.g. -05:00.")
