"""What a person types on the round, one line an appliance.

    [ROOM:] [COUNT] WHAT IT IS [LABEL] [@CIRCUIT] [!WORD ...]

``kitchen:`` alone moves to a room. The label begins at the first word that looks like one
(a figure, or a unit). ``@`` names a circuit, or a slot of one. ``!must``, ``!wanted``,
``!off`` set the priority, ``!medical`` marks a medical device, ``!30min`` or ``!4h`` says
how long it may be without power. Order is free after the name.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from loadlib.core.household import PRIORITIES, House
from loadlib.errors import InputError

__all__ = ["Entry", "find_circuit", "parse_entry", "parse_span"]

MOST_LETTERS = 500
# Words of a label that hold no figure; a label starts at one of these or at a figure.
_LABEL_WORDS = frozenset(
    [
        "v",
        "volt",
        "volts",
        "a",
        "amp",
        "amps",
        "w",
        "watt",
        "watts",
        "kw",
        "va",
        "kva",
        "hp",
        "hz",
        "ph",
        "phase",
        "phases",
        "lra",
        "rla",
        "fla",
        "sfa",
        "mca",
        "mocp",
        "btu",
        "btu/h",
        "eer",
        "input",
        "output",
        "max",
        "min",
        "model",
    ]
)
_FIGURE = re.compile(r"^[~≈<]?[IO]?\d", re.ASCII)
_COUNT = re.compile(r"^(\d{1,4})(?:\s*[x×])?\s+(?=[^\W\d])|^(\d{1,4})\s*[x×]\s*")
_SPAN = re.compile(r"^(\d+(?:[.,]\d+)?)\s*(s|sec|min|m|h|hours?|d|days?)$")
_SPAN_S = {"s": 1.0, "m": 60.0, "h": 3600.0, "d": 86_400.0}


@dataclass(frozen=True, slots=True)
class Entry:
    """One line, taken apart; empty fields were not said."""

    room: str = ""
    words: str = ""
    count: int = 1
    label: str = ""
    circuit: str = ""
    priority: str = ""
    medical: bool = False
    may_be_off_s: float | None = None

    @property
    def is_room_only(self) -> bool:
        """True for ``kitchen:``."""
        return bool(self.room) and not self.words and not self.label


def parse_entry(line: str) -> Entry:
    """Take a line apart.

    Raises InputError, with the mend, for a mark that is not known or a line without a name.
    """
    text = " ".join(line[:MOST_LETTERS].replace("\0", " ").split())
    room, text = _room(text)
    text, marks = _marks(text)
    text, circuit = _circuit(text)
    count, text = _count(text)
    words, label = _name_and_label(text.split())
    if not words and (label or circuit or marks or not room):
        raise InputError(
            f"no appliance is named in {line.strip()!r:.60}",
            hint="Name it first, e.g.: refrigerator 115V 6.5A",
        )
    entry = Entry(room=room, words=words, count=count, label=label, circuit=circuit)
    for mark in marks:
        entry = _with_mark(entry, mark)
    return entry


def _room(text: str) -> tuple[str, str]:
    head, colon, rest = text.partition(":")
    # "L1:N 230V" or "12:30" are no rooms: a room has letters only and stands first.
    if colon and head and all(c.isalpha() or c in " '-." for c in head):
        return head.strip().casefold(), rest.strip()
    return "", text


def _marks(text: str) -> tuple[str, list[str]]:
    marks = re.findall(r"(?:^|\s)!(\S+)", text)
    return re.sub(r"(?:^|\s)!\S+", " ", text).strip(), marks


def _circuit(text: str) -> tuple[str, str]:
    before, at, name = text.partition("@")
    if at and not name.strip():
        raise InputError("nothing stands behind @", hint="Name a circuit or a slot: @11")
    return before.strip(), name.strip()


def _count(text: str) -> tuple[int, str]:
    found = _COUNT.match(text)
    if not found:
        return 1, text
    following = text[found.end() :].split(maxsplit=1)
    if found.group(1) and following and following[0].casefold() in _LABEL_WORDS:
        return 1, text
    count = int(found.group(1) or found.group(2))
    return (count, text[found.end() :]) if count else (1, text)


def _looks_like_label(word: str) -> bool:
    return bool(_FIGURE.match(word)) or word.casefold().strip(".,;") in _LABEL_WORDS


def _name_and_label(tokens: list[str]) -> tuple[str, str]:
    """The first run of plain words is the name; all the rest is the label, in its order."""
    start = 0
    while start < len(tokens) and _looks_like_label(tokens[start]):
        start += 1
    end = start
    while end < len(tokens) and not _looks_like_label(tokens[end]):
        end += 1
    return " ".join(tokens[start:end]), " ".join(tokens[:start] + tokens[end:])


def _with_mark(entry: Entry, mark: str) -> Entry:
    word = mark.casefold()
    if word in PRIORITIES:
        return replace(entry, priority=word)
    if word == "medical":
        return replace(entry, medical=True)
    if _SPAN.match(word):
        return replace(entry, may_be_off_s=parse_span(word))
    raise InputError(
        f"!{mark} is not known",
        hint="Marks: !must !wanted !off !medical, or how long it may be off: !4h !30min",
    )


def parse_span(text: str) -> float:
    """A length of time such as ``30min``, ``4h`` or ``2d``. [s]"""
    found = _SPAN.match(text.strip().casefold())
    if not found:
        raise InputError(f"{text!r} is no length of time", hint="Write 30min, 4h or 2d.")
    return float(found.group(1).replace(",", ".")) * _SPAN_S[found.group(2)[0]]


def find_circuit(house: House, text: str) -> str:
    """The name of the circuit meant by a name, the start of one, or a slot number."""
    wanted = text.strip().casefold()
    if wanted.isascii() and wanted.isdigit():
        slot = int(wanted)
        holding = [c.name for c in house.circuits if slot in c.slots]
        if len(holding) == 1:
            return holding[0]
    exact = [c.name for c in house.circuits if c.name.casefold() == wanted]
    near = [c.name for c in house.circuits if c.name.casefold().startswith(wanted)]
    if len(exact or near) == 1:
        return (exact or near)[0]
    return house.circuit(text).name
