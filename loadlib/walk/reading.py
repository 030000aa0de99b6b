"""How an entry was read: category, label and the first ranges, in words for the echo."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from loadlib.core.category import Category
from loadlib.core.claims import LoadClaim
from loadlib.core.electrical import System
from loadlib.core.household import Appliance
from loadlib.core.ranges import Range

if TYPE_CHECKING:
    from loadlib import RatingLabel

__all__ = ["CHECKED", "WELL_PUMP", "Question", "Reading", "echo", "questions", "variants"]

WELL_PUMP = "well_pump_submersible"
CHECKED = "label checked"
"""Kept in an appliance's note once a doubtful label was confirmed."""

_LINE_TO_LINE_FROM_V = 190.0


@dataclass(frozen=True, slots=True)
class Reading:
    """One appliance with all that its echo and its questions need.

    ``words`` are the plain sentences of its label; ``claims`` what the nameplate estimator
    makes of it.
    """

    appliance: Appliance
    category: Category | None
    label: RatingLabel | None
    words: Sequence[str]
    claims: Sequence[LoadClaim]
    supply: System

    def range_of(self, quantity: str) -> Range | None:
        """The last claim about ``quantity``."""
        return {c.quantity: c.value for c in self.claims}.get(quantity)


@dataclass(frozen=True, slots=True)
class Answer:
    """What a key does: words for the note, and the label or category to use from now on.

    Empty strings leave the appliance as it is; ``retype`` asks for the label once more.
    """

    words: str = ""
    label: str = ""
    category: str = ""
    retype: bool = False


@dataclass(frozen=True, slots=True)
class Question:
    """Something worth one key; Enter leaves it open."""

    text: str
    answers: dict[str, Answer]


def variants(category: str) -> tuple[str, ...]:
    """Kinds that a question may turn ``category`` into."""
    if category != WELL_PUMP:
        return ()
    return (f"{WELL_PUMP}_two_wire", f"{WELL_PUMP}_three_wire")


def span(value: Range, unit: str) -> str:
    """``75 to 448 W``; one number where low and high agree."""
    low, high = round(value.low), round(value.high)
    return f"{low:,} {unit}" if low == high else f"{low:,} to {high:,} {unit}"


def echo(reading: Reading) -> list[str]:
    """What was understood, with the ranges that follow from it and where they come from."""
    appliance, category = reading.appliance, reading.category
    times = f" x {appliance.count}" if appliance.count > 1 else ""
    taken = f"taken as {category.name}" if category else "not in the catalog, guessed"
    lines = [f"{appliance.name}{times}: {taken}", *_label_lines(reading)]
    running, start = reading.range_of("running_w"), reading.range_of("start_va")
    each = " each" if times else ""
    if running is not None:
        lines.append(f"  runs at {span(running, 'W')}{each}{_on_legs(reading)}")
    if start is not None:
        lines.append(f"  starts at {span(start, 'VA')}{each}")
    if running is not None and appliance.label and category and category.running_w.high > 0.0:
        lines.append(f"  its kind runs at {span(category.running_w, 'W')}")
    for claim in reading.claims:
        if claim.quantity == "running_w":
            lines.append(f"  source: {claim.source.split(' (')[0]}")
            break
    return lines


def _label_lines(reading: Reading) -> list[str]:
    if reading.label is not None and reading.label.refused:
        return [f"  label kept as typed, not used: {reading.label.refused}"]
    # The supply is what the person knows already, and a check is asked for by a question.
    skipped = ("Supply", "Please check")
    return [f"  {line.strip()}" for line in reading.words if not line.startswith(skipped)]


def is_line_to_line(reading: Reading) -> bool:
    """True for a load across two legs, by its label or else by its kind."""
    label, category = reading.label, reading.category
    volts = (label.volts if label else None) or (category.voltage_v if category else 0.0)
    return volts >= _LINE_TO_LINE_FROM_V > reading.supply.leg_v


def _on_legs(reading: Reading) -> str:
    """Both legs carry the full current of a line-to-line load: said with its amps if known."""
    label = reading.label
    if not is_line_to_line(reading):
        return ""
    current_a = label and (label.amps or label.rla or label.sfa or label.fla)
    return f", {current_a:g} A on both legs" if current_a else ", on both legs"


def questions(reading: Reading, known: dict[str, Category]) -> list[Question]:
    """The questions worth a key for this appliance; none where the answer changes little."""
    asked = (_label_question(reading), _door_or_back(reading), _pump_wires(reading, known))
    return [question for question in asked if question is not None]


def _label_question(reading: Reading) -> Question | None:
    label, note = reading.label, reading.appliance.note
    if label is None or label.refused or not label.ask or CHECKED in note:
        return None
    figures = [
        f"{value:g} {unit}"
        for value, unit in (
            (label.volts, "V"),
            (label.watts, "W"),
            (label.amps, "A"),
            (label.fla, "A full load"),
            (label.rla, "A rated load"),
            (label.sfa, "A service factor"),
            (label.lra, "A locked rotor"),
        )
        if value
    ]
    if not figures:
        return None
    return Question(
        f"{reading.appliance.name}: is it {', '.join(figures)}?",
        {"y": Answer(CHECKED), "n": Answer(retype=True)},
    )


def _door_or_back(reading: Reading) -> Question | None:
    appliance, category, label = reading.appliance, reading.category, reading.label
    text = appliance.label.casefold()
    sold_by_output = category is not None and category.label_rule == "watts_output"
    if not sold_by_output or label is None or not label.watts or "input" in text:
        return None
    return Question(
        f"{appliance.name}: is {label.watts:g} W on the door (cooking power) "
        "or on the back (what it draws)?",
        {
            "d": Answer("door: cooking power", f"OUTPUT {appliance.label}"),
            "b": Answer("back: what it draws", f"INPUT {appliance.label}"),
        },
    )


def _pump_wires(reading: Reading, known: dict[str, Category]) -> Question | None:
    """Two-wire pumps start harder; a printed locked-rotor current settles it already."""
    kinds = variants(reading.appliance.category)
    if not kinds or any(kind not in known for kind in kinds):
        return None
    if reading.label is not None and reading.label.lra:
        return None
    return Question(
        f"{reading.appliance.name}: two wires (and earth) down the well, "
        "or three with a control box?",
        {
            "2": Answer("two-wire", category=kinds[0]),
            "3": Answer("three-wire", category=kinds[1]),
        },
    )
