"""Readings with their reading type to series and billing periods, in watts and watt-hours."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from loadlib.core.series import WHOLE, BillPeriod, ReadOptions, ReadResult, Series
from loadlib.errors import DataError, InputError
from loadlib.readers.espi.codes import (
    ESTIMATED,
    FLOW,
    MULTIPLIERS,
    NOT_A_MEAN,
    PROJECTED,
    QUALITY,
    REGISTER,
    UNIT,
    is_electric,
)
from loadlib.readers.espi.feed import Feed
from loadlib.readers.espi.meters import Meter, find_meters
from loadlib.readers.espi.summaries import billing_periods, period_days
from loadlib.readers.flows import settled_flow
from loadlib.readers.grid import place, register_to_power, stamp_text
from loadlib.readers.limits import LIMITS, MOST_W, Limits
from loadlib.readers.local import clock_for, zone
from loadlib.readers.remarks import counted

__all__ = ["assemble"]

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

#: From here on a reading is a billing period of whole days; the shortest day has 23 hours.
_DAY_S = 23 * 3600
_STATED_UNIT = {"kWh": ("Wh", 1000.0), "Wh": ("Wh", 1.0), "kW": ("W", 1000.0), "W": ("W", 1.0)}
_TO_WH = {"Wh": 1.0, "J": 1.0 / 3600.0}


@dataclass(slots=True, eq=False)
class _Power:
    """Readings in watts: the channel's name, flow, times and remarks so far."""

    channel: str
    flow: str
    start_s: Ints
    duration_s: Ints
    mean_w: Floats
    notes: list[str] = field(default_factory=list)


def assemble(feed: Feed, options: ReadOptions, limits: Limits = LIMITS) -> ReadResult:
    """Everything electrical in a feed.

    Readings shorter than a day become series, longer ones billing periods. Gas, water, money,
    reactive and apparent energy are kept apart and named in the notes.

    Raises
    ------
    DataError
        when nothing electrical is in it, or a number is impossible.
    """
    if options.timezone:
        zone(options.timezone)
    notes: list[str] = []
    series: list[Series] = []
    bills: list[BillPeriod] = []
    try:
        for meter in _chosen(find_meters(feed), options.channel):
            power = _in_watts(feed, meter, options, notes)
            if power is None:
                continue
            short = power.duration_s < _DAY_S
            if short.any():
                series.append(_series(feed, meter, _only(power, short), options, limits))
            if not short.all():
                bills += _periods(feed, meter, _only(power, ~short), options.timezone, notes)
        bills = _add_summaries(bills, billing_periods(feed, options.timezone, notes), notes)
    except InputError as wrong:
        raise DataError(wrong.message, path=feed.path, hint=wrong.hint) from None
    if not series and not bills:
        raise DataError(
            "nothing electrical in it: " + ("; ".join(dict.fromkeys(notes)) or "no readings"),
            path=feed.path,
        )
    notes += _one_flow_twice(series)
    return ReadResult(tuple(_distinct(series)), tuple(bills), notes=tuple(dict.fromkeys(notes)))


def _chosen(meters: list[Meter], channel: str) -> list[Meter]:
    if not channel:
        return meters
    chosen = [meter for meter in meters if meter.name == channel]
    if meters and not chosen:
        names = ", ".join(sorted({meter.name for meter in meters}))
        raise InputError(f"no channel {channel!r} in the file", hint=f"It has: {names}")
    return chosen


# -- units, flows, qualities


def _in_watts(feed: Feed, meter: Meter, options: ReadOptions, notes: list[str]) -> _Power | None:
    """Power of a meter's readings, or None with the reason in the notes."""
    reason = _not_energy(meter)
    unit, scale = _unit(feed, meter, options, reason)
    if reason or unit not in ("W", *_TO_WH):
        notes.append(f"{meter.name}: {reason or f'measures {unit}, not energy'}: left out")
        return None
    own = list(meter.guessed)
    start, duration, value = _arrays(feed, meter)
    flow = _flow(meter, value, own)
    if flow is None:
        notes.append(f"{meter.name}: flow direction {meter.code('flowDirection')}: left out")
        return None
    value = value * scale
    _quality(feed, meter, start, value, options.timezone, own)
    if unit == "W":
        if meter.code("accumulationBehaviour") == 12:
            own.append("values are taken at an instant, not means over the interval")
        mean_w = value
    elif meter.code("accumulationBehaviour") in REGISTER:
        start, duration, mean_w, told = register_to_power(
            start + duration, value * _TO_WH[unit], options.timezone
        )
        own += ["dial readings: energy is the difference of two of them", *told]
    else:
        mean_w = value * _TO_WH[unit] * 3600.0 / duration
    _check_size(feed, meter, start, mean_w)
    flow, mean_w = settled_flow(flow, mean_w, own)
    return _Power(meter.name, flow, start, duration, mean_w, own)


