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
from loadlib_standby.hands import all_off, before_first_step, way_back
from loadlib_standby.restore import NOT_CONNECTED, RestorePlan, Step, wait_after_trip_s
from loadlib_standby.rotation import Rotation, turns
from loadlib_standby.stack import SURE
from loadlib_standby.swap import Swap, one_at_a_time, swap_for
from loadlib_standby.words import broken, duration, span

__all__ = ["Card", "CardStep", "as_text", "card_of", "leg_letter"]

_LEAST_TURNS_H = 6.0
"""A shorter outage has no turns by the clock. A choice of ours."""

_DOUBT = "(?) IN DOUBT. TRIPS, HUMS, OR LIGHTS STAY DIM OVER 3 SECONDS? OFF AT ONCE, LEAVE IT OFF."

_FIRST = (
    "RUN THE SET OUTDOORS ONLY, 20 FT (6 M) OR MORE FROM THE HOUSE, exhaust away from doors, "
    "windows and vents. NEVER in a garage, cellar, shed or porch, even with open doors.",
    "CO ALARMS ON. Headache, dizzy, sick? EVERYBODY OUT, call for help.",
    "NEVER a cord with two plugs. NEVER feed the house through a wall outlet.",
    "Refuel only when the engine is OFF AND COLD. Never heat with an oven, range or grill.",
)


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
    doubt: str
    never: tuple[str, ...]
    unconnected: tuple[str, ...]
    one_at_a_time: tuple[str, ...]
    swaps: tuple[str, ...]
    turns: tuple[str, ...]
    trips: tuple[str, ...]
    fuel: tuple[str, ...]
    back: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def group_title(self) -> str:
        """Above the list of what is used one at a time."""
        return "ONE AT A TIME" if len(self.one_at_a_time) > 1 else "MAY BE USED AS WELL"


def card_of(plan: RestorePlan, made: date) -> Card:
    """Gather the card of a plan; ``made`` is the date printed on it."""
    setting = plan.setting
    wait = duration(wait_after_trip_s(plan))
    places = setting.feed.places
    group = one_at_a_time(plan)
    rotation = turns(plan) if setting.case.length_h >= _LEAST_TURNS_H else Rotation((), ())
    in_turn = {turn.branch for turn in rotation.turns}
    swaps = tuple(swap for swap in _swaps(plan) if swap.branch not in in_turn)
    sometimes = {*group, *in_turn, *(swap.branch for swap in swaps)}
    elsewhere = ("its circuit is off", NOT_CONNECTED)
    doubtful = any(
        x < SURE
        for x in (
            *(step.sure for step in plan.steps),
            *(swap.sure for swap in swaps),
            *(turn.sure for turn in rotation.turns),
        )
    )
    return Card(
        house=setting.profile.house.upper(),
        source=setting.source.name,
        made=made.strftime("%d %b %Y"),
        cautions=(*_FIRST, *_medical(plan)),
        before=before_first_step(setting.source),
        leg_names=tuple(place.name.upper() for place in places),
        leg_limits=tuple(f"{place.running_a:.0f}" for place in places),
        steps=tuple(_card_step(step) for step in plan.steps),
        doubt=_DOUBT if doubtful else "",
        never=tuple(
            x.branch.label + (f", OTHER PROVISION {x.by_words().upper()}" if x.by else "")
            for x in plan.left_off
            if x.branch not in sometimes and x.why not in elsewhere
        ),
        unconnected=tuple(x.branch.label for x in plan.left_off if x.why == NOT_CONNECTED),
        one_at_a_time=tuple(branch.label for branch in group),
        swaps=tuple(swap.words() for swap in swaps),
        turns=rotation.lines(),
        trips=(
            f"{all_off(setting.source)}. WAIT {wait.upper()}.",
            "RESET ONCE. BEGIN AGAIN AT 1, WITHOUT THE STEP THAT FAILED.",
            "TRIPS AGAIN? STOP. CALL AN ELECTRICIAN.",
        ),
        fuel=_fuel(plan),
        back=way_back(setting.source),
        notes=_card_notes(),
    )


