"""Answers as text for a terminal. Every text that leads to a source ends with the cautions.

Lines are written long here and broken between words at the end, at the terminal's width.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from loadlib_standby.check import SourceCheck, deficits_of
from loadlib_standby.choose import Choice, RatingPair, RatingPoint
from loadlib_standby.circuits import LegMove
from loadlib_standby.doubt import StartDoubt
from loadlib_standby.endurance import Endurance
from loadlib_standby.facts import CAUTIONS
from loadlib_standby.overload import Overloads
from loadlib_standby.restore import LeftOff, RestorePlan, Step
from loadlib_standby.rotation import Rotation
from loadlib_standby.stack import SURE
from loadlib_standby.swap import Swap
from loadlib_standby.words import columns, duration, span, watts, wrapped

__all__ = ["cautions_text", "check_text", "choice_text", "endurance_text", "plan_text"]


def check_text(answer: SourceCheck) -> str:
    """The check in words and numbers."""
    lines = [f"{answer.house} on {answer.source}", answer.case, ""]
    lines.append(f"VERDICT: {answer.verdict.value}" + _colon(answer.verdict.condition))
    if answer.verdict.reasons and not answer.negative:
        lines.append("  With everything on at once (95 % point):")
    lines += [f"  {reason}" for reason in answer.verdict.reasons]
    lines += [f"  {text}" for text in answer.mismatches]
    lines += ["", *_doubt_lines(answer.doubts)]
    lines += ["Together, and with the largest start on top (5 to 95 %):"]
    for use in answer.limits:
        lines.append(
            f"  {use.place}: {span(use.running, use.unit)} of {use.running_limit:,.0f}; "
            f"start {span(use.peak, use.unit)} of {use.starting_limit:,.0f}"
        )
    lines.append(f"  all starts at once, beside: {answer.all_starts_va:,.0f} VA")
    lines.append(
        f"  neutral: {answer.neutral_a:.0f} A all on, {answer.neutral_one_leg_a:.0f} A with one "
        "leg idle"
    )
    lines += ["", *_chain_lines(answer), "", *_overload_lines(answer.overloads), ""]
    cold = answer.cold
    lines.append(
        f"Everything cold: {span(cold.together_w, 'W')} at once, the last ({cold.last or 'none'}) "
        f"for {duration(cold.lasts_s)}: {'within' if cold.within else 'BEYOND'} the limits, "
        "starts counted."
    )
    lines += [f"  {one.text}" for one in cold.deficits]
    lines += ["", answer.derating, *(f"- {note}" for note in answer.notes)]
    return _page(lines)


def plan_text(
    plan: RestorePlan,
    over: Overloads,
    swaps: Sequence[Swap],
    rotation: Rotation,
    doubts: Sequence[StartDoubt] = (),
    move: LegMove | None = None,
) -> str:
    """The plan in words."""
    setting = plan.setting
    lines = [f"{setting.profile.house} on {setting.source.name}", setting.case.words(), ""]
    lines.append("SWITCH ON, IN THIS ORDER (all that may call is counted):")
    for step in plan.steps:
        lines += _step_lines(step, setting.stack.names[1:])
    made_up = deficits_of(setting, plan.on)
    if made_up:
        lines += ["", "Making up for the outage:", *(f"  {one.text}" for one in made_up)]
    lines += ["", *_left_off_lines(plan.left_off)]
    usual = {turn.branch for turn in rotation.turns}
    shown = [swap for swap in swaps if swap.branch not in usual]
    if shown:
        lines += ["", "To add one of these:", *(f"  {swap.words()}" for swap in shown)]
    if rotation:
        lines += ["", "Turns by the clock:", *(f"  {line}" for line in rotation.lines())]
    lines += ["", *_doubt_lines(doubts), *plan.notes, *_overload_lines(over)]
    lines += [move.words()] if move else []
    return _page(lines)


def endurance_text(answer: Endurance, saved: str = "") -> str:
    """Fuel and time in words."""
    lines = [f"Mean demand: {span(answer.mean_w, 'W')}"]
    if answer.battery_h is not None:
        lines.append(f"Battery alone: {span(answer.battery_h, 'h', 1)}")
    if answer.set_share is not None:
        low, high = answer.set_share.low, answer.set_share.high
        lines.append(f"The charging set runs {low:.0%} to {high:.0%} of the time.")
    if answer.tank_h is not None:
        lines.append(f"Full tank: {span(answer.tank_h, 'h', 1)}")
    if answer.per_kwh is not None:
        lines.append(f"Fuel per kWh delivered: {span(answer.per_kwh, answer.unit, 2)}")
    for period in answer.periods:
        fuel = "" if period.fuel is None else f", {span(period.fuel, answer.unit, 1)}"
        energy = span(period.energy_wh.scaled(0.001), "kWh", 1)
        lines.append(f"  {period.name} ({period.hours_h:g} h): {energy}{fuel}")
    lines += [f"  refill by {time:%a %d %b %H:%M}" for time in answer.refills[:12]]
    lines += [saved] if saved else []
    return _page([*lines, *answer.notes])


def choice_text(choice: Choice) -> str:
    """The answer first, then the curve where something changes."""
    often = f"at most {choice.most_per_day:g} overloads a day"
    lines = [
        "Smallest ratings for these wishes (no make, no derating):",
        f"  everything, {often}: {_pair_words(choice.wishes)}",
        f"  everything together at any time: {_pair_words(choice.wishes_any_time)}",
    ]
    if choice.musts_any_time is not None:
        lines += [
            f"  must-haves alone, {often}: {_pair_words(choice.musts)}",
            f"  must-haves together at any time: {_pair_words(choice.musts_any_time)}",
        ]
    lines += [
        "“A day” takes starts as typical; “at any time” takes draws and starts at their 95 % "
        "points, the hardest start on top of everything.",
    ]
    lines += ["", *_curve_lines(choice)]
    lines += [f"Cannot be fed at this supply: {label}" for label in choice.blocked]
    return _page(lines)


def cautions_text(width: int | None = None) -> str:
    """The cautions, each broken at ``width``, the terminal's if None."""
    return wrapped((f"! {text}" for text in CAUTIONS), width or columns()).rstrip("\n")