def _not_energy(meter: Meter) -> str:
    """Why these readings are not energy or mean power of electricity; empty when they are."""
    electric, what = is_electric(meter.service, meter.code("commodity"))
    if not electric:
        return what
    qualifier = meter.code("dataQualifier")
    if qualifier in NOT_A_MEAN:
        return f"values are a {NOT_A_MEAN[qualifier]}"
    if meter.code("accumulationBehaviour") in (10, 13, 14):
        return f"accumulation {meter.code('accumulationBehaviour')}"
    return ""


def _unit(feed: Feed, meter: Meter, options: ReadOptions, reason: str) -> tuple[str, float]:
    """Symbol of the unit and what a value is multiplied by."""
    code = meter.code("uom")
    if code in (None, 0):
        if options.unit in _STATED_UNIT:
            return _STATED_UNIT[options.unit]
        if reason:
            return "", 1.0
        raise DataError(
            f"{meter.name}: the file does not say in which unit its readings are",
            path=feed.path,
            line=meter.readings.line,
            hint="State the unit: Wh, kWh, W or kW.",
        )
    power = meter.code("powerOfTenMultiplier") or 0
    if power not in MULTIPLIERS:
        raise DataError(
            f"{meter.name}: multiplier 10^{power} is not in the standard",
            path=feed.path,
            line=meter.reading_type.line if meter.reading_type else None,
        )
    return UNIT.get(code or 0, f"unit {code}"), 10.0**power


def _arrays(feed: Feed, meter: Meter) -> tuple[Ints, Ints, Floats]:
    """Start, duration and value, with durations that the file leaves to the reading type."""
    readings = meter.readings
    start = np.frombuffer(readings.start_s, dtype=np.int64)
    duration = np.frombuffer(readings.duration_s, dtype=np.int64)
    value = np.frombuffer(readings.value, dtype=np.float64)
    if start.size == 0:
        raise DataError("interval blocks without readings", path=feed.path, line=readings.line)
    is_register = meter.code("accumulationBehaviour") in REGISTER
    if (duration > 0).all() or (is_register and (duration >= 0).all()):
        return start, duration, value
    default = meter.code("intervalLength") or 0
    if default <= 0:
        raise DataError(
            f"{meter.name}: readings without duration, and the reading type has no interval length",
            path=feed.path,
            line=readings.line,
        )
    place_in_block = np.where(duration < 0, -1 - duration, 0)
    start = start + place_in_block * default
    return start, np.where(duration > 0, duration, default), value


def _flow(meter: Meter, value: Floats, own: list[str]) -> str | None:
    code = meter.code("flowDirection")
    negative = int((value < 0).sum())
    if code in (None, 0):
        if negative:
            own.append(f"no flow direction, {counted(negative, 'negative value')}: taken as net")
            return "net"
        own.append("no flow direction in the file: taken as import")
        return "import"
    return FLOW.get(code)


def _quality(
    feed: Feed, meter: Meter, start: Ints, value: Floats, timezone: str, own: list[str]
) -> None:
    """Count qualities in the remarks; a projected value was never measured: blanked."""
    flagged = list(meter.readings.flagged)
    default = meter.code("defaultQuality")
    if not flagged and default in QUALITY and default is not None:
        if default == PROJECTED:
            value[:] = np.nan
        own.append(f"all readings: {QUALITY[default]}")
    write = stamp_text(timezone)
    for code, count in sorted(Counter(code for _, code in flagged).items()):
        first = min(begin for begin, of in flagged if of == code)
        what = QUALITY.get(code, f"quality {code}")
        blank = ", never measured: left blank" if code == PROJECTED else ""
        own.append(f"{counted(count, 'reading')} {what}{blank}, first at {write(first)}")
    projected = [begin for begin, code in flagged if code == PROJECTED]
    if projected:
        value[np.isin(start, projected)] = np.nan


def _check_size(feed: Feed, meter: Meter, start: Ints, mean_w: Floats) -> None:
    with np.errstate(invalid="ignore"):
        too_much = np.abs(mean_w) > MOST_W
    if too_much.any():
        at = int(np.argmax(too_much))
        raise DataError(
            f"{meter.name}: {mean_w[at] / 1000:.3g} kW at {stamp_text('')(int(start[at]))}, "
            "more than any house draws",
            path=feed.path,
            line=meter.reading_type.line if meter.reading_type else meter.readings.line,
            hint="The multiplier or unit in the file is probably wrong.",
        )


