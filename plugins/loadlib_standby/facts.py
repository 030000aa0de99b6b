"""Cautions and the failures that are not watts, in plain words of our own.

The facts behind the words stand in ``standby_safety.csv`` with their sources.
"""

from __future__ import annotations

from loadlib_standby.engine import ESTIMATE, SOURCE
from loadlib_standby.setting import Setting
from loadlib_standby.source import Generator
from loadlib_standby.tables import find, table

__all__ = [
    "CAUTIONS",
    "CLEARANCE_FT",
    "LEAST_DISTANCE_FT",
    "far_enough",
    "not_watts",
    "safety_fact",
]

LEAST_DISTANCE_FT = 20.0
"""Least distance of a running set from the house (CPSC, CDC); a least figure, no promise."""

CLEARANCE_FT = (3.0, 4.0)
"""Free space around and above a running set (OSHA fact sheet, New York State)."""

CAUTIONS: tuple[str, ...] = (
    *(text for text in SOURCE if text not in ESTIMATE),
    "Keep 3 to 4 ft free around and above the set. Stop it and let it cool before refuelling; "
    "keep fuel out of the house.",
    "Never heat with an oven, a range or a grill.",
    "A breaker that trips is never replaced by a bigger one.",
    *ESTIMATE,
)


def far_enough(distance_ft: float) -> bool:
    """True when a set stands at the least distance or farther; it makes no place safe.

    ``distance_ft`` [ft].
    """
    return distance_ft >= LEAST_DISTANCE_FT


def safety_fact(topic: str) -> dict[str, str]:
    """One safety fact with its source, by its topic; NotFound lists the topics."""
    return dict(find("safety", "safety fact", "topic", topic))


def not_watts(setting: Setting) -> tuple[str, ...]:
    """What people take for a lack of watts: bonding, flame sensors, control boards, guesses."""
    carrier = setting.source.carrier
    notes = [_neutral_note(carrier.neutral, isinstance(carrier, Generator))]
    names = " ".join(f"{x.name} {x.category}" for x in setting.feed.loads).casefold()
    if any(word in names for word in ("furnace", "boiler", "gas heat")):
        notes.append(
            "A furnace or boiler that lights and then goes out is mostly not short of watts: its "
            "flame sensor needs the neutral tied to ground somewhere. Leave it off and ask an "
            "electrician."
        )
    if any(load.kind == "electronic" for load in setting.feed.loads):
        notes.append(
            "Chargers and control boards that refuse to run while watts are free: first look at "
            "volts and frequency on the source's display, then at a loose plug; it may also be "
            "the wave shape of a simple set."
        )
    notes += [
        f"MEDICAL: {branch.label} is not connected to this source. It needs a supply of its own; "
        "ask who delivers the device."
        for branch in setting.branches
        if branch.medical and branch.blocked
    ]
    guessed = [branch.label for branch in setting.branches if branch.leg_guessed]
    if guessed:
        notes.append("The leg is only guessed from the slot for: " + ", ".join(guessed) + ".")
    notes.append(
        "One leg far above its volts and the other far below (say 140 and 100 V) is a lost "
        "neutral: switch off at once and call an electrician."
    )
    return tuple(notes)


def _neutral_note(neutral: str, generator: bool) -> str:
    what = "set" if generator else "inverter"
    if neutral == "bonded":
        return (
            f"The neutral of this {what} is bonded to its frame. If its ground-fault outlet trips "
            "the moment the house is connected, that is no overload: the neutral is bonded twice. "
            "An electrician decides between switched-neutral equipment and changing the bond."
        )
    if neutral == "floating":
        return (
            f"The neutral of this {what} floats. A plug tester then shows “open ground” on it; in "
            "a house panel that bonds the neutral this is the usual arrangement. Used with cords "
            "only, ask an electrician."
        )
    return (
        f"Whether the neutral of this {what} is bonded or floating is not known: look it up and "
        "enter it, it decides which transfer equipment an electrician uses."
    )


def topics() -> tuple[str, ...]:
    """Topics of the safety facts."""
    return tuple(row["topic"] for row in table("safety"))
