"""What the logs stored with a house show: the numbers behind ``loadlib reading logged``."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime, tzinfo
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from loadlib.clamp.logs import (
    Balance,
    balance,
    base_load_w,
    by_hour_w,
    highest_window,
)
from loadlib.clamp.steps import LONGEST_STEP_S
from loadlib.core.evidence import Evidence
from loadlib.core.ranges import Range
from loadlib.core.readings import APPARENT
from loadlib.core.series import WHOLE, Series
from loadlib.errors import InputError, NotFound
from loadlib.estimators.clockhours import cells_of

__all__ = ["Highest", "LegBalance", "Logged", "LoggedPlace", "TimesOn", "duration", "logged_of"]

Array = NDArray[np.float64]

WINDOWS_S = (1, 60, 300, 900, 1800, 3600)
"""Windows of demand that are shown, as far as the step allows. [s]"""

DAY_S = 86_400


@dataclass(frozen=True, slots=True)
class Highest:
    """Highest mean over a window, and when the window began (UTC epoch seconds). [W or VA]"""

    window_s: int
    mean: float
    start_s: int


@dataclass(frozen=True, slots=True, eq=False)
class LoggedPlace:
    """A log of one place, or the legs of one added up (``sum_of``).

    ``unit`` is ``"W"``, or ``"VA"`` where only amps were logged; ``base``, ``mean`` and
    ``by_hour``, shape (24,) and NaN where nothing was logged, are in it. ``missing_s`` and
    ``span_s`` are lengths of time. [s]
    """

    place: str
    channel: str
    unit: str
    start_s: int
    step_s: int
    span_s: int
    missing_s: int
    zone: str
    base: float
    mean: float
    highest: tuple[Highest, ...]
    by_hour: Array
    sum_of: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    def moment(self, epoch_s: int) -> datetime:
        """A moment by the clock of the log; without a time zone that is UTC."""
        return datetime.fromtimestamp(epoch_s, _clock(self.zone))


@dataclass(frozen=True, slots=True)
class LegBalance:
    """The legs against each other; ``from_watts`` where amps are watts over nominal volts."""

    legs: tuple[str, ...]
    found: Balance
    from_watts: bool


@dataclass(frozen=True, slots=True)
class TimesOn:
    """Times on that were taken for an appliance's; ranges are the 10, 50 and 90 % points.

    ``duty`` is its share of the time that was logged; ``sure`` the mean chance that the times
    on are its own, 1 where it was logged ``alone``.
    """

    appliance: str
    name: str
    place: str
    unit: str
    count: int
    per_day: float
    size: Range
    on_s: Range
    duty: float
    sure: float
    alone: bool


@dataclass(frozen=True, slots=True)
class Logged:
    """All of it, for one house."""

    house: str
    places: tuple[LoggedPlace, ...]
    legs: LegBalance | None
    times_on: tuple[TimesOn, ...]
    remarks: tuple[str, ...]

    def tree(self) -> dict[str, object]:
        """The same as plain values for JSON; units stand in the keys or beside them."""
        return {
            "house": self.house,
            "places": [_place_tree(place) for place in self.places],
            "legs": None if self.legs is None else _legs_tree(self.legs),
            "times_on": [_times_tree(one) for one in self.times_on],
            "remarks": list(self.remarks),
        }


def logged_of(evidence: Evidence, places: Sequence[str] = ()) -> Logged:
    """What the logs of a house show, of all places or of those named.

    Raises
    ------
    InputError
        when there is no log.
    NotFound
        for a place that was not logged.
    """
    house = evidence.house
    logs = [one for one in evidence.series if one.flow == "load"]
    if not logs:
        raise InputError(f"{house.name} has no log", hint=_no_log_hint(evidence))
    legs = _aligned_legs(logs, house.supply.legs)
    shown = [_shown(one, house.timezone) for one in logs]
    if legs:
        shown.insert(0, _together(legs, house.timezone))
    kept = _picked(shown, places, evidence)
    named = {one.place for one in kept} | {leg for one in kept for leg in one.sum_of}
    # Appliances of a leg are told from both legs together.
    among = named | {WHOLE} if any(one.startswith("leg ") for one in named) else named
    times_on = [one for one in _times_on(evidence) if one.place in among]
    balanced = _balanced(legs, evidence) if {one.place for one in legs} <= named else None
    return Logged(
        house.name,
        tuple(kept),
        balanced,
        tuple(times_on),
        tuple(_remarks(kept, times_on, evidence)),
    )


def _no_log_hint(evidence: Evidence) -> str:
    told = "Store one: loadlib reading log FILE."
    if evidence.series:
        told += " What usage add took in is the utility meter's: loadlib usage picture shows it."
    return told


def _clock(zone: str) -> tzinfo:
    return ZoneInfo(zone) if zone else UTC


def _unit(logs: Iterable[Series]) -> str:
    return "VA" if any(APPARENT in one.notes for one in logs) else "W"


def _shown(log: Series, timezone: str, sum_of: tuple[str, ...] = (), unit: str = "") -> LoggedPlace:
    zone = log.timezone or timezone
    power = log.mean_w
    known = power[~np.isnan(power)]
    if not known.size:
        raise InputError(f"the log of {log.place} holds no value")
    hours = cells_of(log.times_s(), zone) % 24
    return LoggedPlace(
        place=log.place,
        channel=log.channel,
        unit=unit or _unit([log]),
        start_s=log.start_s,
        step_s=log.step_s,
        span_s=log.span_s,
        missing_s=(power.size - known.size) * log.step_s,
        zone=zone,
        base=base_load_w(power),
        mean=float(known.mean()),
        highest=tuple(_highest(log)),
        by_hour=by_hour_w(power, hours),
        sum_of=sum_of,
        notes=log.notes,
    )


def _highest(log: Series) -> Iterator[Highest]:
    """The samples themselves, and every window that whole samples make up."""
    longer = (w for w in WINDOWS_S if w > log.step_s and w % log.step_s == 0)
    for window_s in (log.step_s, *longer):
        mean, at = highest_window(log.mean_w, log.step_s, window_s)
        if at >= 0:
            yield Highest(window_s, mean, log.start_s + at * log.step_s)


def _aligned_legs(logs: Sequence[Series], names: Sequence[str]) -> tuple[Series, ...]:
    """The longest logs of all legs with one step, cut to the time that they share; or none."""
    if len(names) < 2:
        return ()
    best: tuple[Series, ...] = ()
    for step_s in sorted({one.step_s for one in logs}):
        legs = [
            max(
                (x for x in logs if x.step_s == step_s and x.place == f"leg {name}"),
                key=lambda x: x.mean_w.size,
                default=None,
            )
            for name in names
        ]
        found = _cut([one for one in legs if one is not None])
        if len(found) == len(names) and (not best or found[0].span_s > best[0].span_s):
            best = found
    return best


def _cut(legs: Sequence[Series]) -> tuple[Series, ...]:
    """The same slots of each; none where no slot is known of all."""
    if not legs:
        return ()
    step_s = legs[0].step_s
    first = max(one.start_s for one in legs)
    last = min(one.end_s for one in legs)
    if last <= first or any((first - one.start_s) % step_s for one in legs):
        return ()
    starts = [(first - one.start_s) // step_s for one in legs]
    size = (last - first) // step_s
    values = [one.mean_w[at : at + size] for one, at in zip(legs, starts, strict=True)]
    if np.isnan(values).any(axis=0).all():
        return ()
    pairs = zip(legs, values, strict=True)
    return tuple(replace(one, start_s=first, mean_w=cut) for one, cut in pairs)


def _together(legs: Sequence[Series], timezone: str) -> LoggedPlace:
    """The legs of one log as the whole house."""
    total = replace(
        legs[0],
        place=WHOLE,
        channel=" + ".join(one.channel for one in legs),
        mean_w=np.sum([one.mean_w for one in legs], axis=0),
        notes=(),
    )
    return _shown(total, timezone, tuple(one.place for one in legs), _unit(legs))


def _balanced(legs: Sequence[Series], evidence: Evidence) -> LegBalance | None:
    if not legs:
        return None
    supply = evidence.house.supply
    amps = np.stack([one.mean_w for one in legs]) / supply.leg_v
    return LegBalance(supply.legs, balance(amps, supply), _unit(legs) == "W")


def _picked(
    shown: Sequence[LoggedPlace], words: Sequence[str], evidence: Evidence
) -> list[LoggedPlace]:
    """Places by what they are called: ``leg A``, ``circuit dryer``, or ``dryer`` alone."""
    if not words:
        return list(shown)
    names = {one.id: one.name.casefold() for one in evidence.house.appliances}
    kept: list[LoggedPlace] = []
    for word in words:
        key = " ".join(word.casefold().split())
        found = [one for one in shown if key in _called(one.place, names) and one not in kept]
        if not found and not any(key in _called(one.place, names) for one in kept):
            near = tuple(dict.fromkeys(one.place for one in shown))
            raise NotFound("log of", word, near=near)
        kept += found
    return kept


def _called(place: str, names: dict[str, str]) -> set[str]:
    kind, _, name = place.partition(" ")
    called = {place.casefold()}
    if kind in ("circuit", "appliance"):
        called |= {name.casefold(), names.get(name, name).casefold()}
    return called


def _times_on(evidence: Evidence) -> Iterator[TimesOn]:
    from loadlib.estimators.clamp_logs import proposals

    for found in proposals(evidence):
        log = found.log
        on_s = found.cycles.on_s(float(log.step_s))
        logged_s = (log.mean_w.size - log.missing) * log.step_s
        yield TimesOn(
            appliance=found.appliance.id,
            name=found.appliance.name,
            place=log.place,
            unit=_unit([log]),
            count=int(on_s.size),
            per_day=on_s.size * DAY_S / logged_s,
            size=_middle(found.cycles.size_w),
            on_s=_middle(on_s),
            duty=float(on_s.sum()) / logged_s,
            sure=1.0 if found.alone else found.sure,
            alone=found.alone,
        )


def _middle(values: Array) -> Range:
    low, middle, high = (float(x) for x in np.quantile(values, (0.1, 0.5, 0.9)))
    return Range(low, middle, high)


def _remarks(
    places: Sequence[LoggedPlace], times_on: Sequence[TimesOn], evidence: Evidence
) -> Iterator[str]:
    """What a reader of the numbers must know."""
    if any(one.unit == "VA" for one in places):
        yield (
            "VA: only amps were logged, so these are volt-amperes at nominal volts. Watts are "
            "fewer: how many a plug-in meter or the utility meter's display tells."
        )
    coarsest = max(one.step_s for one in places)
    yield (
        f"These are means over {duration(coarsest)} and more: what is shorter, a motor's start "
        "above all, does not show in them."
    )
    if any(not one.zone for one in places):
        yield (
            "No time zone is known, so hours are UTC. Say it once: loadlib house set "
            "--timezone America/New_York, with your own."
        )
    short = min(one.span_s - one.missing_s for one in places)
    if short < DAY_S:
        yield (
            f"Logged for {duration(short)}: base load and hours are those of this time only; a "
            "week or more shows the house."
        )
    if any(one.base < 0.0 for one in places):
        yield (
            "The base load is negative: power flows back (solar?), or a clamp is turned round. "
            "Then neither base load nor highest mean is the house's demand."
        )
    if not times_on:
        yield _why_none([one for one in evidence.series if one.flow == "load"])


def _why_none(logs: Sequence[Series]) -> str:
    if all(one.step_s > LONGEST_STEP_S for one in logs):
        return "No times on are told: steps need a log of 1 min or finer; one of 1 s tells most."
    return (
        "No times on could be taken for an appliance of the house's list with enough certainty: "
        "a longer log, more labels on the list, or a log of one circuit tells more."
    )


def duration(seconds: float) -> str:
    """A length of time in the largest unit that keeps it short: 1 s, 15 min, 3.5 h, 14 days."""
    if seconds < 60:
        return f"{seconds:.0f} s"
    if seconds < 3600:
        return f"{seconds / 60:.3g} min"
    if seconds < 2 * DAY_S:
        return f"{seconds / 3600:.3g} h"
    return f"{seconds / DAY_S:.3g} days"


def _utc(epoch_s: int) -> str:
    return datetime.fromtimestamp(epoch_s, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _place_tree(one: LoggedPlace) -> dict[str, object]:
    return {
        "place": one.place,
        "sum_of": list(one.sum_of),
        "channel": one.channel,
        "unit": one.unit,
        "start": _utc(one.start_s),
        "end": _utc(one.start_s + one.span_s),
        "timezone": one.zone,
        "step_s": one.step_s,
        "missing_s": one.missing_s,
        "base": one.base,
        "mean": one.mean,
        "highest": [
            {"window_s": x.window_s, "mean": x.mean, "start": _utc(x.start_s)} for x in one.highest
        ],
        "mean_by_hour": [None if np.isnan(x) else float(x) for x in one.by_hour],
        "notes": list(one.notes),
    }


def _legs_tree(legs: LegBalance) -> dict[str, object]:
    return {
        "mean_a": dict(zip(legs.legs, legs.found.leg_a, strict=True)),
        "imbalance_share": legs.found.imbalance_share,
        "neutral_mean_a": legs.found.neutral_a,
        "neutral_highest_a": legs.found.highest_neutral_a,
        "amps_from_watts": legs.from_watts,
    }


def _times_tree(one: TimesOn) -> dict[str, object]:
    return asdict(one)