def _curve_lines(choice: Choice) -> Iterator[str]:
    """Figures in columns, and under them what changes among the circuits."""
    yield "The curve, where something changes:"
    yield "  running  starting  overloads"
    yield "        W         W      a day"
    before: tuple[str, ...] | None = None
    for point in choice.turning_points():
        starting = f"{point.starting_all_w:,.0f}" if point.starting_all_w else "-"
        yield f"  {point.running_w:>7,.0f}  {starting:>8}  {point.per_day_all:>9.2f}"
        yield from _changes(point, before)
        before = point.off
    yield (
        f"Starting: the least for {choice.most_per_day:g} overloads a day; overloads: by running "
        "alone; both with everything on. Off: what stays off so that the rest fits at any time; "
        "appliances used by hand come last."
    )


def _changes(point: RatingPoint, before: tuple[str, ...] | None) -> Iterator[str]:
    """The whole list at first, then what no longer stays off, and what does again."""
    if before is None:
        yield f"      off: {', '.join(point.off) or 'nothing'}"
        return
    now, again = [x for x in before if x not in point.off], set(point.off) - set(before)
    if now:
        yield f"      now on: {', '.join(now)}"
    if again:
        yield f"      off again: {', '.join(x for x in point.off if x in again)}"
    if not point.off:
        yield "      off: nothing"


def _pair_words(pair: RatingPair | None) -> str:
    if pair is None:
        return "beyond this curve"
    return f"{pair.running_w:,.0f} W running, {pair.starting_w:,.0f} W starting"


def _step_lines(step: Step, names: Sequence[str]) -> Iterator[str]:
    if step.wait_s > 0.0:
        yield f"    wait {duration(step.wait_s)} before:"
    why = f" ({step.why})" if step.why else ""
    yield f"{step.number:>2}. {step.branch.label}{why}"
    legs = ", ".join(f"{n} {a:.0f} A" for n, a in zip(names, step.legs_a, strict=True))
    yield f"    start {span(step.peak_va, 'VA')}, then {watts(step.total_w)}, {legs}"
    sure = "" if step.sure >= SURE else f"; in doubt (?): {step.sure:.0%} sure"
    yield f"    wait {duration(step.pause_s)}{sure}"


