"""Readings that a person takes: clamp, plug-in meter, utility meter, source display."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from loadlib.errors import InputError

__all__ = ["APPARENT", "INSTRUMENTS", "KINDS", "Reading"]

INSTRUMENTS = ("clamp", "plug meter", "utility meter", "source display")
APPARENT = "apparent power: amps at nominal volts"
"""Note of a series whose watts are volt-amperes, since only amps were logged."""

KINDS = ("running", "cycling", "peak hold", "inrush")


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading, as it was read off.

    ``place`` is ``"whole"``, ``"leg A"``, ``"neutral"``, ``"circuit NAME"`` or
    ``"appliance ID"``. ``legs`` are the legs that were clamped. ``turns`` is how often the
    wire went through the jaw. ``band_share`` and ``band_digits`` are the instrument's
    accuracy (share of reading; counts of the last digit ``digit``). For a difference of two
    displays (before and after a breaker) ``watts`` is the earlier and ``watts_after`` the
    later figure; ``off`` names what was switched off in between. ``on`` names what was known
    to run. ``leg_amps`` and ``leg_volts`` hold one value for each of ``legs`` where the legs
    were read apart (dryers and ranges: unequal is normal).
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
    off: tuple[str, ...] = ()
    leg_amps: tuple[float, ...] = ()
    leg_volts: tuple[float, ...] = ()

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
        self._check_numbers()
        for name in ("leg_amps", "leg_volts"):
            count = len(getattr(self, name))
            if count and count != len(self.legs):
                raise InputError(f"reading: {count} values in {name} for {len(self.legs)} legs")

    def _check_numbers(self) -> None:
        for name in ("amps", "volts", "watts", "watts_after", "energy_wh", "period_s", "outdoor_c"):
            value = getattr(self, name)
            if value is not None and not math.isfinite(value):
                raise InputError(f"reading: {name} is {value}", hint="Give a finite number.")
        if not 1 <= self.turns <= 1000:
            raise InputError(f"reading: {self.turns} turns", hint="One turn is a plain clamp.")
        if not 0.0 <= self.band_share <= 0.5 or self.band_digits < 0.0 or self.digit < 0.0:
            raise InputError(
                f"reading: a band of {self.band_share:.0%} + {self.band_digits:g} digits of "
                f"{self.digit:g}",
                hint="A band is a share of the reading from 0 to 50 % plus counts of the digit.",
            )
        if self.watts_after is not None and self.watts is None:
            raise InputError("reading: watts_after without watts", hint="Give both displays.")
        if self.energy_wh is not None and (self.energy_wh < 0.0 or not self.period_s):
            raise InputError(
                f"reading: energy {self.energy_wh:g} Wh over {self.period_s or 0:g} s",
                hint="Energy is not negative and needs the period over which it was counted.",
            )
        if self.period_s is not None and self.period_s <= 0.0:
            raise InputError(f"reading: a period of {self.period_s:g} s")
