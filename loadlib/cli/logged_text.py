"""What ``loadlib reading logged`` shows, in words and as bars by clock hour."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from loadlib.cli.logged_answer import LegBalance, Logged, LoggedPlace, TimesOn, duration
from loadlib.cli.pictures import marks
from loadlib.cli.profile_text import span, watts
from loadlib.core.ranges import Range
from loadlib.core.series import WHOLE

__all__ = ["drawn", "hour_lines", "lines", "not_drawn", "svg"]

MOST_CURVES = 4
_COLUMN = 8


def lines(answer: Logged) -> Iterator[str]:
    """Every place, the legs, and times on; long lines, to be wrapped."""
    for place in answer.places:
        yield from _place_lines(place)
        yield ""
    if answer.legs is not None:
        yield from _leg_lines(answer.legs)
        yield ""
    if answer.times_on:
        yield "Times on (size and length: from the 10 % to the 90 % point)"
        yield from (_times_line(one) for one in answer.times_on)
        yield ""


def _name(place: LoggedPlace) -> str:
    return f"whole house ({' + '.join(place.sum_of)})" if place.sum_of else place.place


def _place_lines(place: LoggedPlace) -> Iterator[str]:
    start, end = place.moment(place.start_s), place.moment(place.start_s + place.span_s)
    lost = f"{duration(place.missing_s)} missing" if place.missing_s else "nothing missing"
    yield (
        f"{_name(place)}: {start:%Y-%m-%d %H:%M} to {end:%Y-%m-%d %H:%M} ({place.zone or 'UTC'}), "
        f"every {duration(place.step_s)}, {lost}"
    )
    yield (
        f"  base load {watts(place.base, place.unit)} (drawn 95 % of the time), "
        f"mean {watts(place.mean, place.unit)}"
    )
    yield "  highest mean over"
    for one in place.highest:
        at = place.moment(one.start_s)
        stamp = f"{at:%Y-%m-%d %H:%M:%S}" if place.step_s % 60 else f"{at:%Y-%m-%d %H:%M}"
        yield (f"    {duration(one.window_s):>6} {watts(one.mean, place.unit):>8} from {stamp}")


def _leg_lines(legs: LegBalance) -> Iterator[str]:
    found = legs.found
    means = ", ".join(f"{leg} {a:.1f} A" for leg, a in zip(legs.legs, found.leg_a, strict=True))
    yield f"Legs in the mean: {means}"
    yield f"  imbalance {found.imbalance_share:.0%}, the difference over the sum"
    yield (
        f"  neutral {found.neutral_a:.1f} A in the mean, {found.highest_neutral_a:.1f} A at most, "
        "at equal power factor; what lies across the legs adds nothing to it"
    )
    if legs.from_watts:
        yield "  amps are watts over nominal volts: at a power factor below 1 there are more"


def _times_line(one: TimesOn) -> str:
    where = "" if one.alone else " in the whole house" if one.place == WHOLE else f" in {one.place}"
    sure = "logged alone" if one.alone else f"{one.sure:.0%} sure"
    return (
        f"  {one.name}{where}: {one.count:,} times, {one.per_day:.2g} a day, "
        f"{span(one.size, one.unit)}, {_lengths(one.on_s)}, on {one.duty:.0%} of the time; {sure}"
    )


def _lengths(on_s: Range) -> str:
    low, high = duration(on_s.low), duration(on_s.high)
    return low if low == high else f"{low} to {high}"


def drawn(answer: Logged) -> tuple[LoggedPlace, ...]:
    """Places whose hours are drawn: whole house and legs, else the first few there are."""
    chief = [one for one in answer.places if one.place == WHOLE or one.place.startswith("leg ")]
    return tuple((chief or list(answer.places))[:MOST_CURVES])


def not_drawn(answer: Logged) -> str:
    """Which places the picture leaves out, and how to see them; empty if none."""
    left = [one.place for one in answer.places if one not in drawn(answer)]
    if not left:
        return ""
    return f"Not in the picture: {', '.join(left)}. Draw one by naming it: --place {left[0]!r}"


def hour_lines(places: Sequence[LoggedPlace], width: int) -> Iterator[str]:
    """Mean by clock hour: a number for each place, and a bar of the first.

    Legs that the first one is the sum of share its bar.
    """
    first = places[0]
    by_place = {one.place: one for one in places}
    parts = [by_place[name] for name in first.sum_of if name in by_place]
    stack = parts if 0 < len(first.sum_of) == len(parts) else [first]
    room = max(6, min(width - 2 - _COLUMN * len(places) - 1, 60))
    most = max([float(np.nanmax(one.by_hour)) for one in places] + [1.0])
    yield f"Mean by clock hour ({first.zone or 'UTC'})"
    signs = zip(marks().parts, stack, strict=False)
    yield "bar: " + "  ".join(f"{sign} {_short(one.place, 20)}" for sign, one in signs)
    yield "  " + "".join(f"{_short(one.place, _COLUMN - 1):>{_COLUMN}}" for one in places)
    for hour in range(24):
        numbers = "".join(f"{_number(one, hour):>{_COLUMN}}" for one in places)
        yield f"{hour:02d}{numbers} {_bar(stack, hour, most, room)}".rstrip()


def _short(place: str, most: int) -> str:
    name = place.removeprefix("circuit ").removeprefix("appliance ")
    return name if len(name) <= most else name[: most - 1] + "…"


def _number(place: LoggedPlace, hour: int) -> str:
    value = float(place.by_hour[hour])
    return "-" if np.isnan(value) else watts(value, place.unit)


def _bar(stack: Sequence[LoggedPlace], hour: int, most: float, room: int) -> str:
    values = np.nan_to_num([one.by_hour[hour] for one in stack]).clip(0.0)
    ends = [0, *(round(room * float(x) / most) for x in np.cumsum(values))]
    pairs = zip(marks().parts, pairwise(ends), strict=False)
    return "".join(sign * (b - a) for sign, (a, b) in pairs)


def svg(answer: Logged) -> str:
    """The picture by clock hour as an SVG file."""
    from loadlib import figures

    places = drawn(answer)
    unit = "kVA" if any(one.unit == "VA" for one in places) else "kW"
    names = [_name(one) for one in places]
    return figures.standalone(
        figures.clock_hours(names, [one.by_hour for one in places], unit=unit)
    )