def _left_off_lines(left_off: Sequence[LeftOff]) -> Iterator[str]:
    """What stays off, those with the same reason in one line."""
    if not left_off:
        return
    yield "Stays off:"
    groups: dict[str, list[str]] = {}
    for left in left_off:
        blocked = left.branch.blocked and left.why == left.branch.blocked
        why = "needs more volts than this source gives" if blocked else left.why
        groups.setdefault(why, []).append(left.branch.label)
    yield from (f"  {why}: {', '.join(labels)}" for why, labels in groups.items())
    limits = [f"{x.branch.label} {x.by_words()}" for x in left_off if x.by is not None]
    if limits:
        yield f"  On again, or other provision: {'; '.join(limits)}"


def _doubt_lines(doubts: Sequence[StartDoubt]) -> Iterator[str]:
    if not doubts:
        return
    yield "STARTS IN DOUBT (?):"
    for doubt in doubts:
        yield f"  {doubt.words()}"
        yield f"    What would settle or mend it: {' '.join(doubt.mends())}"
    yield (
        "  A motor that hums, or dims the lights for more than a few seconds, is switched off at "
        "once: standing still it overheats."
    )
    yield ""


def _chain_lines(answer: SourceCheck) -> Iterator[str]:
    yield "Chain, per leg (80 % for load of three hours or more):"
    for link in answer.links:
        mark = "  <- smallest" if link.name == answer.smallest else ""
        words = f" ({link.words})" if link.words else ""
        yield (
            f"  {link.name}{words}: {link.limit_a:.0f} A, {link.limit_va:,.0f} VA; continuous "
            f"{link.continuous_a:.0f} A, {link.continuous_va:,.0f} VA{mark}"
        )
    if answer.links:
        by_name = {link.name: link for link in answer.links}
        least, held = by_name[answer.smallest], min(answer.links, key=lambda x: x.continuous_a)
        yield (
            f"  Governs: {least.name}, {least.limit_a:.0f} A; for continuous load {held.name}, "
            f"{held.continuous_a:.0f} A ({held.continuous_va:,.0f} VA)"
        )
    for drop in answer.drops:
        yield (
            f"  {drop.cord}, copper at 75 °C: {drop.running.drop_v:.1f} V "
            f"({drop.running.share:.1%}) at {drop.running_a:.0f} A running, "
            f"{drop.start.drop_v:.1f} V ({drop.start.share:.1%}) at {drop.start_a:.0f} A starting"
        )


def _overload_lines(over: Overloads) -> Iterator[str]:
    least, most = over.none_in_night_least, over.none_in_night_most
    none = f"{most:.0%}" if f"{least:.0%}" == f"{most:.0%}" else f"{least:.0%} to {most:.0%}"
    yield (
        f"Expected overloads a day: {_pair(over.per_day_least, over.per_day_most)}; chance of a "
        f"night without any: {none} (simulated)."
    )
    for place in over.places:
        if place.above_share >= 0.2:
            yield (
                f"  {place.place}: above its running limit {place.above_share:.0%} of the time: "
                "that is no passing overload, it does not fit"
            )
        elif place.per_day >= 0.005:
            length = "at a start, moments"
            if place.mean_length_s >= 1.0:
                length = f"{duration(place.mean_length_s)} each in the mean"
            yield f"  {place.place}: {place.per_day:.2f} a day, {length}"
    for row in over.together[:4]:
        if row.per_day >= 0.05:
            yield f"  {row.words()}"


def _pair(low: float, high: float) -> str:
    return f"{low:.2f}" if high - low < 0.005 else f"{low:.2f} to {high:.2f}"


def _colon(text: str) -> str:
    return f" {text}." if text else "."


def _page(lines: Sequence[str]) -> str:
    width = columns()
    return wrapped([*lines, ""], width) + cautions_text(width) + "\n"
