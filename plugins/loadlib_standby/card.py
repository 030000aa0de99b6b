"""The card: one page inside the panel door, for someone who did not make the plan.

``card_of`` gathers what it says; ``as_text`` is for a terminal, ``as_html`` for a printer:
black on white, no colour code, large enough for a torch at arm's length.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from loadlib_standby.endurance import Endurance, endurance
from loadlib_standby.engine import InputError
from loadlib_standby.restore import RestorePlan, Step
from loadlib_standby.rotation import Swap, Turn, one_at_a_time, swap_for, turn_lines, turns
from loadlib_standby.words import duration, span

__all__ = ["Card", "CardStep", "as_text", "card_of", "wait_after_trip_s"]

_LEAST_WAIT_S = 300.0
"""After a trip wait five minutes at least: pressures in compressors even out (common
practice, no source), and longer where a load's restart delay is longer."""

_FIRST = (
    "RUN THE SET OUTDOORS ONLY, 20 FT (6 M) OR MORE FROM THE HOUSE, exhaust away from doors, "
    "windows and vents. NEVER in a garage, cellar, shed or porch, even with open doors.",
    "CO ALARMS ON. Headache, dizzy, sick? EVERYBODY OUT, call for help.",
    "NEVER a cord with two plugs. NEVER feed the house through a wall outlet.",
    "Refuel only when the engine is OFF AND COLD. Never heat with an oven, range or grill.",
)

_BEFORE = {
    "interlock": (
        "MAIN BREAKER OFF",
        "ALL CIRCUIT BREAKERS OFF",
        "SET OUTDOORS, CORD INTO THE INLET AND INTO THE SET",
        "START THE SET, LET IT WARM UP",
        "INTERLOCK OVER, INLET BREAKER ON",
    ),
    "fixed circuits": (
        "ALL SWITCHES OF THE TRANSFER EQUIPMENT OFF",
        "SET OUTDOORS, CORD INTO THE INLET AND INTO THE SET",
        "START THE SET, LET IT WARM UP",
        "EACH SWITCH TO THE SET IN THE ORDER BELOW",
    ),
    "cords": (
        "UNPLUG THE APPLIANCES ON THE LIST FROM THE WALL",
        "SET OUTDOORS, CORDS LAID WHERE NOBODY TRIPS",
        "START THE SET, LET IT WARM UP",
        "PLUG IN IN THE ORDER BELOW",
    ),
}

_BACK = {
    "interlock": (
        "ALL CIRCUIT BREAKERS OFF",
        "INLET BREAKER OFF",
        "INTERLOCK BACK, MAIN BREAKER ON",
        "CIRCUITS ON ONE BY ONE",
        "STOP THE SET AND LET IT COOL",
    ),
    "fixed circuits": (
        "ALL SWITCHES OF THE TRANSFER EQUIPMENT OFF",
        "EACH SWITCH BACK TO THE STREET, ONE BY ONE",
        "STOP THE SET AND LET IT COOL",
    ),
    "cords": (
        "UNPLUG EVERYTHING FROM THE CORDS",
        "BACK INTO THE WALL OUTLETS, ONE BY ONE",
        "STOP THE SET AND LET IT COOL",
    ),
}


@dataclass(frozen=True, slots=True)
class CardStep:
    """One line of the list: number, what, wait before and after, running amps after it."""

    number: int
    label: str
    why: str
    before: str
    pause: str
    legs: tuple[str, ...]
    doubtful: bool


@dataclass(frozen=True, slots=True)
class Card:
    """Everything on the page, in the order of the page."""

    house: str
    source: str
    made: str
    cautions: tuple[str, ...]
    before: tuple[str, ...]
    leg_names: tuple[str, ...]
    leg_limits: tuple[str, ...]
    steps: tuple[CardStep, ...]
    never: tuple[str, ...]
    one_at_a_time: tuple[str, ...]
    swaps: tuple[str, ...]
    turns: tuple[str, ...]
    trips: tuple[str, ...]
    fuel: tuple[str, ...]
    back: tuple[str, ...]
    notes: tuple[str, ...]


def wait_after_trip_s(plan: RestorePlan) -> float:
    """How long everything stays off after a trip. [s]"""
    return max(plan.longest_restart_delay_s, _LEAST_WAIT_S)


def card_of(plan: RestorePlan, made: date) -> Card:
    """Gather the card of a plan; ``made`` is the date printed on it."""
    setting = plan.setting
    wait = duration(wait_after_trip_s(plan))
    connection = setting.source.connection
    places = setting.feed.places
    group = one_at_a_time(plan)
    swaps, by_clock = _swaps(plan), _turns(plan)
    sometimes = {*group, *(s.branch for s in swaps), *(b for turn in by_clock for b in turn.on)}
    return Card(
        house=setting.profile.house.upper(),
        source=setting.source.name,
        made=made.strftime("%d %b %Y"),
        cautions=_FIRST,
        before=_BEFORE[connection],
        leg_names=tuple(place.name.upper() for place in places),
        leg_limits=tuple(f"{place.running_a:.0f}" for place in places),
        steps=tuple(_card_step(step) for step in plan.steps),
        never=tuple(
            x.branch.label
            for x in plan.left_off
            if x.branch not in sometimes and x.why != "its circuit is off"
        ),
        one_at_a_time=tuple(branch.label for branch in group),
        swaps=tuple(swap.words() for swap in swaps),
        turns=turn_lines(by_clock),
        trips=(
            f"ALL CIRCUIT BREAKERS OFF. WAIT {wait.upper()}.",
            "RESET ONCE. BEGIN AGAIN AT 1, WITHOUT THE STEP THAT FAILED.",
            "TRIPS AGAIN? STOP. CALL AN ELECTRICIAN.",
        ),
        fuel=_fuel(plan),
        back=_BACK[connection],
        notes=_card_notes(plan),
    )


