"""The code's measured-demand rule: what recorded demand may stand for a calculated load.

NEC 220.87 (2017 to 2023 editions; 120.87 in 2026), in our own words: the existing load may be
taken as the maximum demand over a year; or, when a year's data are not at hand, as the highest
15-minute mean of a continuous record of at least 30 days on the highest-loaded phase, while
the building is occupied, with the larger of heating and cooling counted in. Either is taken
at 125 % before the new load is added. The 30-day route is closed where solar, wind or peak
shaving hides part of the load. Whether kW or kVA is meant is left open by the text: here it is
whatever the record holds, and the result says so. The electrician and the local authority decide.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from loadlib.errors import InputError
from loadlib.peak.table import read

__all__ = ["MeasuredDemand", "both_routes", "measured_demand"]

YEAR_DAYS = 365.0
LEAST_DAYS = 30.0
WINDOW_MIN = 15
CLOSED = "an open route: 30 days do not serve where generation hides load"


@dataclass(frozen=True, slots=True)
class MeasuredDemand:
    """The rule applied: ``demand_w`` is the recorded maximum at the factor.

    ``route`` is ``"year"``, ``"30 days"`` or ``""`` when the record reaches neither; ``asks``
    is what that route asks for beyond the numbers, ``lacks`` what the record itself lacks.
    """

    route: str
    factor: float
    maximum_w: float
    demand_w: float
    asks: tuple[str, ...]
    lacks: tuple[str, ...]

    def with_new_load_w(self, new_load_w: float) -> float:
        """The recorded demand at the factor plus a new load at its full value. [W]

        Parameters
        ----------
        new_load_w : float
            the load to be added, in the unit of the record. [W]
        """
        return self.demand_w + new_load_w


_ASKS = {
    "year": (
        "the maximum demand of a full year",
        "overcurrent protection of feeder and service as the code has it",
    ),
    "30 days": (
        "a continuous record on the highest-loaded phase, 15-minute means",
        "the building occupied throughout",
        "the larger of heating and cooling counted in, by measurement or calculation, and other "
        "periodic loads",
        "no solar, wind or peak shaving that hides part of the load",
        "overcurrent protection of feeder and service as the code has it",
    ),
    "": ("a year of maximum demand, or 30 days of continuous 15-minute means",),
}


def measured_demand(
    maximum_w: float,
    record_days: float,
    window_min: int,
    *,
    missing_share: float = 0.0,
    generation: bool = False,
) -> MeasuredDemand:
    """Apply the measured-demand rule to a recorded maximum.

    Parameters
    ----------
    maximum_w : float
        highest recorded mean over the window. [W]
    record_days : float
        length of the record, in days.
    window_min : int
        window of the maximum. [min]
    missing_share : float
        share of the record that is missing.
    generation : bool
        whether solar, wind or peak shaving was at work.

    Raises
    ------
    InputError
        for a negative maximum or an empty record.
    """
    if maximum_w < 0.0 or record_days <= 0.0:
        raise InputError(
            f"measured demand: {maximum_w:g} W in {record_days:g} days",
            hint="Give the recorded maximum and how long it was recorded.",
        )
    route, lacks = _route(record_days, window_min, missing_share, generation)
    factor = next(
        float(r["value"])
        for r in read("peak_constants.csv")
        if r["name"] == "measured_demand_factor"
    )
    return MeasuredDemand(route, factor, maximum_w, factor * maximum_w, _ASKS[route], tuple(lacks))


def both_routes(
    maximum_w: float,
    record_days: float,
    window_min: int,
    *,
    missing_share: float = 0.0,
    generation: bool = False,
) -> tuple[MeasuredDemand, MeasuredDemand]:
    """The year route and the 30-day route side by side, each with what the record lacks for it.

    A record of a year may serve either; the arithmetic is the same, what is asked differs.

    Parameters
    ----------
    maximum_w : float
        highest recorded mean over the window. [W]
    record_days : float
        length of the record, in days.
    window_min : int
        window of the maximum. [min]
    missing_share : float
        share of the record that is missing.
    generation : bool
        whether solar, wind or peak shaving was at work.
    """
    taken = measured_demand(maximum_w, record_days, window_min, missing_share=missing_share)
    gaps = _gaps(window_min, missing_share)
    year = gaps if record_days >= YEAR_DAYS else [_too_short(record_days, YEAR_DAYS), *gaps]
    month = gaps if record_days >= LEAST_DAYS else [_too_short(record_days, LEAST_DAYS), *gaps]
    if generation:
        month = [CLOSED, *month]
    return (
        replace(taken, route="year", asks=_ASKS["year"], lacks=tuple(year)),
        replace(taken, route="30 days", asks=_ASKS["30 days"], lacks=tuple(month)),
    )


def _too_short(record_days: float, least_days: float) -> str:
    return f"length: {int(record_days)} of {least_days:.0f} days"


def _gaps(window_min: int, missing_share: float) -> list[str]:
    lacks = []
    if window_min > WINDOW_MIN:
        lacks.append(f"15-minute means: the record holds {window_min} minutes, and hides more")
    if missing_share > 0.0:
        lacks.append(f"continuity: {100.0 * missing_share:.2g} % of the record is missing")
    return lacks


def _route(
    record_days: float, window_min: int, missing_share: float, generation: bool
) -> tuple[str, list[str]]:
    lacks = _gaps(window_min, missing_share)
    if record_days >= YEAR_DAYS:
        return "year", lacks
    if record_days < LEAST_DAYS:
        return "", [_too_short(record_days, LEAST_DAYS), *lacks]
    if generation:
        return "", [CLOSED, *lacks]
    return "30 days", lacks
