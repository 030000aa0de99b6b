"""Known, guessed, missing: how far the round has come."""

from __future__ import annotations

from loadlib.core.household import House

__all__ = ["status"]

MOST_NAMES = 6


def status(house: House) -> list[str]:
    """Lines that say which appliances and circuits are known, guessed or missing."""
    labelled = [a.name for a in house.appliances if a.label or a.running_w]
    bare = [a.name for a in house.appliances if not a.label and not a.running_w]
    loose = [a.name for a in house.appliances if not a.circuit]
    guessed = [c.name for c in house.circuits if c.leg_guessed]
    lines = [
        f"{house.name}: {_count(len(house.appliances), 'appliance')}, "
        f"{_count(len(house.circuits), 'circuit')}"
    ]
    for words, names in (
        ("known, by label", labelled),
        ("guessed, by kind only", bare),
        ("missing: circuit of", loose),
        ("missing: leg of", guessed),
    ):
        if names:
            lines.append(f"  {words}: {_few(names)}")
    return lines


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" + ("" if number == 1 else "s")


def _few(names: list[str]) -> str:
    more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    return ", ".join(names[:MOST_NAMES]) + more