def _card_step(step: Step) -> CardStep:
    return CardStep(
        number=step.number,
        label=step.branch.label,
        why=step.why,
        before=f"FIRST WAIT {duration(step.wait_s).upper()}" if step.wait_s > 0.0 else "",
        pause=duration(step.pause_s),
        legs=tuple(f"{value:.0f}" for value in step.legs_a),
        doubtful=step.sure < 0.95,
    )


def _swaps(plan: RestorePlan) -> tuple[Swap, ...]:
    """What goes off for what, for the first four that found no room."""
    wanted = [left.branch.name for left in plan.left_off if "no room" in left.why][:4]
    return tuple(swap for swap in (swap_for(plan, name) for name in wanted) if swap.off)


def _turns(plan: RestorePlan) -> Sequence[Turn]:
    return turns(plan) if plan.setting.case.length_h >= 6.0 else ()


def _fuel(plan: RestorePlan) -> tuple[str, ...]:
    try:
        answer = endurance(plan.setting, plan.on)
    except InputError:
        return ("No fuel figures in the source file. Write down when you fill up.",)
    return _fuel_lines(answer)


def _fuel_lines(answer: Endurance) -> tuple[str, ...]:
    lines = []
    if answer.battery_h is not None:
        lines.append(f"BATTERY ALONE: {span(answer.battery_h, 'h')} at this list.")
    if answer.tank_h is not None:
        lines.append(f"FULL TANK = {span(answer.tank_h, 'h')} at this list.")
    night = answer.periods[0]
    if night.fuel is not None:
        lines.append(f"A NIGHT NEEDS {span(night.fuel, answer.unit, 1)}.")
    if answer.refills:
        times = ", ".join(time.strftime("%a %H:%M") for time in answer.refills[:4])
        lines.append(f"REFILL BY {times.upper()} (if started as planned).")
    lines.append("FILLED AT: ________  ________  ________  ________")
    return tuple(lines)


def _card_notes(plan: RestorePlan) -> tuple[str, ...]:
    notes = ["Amps are the most to expect; less is normal."]
    doubtful = [step.branch.label for step in plan.steps if step.sure < 0.95]
    if doubtful:
        notes.append("MAY NOT START (?): " + ", ".join(doubtful) + ".")
    notes.append("Furnace lights and goes out? Not watts: leave it off, ask an electrician.")
    notes.append(
        "One leg very bright, the other dim? Switch off the set at once, call an electrician."
    )
    notes.append("Estimates only. Equipment instructions, local code and your electrician govern.")
    return tuple(notes)


def as_text(card: Card, width: int = 78) -> str:
    """The card for a terminal, in lines of at most ``width`` characters."""
    lines = [f"{card.house} ON STANDBY POWER", f"{card.source} · made {card.made} · ESTIMATES", ""]
    lines += _block("FIRST", card.cautions, width, "! ")
    lines += _block("BEFORE THE FIRST BREAKER", card.before, width, "[ ] ")
    limits = ", ".join(f"{n} {x} A" for n, x in zip(card.leg_names, card.leg_limits, strict=True))
    lines += [f"SWITCH ON, IN THIS ORDER (limits: {limits})"]
    for step in card.steps:
        lines += _step_lines(step, card.leg_names, width)
    lines.append("")
    lines += _block("NEVER: THESE STAY OFF", card.never, width, "  X ")
    if card.one_at_a_time:
        lines += _block("ONE AT A TIME", (" OR ".join(card.one_at_a_time),), width, "  ")
    lines += _block("OFF, UNLESS", card.swaps, width, "  ")
    lines += _block("OFF, UNLESS IT IS THEIR HOUR", card.turns, width, "  ")
    lines += _block("IF IT TRIPS", card.trips, width, "  ")
    lines += _block("FUEL", card.fuel, width, "  ")
    lines += _block("STREET POWER IS BACK", card.back, width, "[ ] ")
    lines += _block("NOTES", card.notes, width, "  ")
    return "\n".join(lines).rstrip() + "\n"


def _step_lines(step: CardStep, names: Sequence[str], width: int) -> list[str]:
    from textwrap import wrap

    amps = "  ".join(f"{name[-1]} {value}" for name, value in zip(names, step.legs, strict=True))
    if len(names) == 1 or not all(name.startswith("LEG ") for name in names):
        amps = "  ".join(f"{name} {value}" for name, value in zip(names, step.legs, strict=True))
    mark = " (?)" if step.doubtful else ""
    why = f" ({step.why})" if step.why else ""
    lines = [f"    {step.before}"] if step.before else []
    text = f"[ ] {step.number:>2} {step.label}{mark}{why}; wait {step.pause}; then {amps} amps"
    return lines + wrap(text, width, subsequent_indent="       ")


def _block(title: str, items: Sequence[str], width: int, mark: str) -> list[str]:
    from textwrap import wrap

    if not items:
        return []
    lines = [title]
    for item in items:
        lines += wrap(item, width, initial_indent=mark, subsequent_indent=" " * len(mark))
    return [*lines, ""]