def _card_step(step: Step) -> CardStep:
    return CardStep(
        number=step.number,
        label=step.branch.label,
        why="go first" if step.why.startswith("no room") else step.why,
        before=f"FIRST WAIT {duration(step.wait_s).upper()}" if step.wait_s > 0.0 else "",
        pause=duration(step.pause_s),
        legs=tuple(f"{value:.0f}" for value in step.legs_a),
        doubtful=step.sure < SURE,
    )


def _swaps(plan: RestorePlan) -> tuple[Swap, ...]:
    """What goes off for what, for the first four that found no room."""
    wanted = [left.branch.name for left in plan.left_off if "no room" in left.why][:4]
    return tuple(swap for swap in (swap_for(plan, name) for name in wanted) if swap.off)


def _medical(plan: RestorePlan) -> tuple[str, ...]:
    """Medical loads without this source, among the first lines."""
    names = [b.label for b in plan.setting.branches if b.medical and b.blocked]
    return (
        (f"MEDICAL, NOT ON THIS SOURCE: {', '.join(names)}. OWN BATTERY FIRST.",) if names else ()
    )


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
    if answer.unit:
        lines.append("FILLED AT: ________  ________  ________  ________")
    return tuple(lines)


def _card_notes() -> tuple[str, ...]:
    notes = ["Amps are the most to expect; less is normal."]
    notes.append("Furnace lights and goes out? Not watts: leave it off, ask an electrician.")
    notes.append(
        "One leg very bright, the other dim? Switch off the source at once, call an electrician."
    )
    notes.append("Estimates only. Equipment instructions, local code and your electrician govern.")
    return tuple(notes)


def as_text(card: Card, width: int = 78) -> str:
    """The card for a terminal, in lines of at most ``width`` characters."""
    lines = broken(f"{card.house} ON STANDBY POWER", width)
    lines += [*broken(f"{card.source} · made {card.made} · ESTIMATES", width), ""]
    lines += _block("FIRST", card.cautions, width, "! ")
    lines += _block("BEFORE THE FIRST STEP", card.before, width, "[ ] ")
    lines += broken("SWITCH ON, IN THIS ORDER (amps after each step, all that may call)", width)
    limits = ", ".join(f"{n} {x} A" for n, x in zip(card.leg_names, card.leg_limits, strict=True))
    lines += broken(f"LIMITS: {limits}", width)
    for step in card.steps:
        lines += _step_lines(step, card.leg_names, width)
    lines += ["", *_block("", (card.doubt,), width, "  ")]
    lines += _block("NEVER: THESE STAY OFF", card.never, width, "  X ")
    lines += _block("NOT ON THIS SOURCE", (", ".join(card.unconnected),), width, "  ")
    lines += _block(card.group_title, (" OR ".join(card.one_at_a_time),), width, "  ")
    lines += _block("ONLY WITH OTHERS OFF", card.swaps, width, "  ")
    lines += _block("TURNS BY THE CLOCK", card.turns, width, "  ")
    lines += _block("IF IT TRIPS", card.trips, width, "  ")
    lines += _block("FUEL", card.fuel, width, "  ")
    lines += _block("STREET POWER IS BACK", card.back, width, "[ ] ")
    lines += _block("NOTES", card.notes, width, "  ")
    return "\n".join(lines).rstrip() + "\n"


def leg_letter(name: str) -> str:
    """``"LEG A"`` as ``"A"``; other names as they are."""
    return name.removeprefix("LEG ")


def _step_lines(step: CardStep, names: Sequence[str], width: int) -> list[str]:
    amps = "  ".join(f"{leg_letter(n)} {value}" for n, value in zip(names, step.legs, strict=True))
    mark = " (?)" if step.doubtful else ""
    why = f" ({step.why})" if step.why else ""
    lines = [f"    {step.before}"] if step.before else []
    lines += broken(f"{step.label}{mark}{why}", width, f"[ ] {step.number:>2} ")
    return lines + broken(f"amps {amps}; wait {step.pause}", width, "       ")


def _block(title: str, items: Sequence[str], width: int, mark: str) -> list[str]:
    if not any(items):
        return []
    lines = [title] if title else []
    for item in items:
        lines += broken(item, width, mark)
    return [*lines, ""]
