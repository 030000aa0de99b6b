"""Claims: what an estimator says, with its doubt, when it holds and where it comes from.

An estimator does not own the answer. It yields claims; ``settle`` finds the loads that
agree best with all of them and reports how far each claim was from the result.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import datetime

import numpy as np

from loadlib.core.household import MOST_SERVICE_A, PRIORITIES
from loadlib.core.ranges import Range
from loadlib.errors import InputError

__all__ = [
    "DEMAND_QUANTITIES",
    "LOAD_MOST",
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

_MOST_W = 3.0 * 230.0 * MOST_SERVICE_A
"""Three legs of the largest service that a house may have here: 2.76 MW. Far above any
household load, yet no lower than what a person may enter, so that an entry which was taken
never stops the profile. [W]"""

_MOST_START_TIMES = 12.0
"""Inrush over running: handbooks put locked-rotor current at 6 to 8 times full load, the first
half wave of an efficient motor at some 12 (from memory)."""

_MOST_STANDBY_W = 10_000.0
"""What the catalog, too, takes for standby at most: a judgement. [W]"""

_MOST_START_S = 60.0
"""Household motors start within seconds, and an overload relay trips before a minute: common
practice, no source. [s]"""

_MOST_STARTS_PER_H = 3_600.0
"""A start every second: no contact stands more. A judgement. [1/h]"""

_MOST_ON_S = 366.0 * 86_400.0
"""What is on for longer than a year is always on: a judgement. [s]"""

LOAD_MOST: dict[str, float] = {
    "running_w": _MOST_W,
    "power_factor": 1.0,
    "start_va": _MOST_START_TIMES * _MOST_W,
    "start_s": _MOST_START_S,
    "duty_share": 1.0,
    "starts_per_h": _MOST_STARTS_PER_H,
    "on_s": _MOST_ON_S,
    "standby_w": _MOST_STANDBY_W,
    "energy_per_cycle_wh": 24.0 * _MOST_W,
}
"""The most that a claim about a load may say, in its unit: above it stands a slip of unit, not a
load. A cycle ends within a day."""

_SHAPED = ("duty_share", "starts_per_h")

_MEAN_OFF = 1e-6
"""How far the mean of a shape may be from 1: rounding of 288 decimals, no more."""

_FIRST_S, _LAST_S = -2_208_988_800, 7_258_118_400
"""1900 and 2200 in UTC epoch seconds: a period outside is in another unit. [s]"""

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
        if self.outdoor_c is not None and not all(map(math.isfinite, self.outdoor_c)):
            raise InputError(f"when: outdoor_c {self.outdoor_c}", hint="Give two finite numbers.")
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
        the number with its doubt: not negative, and no more than any household load can
        have (a share 1, 2.76 MW running, 10 kW standby, 3,600 starts an hour).
    source : str
        where it comes from, in words a person can check. Required.
    standing : str
        ``"prior"`` for what a label, a category or a rule says beforehand,
        ``"evidence"`` for what was measured on this house.
    shape : tuple of 12 × 24 floats, or None
        relative use by month and hour, not negative, mean 1 (``duty_share`` and
        ``starts_per_h`` only).
    category : str
        for a load that nobody entered: the generic category to take the rest from.
    priority : str
        for a load that nobody entered: its priority in an outage, one of
        ``household.PRIORITIES``.

    Raises
    ------
    InputError
        when a field is none of these; from a plugin's estimator it leaves that plugin out.

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
        _check_words(where, about=self.about, part=self.part, category=self.category)
        if not self.about.strip():
            raise InputError("claim: about is empty", hint="Give the id of an appliance.")
        _check_quantity(where, self.quantity, LOAD_QUANTITIES)
        _check_common(where, self.quantity, self.value, self.source, self.at, self.when)
        if self.standing not in ("prior", "evidence"):
            raise InputError(f"{where}: standing {self.standing!r}, expected prior or evidence")
        if self.priority not in PRIORITIES:
            raise InputError(
                f"{where}: priority {self.priority!r}",
                hint="Use one of: " + ", ".join(PRIORITIES) + ".",
            )
        self._check_size(where)
        if self.shape is not None:
            _check_shape(where, self.quantity, self.shape)

    def _check_size(self, where: str) -> None:
        """That the value lies between 0 and the most a household load can have."""
        if self.value.low < 0.0:
            raise InputError(
                f"{where}: {self.quantity} is negative: {self.value.low:g} ({self.source})",
                hint="Cut the belief off at 0.",
            )
        most = LOAD_MOST[self.quantity]
        if self.value.high > most:
            unit = "" if self.unit == "share" else f" {self.unit}"
            raise InputError(
                f"{where}: {self.quantity} goes up to {self.value.high:,.7g}{unit} ({self.source})",
                hint="A share lies between 0 and 1."
                if self.unit == "share"
                else f"Give {self.unit} from 0 to {most:,.0f}; is it another unit?",
            )

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
        the number with its doubt; W or Wh. What no house can have is not refused here:
        ``settle`` leaves it out and the profile names it beside the reason.
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

    Raises
    ------
    InputError
        when a field is none of these; from a plugin's estimator it leaves that plugin out.
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
        _check_words(where, place=self.place)
        _check_quantity(where, self.quantity, DEMAND_QUANTITIES)
        _check_common(where, self.quantity, self.value, self.source, self.at, self.when)
        self._check_period(where)
        if not (0 < self.window_s < math.inf and 0.0 <= self.share <= 1.0):
            raise InputError(
                f"{where}: window_s {self.window_s}, share {self.share:g}",
                hint="A window lasts some seconds; a share lies between 0 and 1.",
            )

    def _check_period(self, where: str) -> None:
        """That the period is one, where one is needed or given, in epoch seconds."""
        for name in ("start_s", "end_s"):
            moment = getattr(self, name)
            if moment is not None and not _FIRST_S <= moment <= _LAST_S:
                raise InputError(
                    f"{where}: {name} {moment} is not between the years 1900 and 2200",
                    hint="Give UTC epoch seconds, not milliseconds.",
                )
        if self.quantity in ("energy_wh", "mean_w", "max_w", "quantile_w") and (
            self.start_s is None or self.end_s is None or self.end_s <= self.start_s
        ):
            raise InputError(
                f"{where}: {self.quantity} needs start_s before end_s",
                hint="Give the period in UTC epoch seconds.",
            )

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


def _check_words(where: str, **fields: object) -> None:
    for name, text in fields.items():
        if not isinstance(text, str):
            raise InputError(f"{where}: {name} is {text!r}", hint="Give a text.")


def _check_shape(where: str, quantity: str, shape: object) -> None:
    """That ``shape`` is relative use by month and hour: 12 × 24, not negative, mean 1."""
    try:
        use = np.asarray(shape, dtype=np.float64)
    except (TypeError, ValueError):
        use = np.empty(0)
    if use.shape != (12, 24):
        raise InputError(
            f"{where}: shape is not 12 months of 24 hours", hint="Give 12 tuples of 24 numbers."
        )
    if quantity not in _SHAPED:
        raise InputError(
            f"{where}: {quantity} has a shape", hint=f"Give it with {' or '.join(_SHAPED)} only."
        )
    odd = use[~(np.isfinite(use) & (use >= 0.0))]
    if odd.size:
        raise InputError(
            f"{where}: shape holds {odd[0]:g}", hint="Relative use is finite and not negative."
        )
    if abs(float(use.mean()) - 1.0) > _MEAN_OFF:
        raise InputError(
            f"{where}: shape has the mean {use.mean():g}, expected 1",
            hint="Divide it by its mean; leave out a shape that is 0 throughout.",
        )


def _check_common(
    where: str, quantity: str, value: object, source: str, at: datetime | None, when: object
) -> None:
    if not isinstance(value, Range):
        raise InputError(
            f"{where}: {quantity} is {value!r}, expected a Range of plain numbers",
            hint="For example Range(900, 1000, 1100), in the unit that the name ends in.",
        )
    _check_words(where, source=source)
    if not isinstance(when, When):
        raise InputError(f"{where}: when is {when!r}", hint="Give a When, or leave it out.")
    if not source.strip():
        raise InputError(f"{where}: {quantity} has no source", hint="Say where it comes from.")
    if at is not None and at.tzinfo is None:
        raise InputError(
            f"{where}: the time {at.isoformat()} has no zone", hint="Use an aware datetime."
        )