# -- series


def _only(power: _Power, which: NDArray[np.bool_]) -> _Power:
    if which.all():
        return power
    return _Power(
        power.channel,
        power.flow,
        power.start_s[which],
        power.duration_s[which],
        power.mean_w[which],
        list(power.notes),
    )


def _series(
    feed: Feed, meter: Meter, power: _Power, options: ReadOptions, limits: Limits
) -> Series:
    first, last = int(power.start_s.min()), int(power.start_s.max())
    timezone = options.timezone
    if not timezone and meter.local is not None:
        timezone = meter.local.zone_name(first, last)
        if timezone:
            power.notes.append(f"the file's clock rules are those of {timezone}")
        else:
            power.notes.append("the file's clock rules fit no common zone: times are UTC")
    elif not timezone:
        power.notes.append("no local time in the file: state the time zone for hours of the day")
    elif meter.local is not None and not meter.local.agrees(zone(timezone), first, last):
        power.notes.append(f"the file's own clock rules differ from {timezone}, as asked for")
    grid = place(
        power.start_s, power.duration_s, power.mean_w, zone=timezone, limits=limits, path=feed.path
    )
    stated = meter.code("intervalLength")
    if stated and stated != grid.step_s:
        power.notes.append(f"interval length says {stated} s, readings last {grid.step_s} s")
    if not np.nan_to_num(grid.mean_w).any():
        power.notes.append("every reading is zero")
    if meter.service is None and meter.code("commodity") in (None, 0):
        power.notes.append("the file does not name the service: taken as electricity by its unit")
    return Series(
        channel=power.channel,
        place=WHOLE,
        flow=power.flow,
        start_s=grid.start_s,
        step_s=grid.step_s,
        mean_w=grid.mean_w,
        timezone=timezone,
        source=feed.path,
        notes=(*power.notes, *grid.notes),
    )


def _distinct(series: list[Series]) -> list[Series]:
    """Channels of one name and flow get a number, so that none hides another."""
    seen: Counter[tuple[str, str]] = Counter()
    named = []
    for one in series:
        seen[one.channel, one.flow] += 1
        count = seen[one.channel, one.flow]
        if count > 1:
            one = replace(one, channel=f"{one.channel} ({count})")
        named.append(one)
    return named


def _one_flow_twice(series: list[Series]) -> list[str]:
    flows = Counter(one.flow for one in series)
    return [
        f"{count} channels of {flow}: each stands alone, they are not added up"
        for flow, count in flows.items()
        if count > 1
    ]


# -- billing periods


def _periods(
    feed: Feed, meter: Meter, power: _Power, timezone: str, notes: list[str]
) -> list[BillPeriod]:
    energy_wh = power.mean_w * power.duration_s / 3600.0
    if power.flow == "export":
        notes.append(
            f"{meter.name}: {power.start_s.size} daily or longer periods of export, "
            f"{np.nansum(energy_wh) / 1000:.6g} kWh in all: left out, since bills hold import"
        )
        return []
    clock = clock_for(timezone, meter.local, feed.path, "days of a reading")
    estimated = {begin for begin, code in meter.readings.flagged if code in ESTIMATED}
    found: dict[tuple[object, object], BillPeriod] = {}
    again = 0
    for start, duration, energy in zip(
        power.start_s.tolist(), power.duration_s.tolist(), energy_wh.tolist(), strict=True
    ):
        if np.isnan(energy):
            continue
        first, after = period_days(clock, start, duration)
        again += (first, after) in found
        if first < after:
            found[first, after] = BillPeriod(
                first, after, energy, estimated=start in estimated, source=feed.path
            )
    notes += [f"{meter.name}: {note}" for note in power.notes]
    if again:
        notes.append(
            f"{meter.name}: {counted(again, 'period')} stood twice: the later in the file stands"
        )
    return sorted(found.values(), key=lambda period: period.first_day)


def _add_summaries(
    daily: list[BillPeriod], summaries: list[BillPeriod], notes: list[str]
) -> list[BillPeriod]:
    """Summaries beside daily periods, without counting a day twice."""
    if not daily:
        return summaries
    first, after = daily[0].first_day, max(period.day_after for period in daily)
    apart = [s for s in summaries if s.day_after <= first or s.first_day >= after]
    if len(apart) < len(summaries):
        notes.append(
            f"{counted(len(summaries) - len(apart), 'summary period')} within the periods that the "
            "readings hold: left out so that no day counts twice"
        )
    return sorted([*daily, *apart], key=lambda period: period.first_day)
