"""Claims: what an estimator says, with its doubt, when it holds and where it comes from.

An estimator does not own the answer. It yields claims; ``settle`` finds the loads that
agree best with all of them and reports how far each claim was from the result.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from loadlib.core.ranges import Range
from loadlib.errors import InputError

__all__ = [
    "DEMAND_QUANTITIES",
    "LOAD_QUANTITIES",
    "Claim",
    "DemandClaim",
    "LoadClaim",
    "When",
]

LOAD_QUANTITIES: dict[str, str] = {
    "running_w": "W",
    "power_factor": "share",
    "start_va": "VA",
    "start_s": "s",
    "duty_share": "share",
    "starts_per_h": "1/h",
    "on_s": "s",
    "standby_w": "W",
    "energy_per_cycle_wh": "Wh",
}
"""What a claim about one load can state, and in which unit."""

DEMAND_QUANTITIES: dict[str, str] = {
    "energy_wh": "Wh",
    "mean_w": "W",
    "max_w": "W",
    "quantile_w": "W",
    "at_w": "W",
    "change_w": "W",
}
"""What a claim about demand can state: energy over a period; mean, highest or quantile of
window means over a period; demand at an instant; the change when something is switched."""


@dataclass(frozen=True, slots=True)
class When:
    """The condition under which a claim holds; empty fields mean "whenever".

    ``outdoor_c`` is a (from, to) pair [°C]; ``months`` 1–12; ``hours`` 0–23; ``off`` and
    ``on`` are ids of appliances or names of circuits. All that are given hold together.

    A demand claim with ``outdoor_c`` speaks of the hours of its period (or the hour of ``at``, or
    every hour if it has neither) in which the house's stored outdoor temperature lay in the span,
    both ends included. In them loads that heat or cool by thermostat take energy in proportion to
    degree-hours (``core.degree_hours``), with doubt. Without stored temperatures for three
    quarters of the period's hours, or with none of them in the span, the claim is not used and
    the profile says why. A span that leaves no hour out is no condition.
    """

    outdoor_c: tuple[float, float] | None = None
    months: tuple[int, ...] = ()
    hours: tuple[int, ...] = ()
    off: tuple[str, ...] = ()
    on: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if any(not 1 <= month <= 12 for month in self.months):
            raise InputError(f"when: months {self.months}, expected 1 to 12")
        if any(not 0 <= hour <= 23 for hour in self.hours):
            raise InputError(f"when: hours {self.hours}, expected 0 to 23")
        if self.outdoor_c is not None and self.outdoor_c[0] > self.outdoor_c[1]:
            raise InputError(f"when: outdoor_c {self.outdoor_c} is upside down")


ALWAYS = When()


@dataclass(frozen=True, slots=True)
class LoadClaim:
    """A statement about one load.

    Parameters
    ----------
    about : str
        id of an appliance of the house; with ``part``, a load of its own beside it (a heat
        pump's strip heater). Loads that nobody entered are added under this name.
    quantity : str
        a key of ``LOAD_QUANTITIES``, which also gives the unit.
    value : Range
        the number with its doubt.
    source : str
        where it comes from, in words a person can check. Required.
    standing : str
        ``"prior"`` for what a label, a category or a rule says beforehand,
        ``"evidence"`` for what was measured on this house.
    shape : tuple of 12 × 24 floats, or None
        relative use by month and hour, mean 1 (``duty_share`` and ``starts_per_h`` only).
    category : str
        for a load that nobody entered: the generic category to take the rest from.
    priority : str
        for a load that nobody entered: its priority in an outage.

    Examples
    --------
    >>> LoadClaim("pump", "running_w", Range(900, 1000, 1100), source="clamp, 12 readings")
    ... # doctest: +ELLIPSIS
    LoadClaim(about='pump', quantity='running_w', ...)
    """

    about: str
    quantity: str
    value: Range
    source: str
    standing: str = "evidence"
    when: When = ALWAYS
    at: datetime | None = None
    part: str = ""
    shape: tuple[tuple[float, ...], ...] | None = field(default=None, repr=False)
    category: str = ""
    priority: str = "wanted"
    note: str = ""

    def __post_init__(self) -> None:
        where = f"claim about {self.about!r}"
        _check_quantity(where, self.quantity, LOAD_QUANTITIES)
        _check_common(where, self.quantity, self.value, self.source, self.at)
        if self.standing not in ("prior", "evidence"):
            raise InputError(f"{where}: standing {self.standing!r}, expected prior or evidence")
        if self.value.low < 0.0:
            raise InputError(f"{where}: {self.quantity} is negative")
        if self.quantity in ("duty_share", "power_factor") and self.value.high > 1.0:
            raise InputError(
                f"{where}: {self.quantity} goes up to {self.value.high:g}",
                hint="A share lies between 0 and 1.",
            )
        if self.shape is not None and (
            len(self.shape) != 12 or any(len(month) != 24 for month in self.shape)
        ):
            raise InputError(f"{where}: shape is not 12 months of 24 hours")

    @property
    def unit(self) -> str:
        """Unit of ``value``."""
        return LOAD_QUANTITIES[self.quantity]

    @property
    def load_id(self) -> str:
        """Id of the load that is spoken of: ``about``, or ``about/part``."""
        return f"{self.about}/{self.part}" if self.part else self.about


@dataclass(frozen=True, slots=True)
class DemandClaim:
    """A statement about demand: the whole house, a leg, a circuit or one appliance.

    Parameters
    ----------
    quantity : str
        a key of ``DEMAND_QUANTITIES``.
    value : Range
        the number with its doubt; W or Wh.
    source : str
        where it comes from. Required.
    place : str
        ``"whole"``, ``"leg A"``, ``"circuit NAME"`` or ``"appliance ID"``.
    start_s, end_s : int or None
        the period, UTC epoch seconds, for everything but ``at_w`` and ``change_w``. [s]
    window_s : int
        length of the window whose mean is meant (``max_w``, ``quantile_w``). [s]
    share : float
        which quantile, for ``quantile_w``.
    when : When
        for ``change_w``: ``when.off`` is what was switched off (or on) in between. With
        ``outdoor_c``, ``months`` or ``hours`` the claim is about these hours of the period
        only; ``energy_wh`` is the energy of these hours.
    """

    quantity: str
    value: Range
    source: str
    place: str = "whole"
    start_s: int | None = None
    end_s: int | None = None
    window_s: int = 3600
    share: float = 0.5
    when: When = ALWAYS
    at: datetime | None = None
    note: str = ""

    def __post_init__(self) -> None:
        where = f"claim about {self.place!r}"
        _check_quantity(where, self.quantity, DEMAND_QUANTITIES)
        _check_common(where, self.quantity, self.value, self.source, self.at)
        if self.quantity in ("energy_wh", "mean_w", "max_w", "quantile_w") and (
            self.start_s is None or self.end_s is None or self.end_s <= self.start_s
        ):
            raise InputError(
                f"{where}: {self.quantity} needs start_s before end_s",
                hint="Give the period in UTC epoch seconds.",
            )
        if self.window_s <= 0 or not 0.0 <= self.share <= 1.0:
            raise InputError(f"{where}: window_s {self.window_s}, share {self.share:g}")

    @property
    def unit(self) -> str:
        """Unit of ``value``."""
        return DEMAND_QUANTITIES[self.quantity]


Claim = LoadClaim | DemandClaim


def _check_quantity(where: str, quantity: str, known: dict[str, str]) -> None:
    if quantity not in known:
        raise InputError(
            f"{where}: unknown quantity {quantity!r}",
            hint="One of: " + ", ".join(f"{k} [{u}]" for k, u in known.items()) + ".",
        )


def _check_common(
    where: str, quantity: str, value: object, source: str, at: datetime | None
) -> None:
    if not isinstance(value, Range):
        raise InputError(
            f"{where}: {quantity} is {value!r}, expected a Range of plain numbers",
            hint="For example Range(900, 1000, 1100), in the unit that the name ends in.",
        )
    if not source.strip():
        raise InputError(f"{where}: {quantity} has no source", hint="Say where it comes from.")
    if at is not None and at.tzinfo is None:
        raise InputError(
            f"{where}: the time {at.isoformat()} has no zone", hint="Use an aware datetime."
        )
