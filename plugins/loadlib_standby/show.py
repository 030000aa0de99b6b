"""Answers as text for a terminal. Every text that leads to a source ends with the cautions."""

from __future__ import annotations

from collections.abc import Iterator

from loadlib_standby.check import SourceCheck
from loadlib_standby.choose import Choice
from loadlib_standby.endurance import Endurance
from loadlib_standby.facts import CAUTIONS
from loadlib_standby.overload import Overloads
from loadlib_standby.restore import RestorePlan
from loadlib_standby.rotation import Swap, Turn, turn_lines
from loadlib_standby.words import duration, span, watts

__all__ = ["cautions_text", "check_text", "choice_text", "endurance_text", "plan_text"]


def check_text(answer: SourceCheck) -> str:
    """The check in words and numbers."""
    lines = [f"{answer.house} on {answer.source}", answer.case, ""]
    lines.append(f"VERDICT: {answer.verdict.value}" + _colon(answer.verdict.condition))
    lines += [f"  {reason}" for reason in answer.verdict.reasons]
    lines += [f"  {text}" for text in answer.mismatches]
    lines += ["", "Together, and with the largest start on top (5 to 95 %):"]
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
    lines += ["", *_chain_lines(answer), *_overload_lines(answer.overloads)]
    cold = answer.cold
    lines.append(
        f"Everything cold: {span(cold.together_w, 'W')} at once, the last ({cold.last or 'none'}) "
        f"for {duration(cold.lasts_s)}: {'within' if cold.within else 'BEYOND'} the limits."
    )
    lines += ["", answer.derating, *answer.notes]
    return _page(lines)


def plan_text(plan: RestorePlan, over: Overloads, swaps: list[Swap], by_hour: list[Turn]) -> str:
    """The plan in words."""
    setting = plan.setting
    lines = [f"{setting.profile.house} on {setting.source.name}", setting.case.words(), ""]
    names = setting.stack.names[1:]
    for step in plan.steps:
        if step.wait_s > 0.0:
            lines.append(f"    wait {duration(step.wait_s)} before:")
        legs = ", ".join(f"{n} {a:.0f} A" for n, a in zip(names, step.legs_a, strict=True))
        sure = "" if step.sure >= 0.95 else f"; {step.sure:.0%} sure"
        why = f" ({step.why})" if step.why else ""
        lines.append(
            f"{step.number:>3}. {step.branch.label}{why}: then {watts(step.total_w)}, {legs}{sure}"
        )
        lines.append(f"     start {step.peak_va:,.0f} VA; wait {duration(step.pause_s)}")
    lines += ["", "Stays off:"]
    lines += [f"  {left.branch.label}: {left.why}" for left in plan.left_off]
    lines += [f"  {swap.words()}" for swap in swaps]
    if by_hour:
        lines += ["", "Turns by the clock:", *(f"  {line}" for line in turn_lines(by_hour))]
    lines += ["", *plan.notes, *_overload_lines(over)]
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
        lines.append(f"Fuel per kWh delivered: {answer.per_kwh:.2f} {answer.unit}")
    for period in answer.periods:
        fuel = "" if period.fuel is None else f", {span(period.fuel, answer.unit, 1)}"
        energy = span(period.energy_wh.scaled(0.001), "kWh", 1)
        lines.append(f"  {period.name} ({period.hours_h:g} h): {energy}{fuel}")
    lines += [f"  refill by {time:%a %d %b %H:%M}" for time in answer.refills[:12]]
    lines += [saved] if saved else []
    return _page([*lines, *answer.notes])


def choice_text(choice: Choice) -> str:
    """The curve and what follows from it."""
    lines = [
        "running  starting   overloads a day       stays off",
        "      W         W   kept      all",
    ]
    for p in choice.points:
        off = ", ".join(p.off) or "nothing"
        lines.append(
            f"{p.running_w:>7,.0f} {p.starting_w:>9,.0f} {p.per_day_kept:>6.2f} "
            f"{p.per_day_all:>8.2f}   {off}"
        )
    lines.append("")
    for text, point in (
        ("the must-haves run together", choice.musts),
        (f"all wishes, at most {choice.most_per_day:g} overloads a day", choice.with_overloads),
        ("all wishes together at any time", choice.all_together),
    ):
        figure = "beyond this curve"
        if point is not None:
            figure = f"{point.running_w:,.0f} W running, {point.starting_w:,.0f} W starting"
        lines.append(f"Smallest for {text}: {figure}")
    lines += [f"Cannot be fed at this supply: {label}" for label in choice.blocked]
    return _page(lines)


def cautions_text() -> str:
    """The cautions, one a line."""
    return "\n".join(f"! {text}" for text in CAUTIONS)


def _chain_lines(answer: SourceCheck) -> Iterator[str]:
    if answer.links:
        yield "Chain, per leg (80 % for load of three hours or more):"
    for link in answer.links:
        mark = "  <- smallest" if link.name == answer.smallest else ""
        words = f" ({link.words})" if link.words else ""
        yield (
            f"  {link.name}{words}: {link.limit_a:.0f} A, {link.limit_va:,.0f} VA; continuous "
            f"{link.continuous_a:.0f} A, {link.continuous_va:,.0f} VA{mark}"
        )
    for drop in answer.drops:
        yield (
            f"  {drop.cord}, copper at 75 °C: {drop.running.drop_v:.1f} V "
            f"({drop.running.share:.1%}) at {drop.running_a:.0f} A running, "
            f"{drop.start.drop_v:.1f} V ({drop.start.share:.1%}) at {drop.start_a:.0f} A starting"
        )


def _overload_lines(over: Overloads) -> Iterator[str]:
    yield (
        f"Expected overloads a day: {_pair(over.per_day_least, over.per_day_most)}; a night "
        f"without any: {over.none_in_night_least:.0%} to {over.none_in_night_most:.0%} (simulated)."
    )
    for place in over.places:
        if place.per_day >= 0.005:
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


def _page(lines: list[str]) -> str:
    return "\n".join([*lines, "", cautions_text()]) + "\n"
