"""How an entry was read: category, label and the first range, in words for the echo."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loadlib.core.category import Category
from loadlib.core.claims import LoadClaim
from loadlib.core.household import Appliance
from loadlib.core.ranges import Range

__all__ = ["Question", "echo", "questions"]

WELL_PUMP = "well_pump_submersible"


@dataclass(frozen=True, slots=True)
class Question:
    """Something worth one key: the words, and what each key does to the appliance.

    ``answers`` maps a key to (words, label text to use, category to use); empty strings
    leave the appliance as it is.
    """

    text: str
    answers: dict[str, tuple[str, str, str]]


def _span(value: Range, unit: str) -> str:
    low, high = round(value.low), round(value.high)
    return f"{low:,} {unit}" if low == high else f"{low:,} to {high:,} {unit}"


def echo(appliance: Appliance, category: Category | None, claims: Sequence[LoadClaim]) -> list[str]:
    """What was understood, with the ranges that follow from it."""
    lines = [f"{appliance.name}" + (f" x {appliance.count}" if appliance.count > 1 else "")]
    lines[0] += f": taken as {category.name}" if category else ": not in the catalog, guessed"
    said = {claim.quantity: claim.value for claim in claims}
    if "running_w" in said:
        lines.append(f"  runs at {_span(said['running_w'], 'W')}")
    if "start_va" in said:
        lines.append(f"  starts at {_span(said['start_va'], 'VA')}")
    return lines


def questions(
    appliance: Appliance, category: Category | None, known: dict[str, Category]
) -> list[Question]:
    """The questions worth a key for this appliance; none where the answer changes little."""
    found = []
    label = appliance.label.casefold()
    if (
        category is not None
        and category.label_rule == "watts_output"
        and "w" in label
        and "input" not in label
        and "output" not in label
    ):
        found.append(
            Question(
                "Is that on the door (cooking power) or on the back (what it draws)?",
                {
                    "d": ("door: cooking power", f"OUTPUT {appliance.label}", ""),
                    "b": ("back: what it draws", f"INPUT {appliance.label}", ""),
                },
            )
        )
    two, three = f"{WELL_PUMP}_two_wire", f"{WELL_PUMP}_three_wire"
    undecided = appliance.category.startswith(WELL_PUMP) and appliance.category not in (two, three)
    if undecided and "lra" not in label and two in known and three in known:
        found.append(
            Question(
                "Two wires (and earth) down the well, or three with a control box?",
                {"2": ("two-wire", "", two), "3": ("three-wire", "", three)},
            )
        )
    return found
