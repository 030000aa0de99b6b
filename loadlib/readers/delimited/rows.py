"""Which rows of a file count: electricity, one unit, one meter and flow at a time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import InputError
from loadlib.readers.delimited.columns import Cells
from loadlib.readers.delimited.roles import Roles, flow_named, unit_in
from loadlib.readers.delimited.words import OTHER_SERVICE
from loadlib.readers.remarks import counted

__all__ = ["Group", "electric_rows", "groups", "note_estimated", "rows_in_one_unit"]

Bools = NDArray[np.bool_]

_ESTIMATED: Final = ("e", "est", "estimated", "estimate", "*", "s", "substituted")


def electric_rows(cells: Cells, roles: Roles, notes: list[str]) -> Bools:
    """Rows that are not of another service."""
    if roles.service < 0:
        return np.ones(cells.rows, np.bool_)
    words = cells.words[roles.service]
    other = [OTHER_SERVICE.search(text.lower()) is not None for text in words.texts]
    apart = np.array(other, np.bool_)[words.numbers()]
    if apart.any():
        named = ", ".join(
            text for text, is_other in zip(words.texts, other, strict=True) if is_other
        )
        notes.append(f"{counted(int(apart.sum()), 'row')} of {named}: left out")
    return ~apart


def rows_in_one_unit(
    cells: Cells, roles: Roles, keep: Bools, notes: list[str]
) -> tuple[Bools, str]:
    """Rows in one unit of energy, or else of power, where a column names the unit; and it."""
    if roles.unit < 0:
        return keep, ""
    words = cells.words[roles.unit]
    units = [unit_in(text) for text in words.texts]
    numbers = words.numbers()
    present = {units[number] for number in np.unique(numbers[keep])}
    unit = next((unit for unit in ("kWh", "Wh", "MWh", "kW", "W") if unit in present), "")
    if not unit:
        return keep, ""
    fits = np.array([other == unit for other in units], np.bool_)[numbers]
    apart = keep & ~fits
    if apart.any():
        texts = list(words.texts)
        named = ", ".join(texts[number] for number in np.unique(numbers[apart]))
        notes.append(f"{counted(int(apart.sum()), 'row')} in {named}: left out")
    return keep & fits, unit


def note_estimated(cells: Cells, roles: Roles, keep: Bools, notes: list[str]) -> None:
    if roles.quality < 0:
        return
    words = cells.words[roles.quality]
    flagged = [
        text.strip().lower() in _ESTIMATED or text.strip().lower().startswith("est")
        for text in words.texts
    ]
    count = int((np.array(flagged, np.bool_)[words.numbers()] & keep).sum())
    if count:
        notes.append(f"{counted(count, 'reading')} estimated, by the file")


@dataclass(frozen=True, slots=True)
class Group:
    """Rows of one meter, and the flow that their flow column names ("" without one)."""

    meter: str
    flow: str


def groups(cells: Cells, roles: Roles, channel: str, keep: Bools) -> Iterator[tuple[Group, Bools]]:
    """Rows meter by meter, and flow by flow where a column names the flow."""
    if not keep.any():
        return
    meters = _by_word(cells, roles.meter, keep)
    names = [name for name, _ in meters]
    if channel and roles.meter < 0:
        meters = [(channel, keep)]
    elif channel:
        meters = [(name, rows) for name, rows in meters if name == channel]
        if not meters:
            raise InputError(
                f"no channel {channel!r} in the file", hint=f"It has: {', '.join(names)}"
            )
    for name, rows in meters:
        for flow, part in _by_word(cells, roles.flow, rows):
            yield Group(name, flow_named(flow)), part


def _by_word(cells: Cells, index: int, keep: Bools) -> list[tuple[str, Bools]]:
    if index < 0:
        return [("", keep)]
    words = cells.words[index]
    numbers = words.numbers()
    found = [(text, keep & (numbers == number)) for text, number in words.texts.items()]
    return [(text, rows) for text, rows in found if rows.any()]
