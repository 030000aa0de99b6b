"""The round itself: read a line, store it at once, echo how it was read, ask if it matters.

The session knows no terminal and no database: ``Desk`` is what it needs of them, so that a
test can walk a house too.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from loadlib.core.category import Category
from loadlib.core.cautions import SURVEY
from loadlib.core.claims import LoadClaim
from loadlib.core.household import Appliance, Circuit, House
from loadlib.errors import InputError, LoadlibError, NotFound
from loadlib.walk.grammar import Entry, find_circuit, parse_entry
from loadlib.walk.reading import echo, questions

__all__ = ["HELP", "Desk", "Session", "slots_of", "status"]

HELP = (
    "One line an appliance, as you stand before it:",
    "  kitchen: refrigerator 115V 60Hz 6.5A @9",
    "  3 lamp 9W        (three of them)",
    "  sump pump 1/3HP 115V !must !2h",
    "kitchen:  go to a room     ?     how far we are",
    "survey    which breaker is what",
    "undo      take the last back  stop  for today",
)


class Desk(Protocol):
    """What the round needs of storage, catalog and estimators."""

    def house(self) -> House:
        """The house as stored."""
        ...

    def edit(self, change: Callable[[House], House], what: str) -> House:
        """Store a change at once."""
        ...

    def undo(self) -> str:
        """Take the last change back; says what it was."""
        ...

    def find(self, words: str) -> Sequence[str]:
        """Categories for the words of a person, best first; [] when nothing is near."""
        ...

    def is_exact(self, words: str) -> bool:
        """True when the words are a category's name or alias."""
        ...

    def category(self, slug: str) -> Category | None:
        """A category, or None."""
        ...

    def claims(self, appliance: Appliance) -> Sequence[LoadClaim]:
        """What the nameplate estimator says of it."""
        ...

    def add(self, house: House, appliance: Appliance) -> House:
        """The house with one appliance more, which gets an id."""
        ...


@dataclass(slots=True)
class Session:
    """One round: ``say`` prints lines, ``ask`` gets one answer (None when input ends)."""

    desk: Desk
    say: Callable[[Sequence[str]], None]
    ask: Callable[[str], str | None]
    room: str = ""

    def run(self) -> None:
        """Until ``stop`` or the end of input; everything is stored as it is said."""
        self.say(["", *status(self.desk.house()), "", "? for how far we are, help, stop"])
        while True:
            line = self.ask(f"{self.room or 'house'}> ")
            if line is None or line.strip().casefold() in ("stop", "quit", "exit"):
                self.say(["All is stored. " + _open_words(self.desk.house())])
                return
            try:
                self.take(line.strip())
            except LoadlibError as error:
                self.say(str(error).splitlines())

    def take(self, line: str) -> None:
        """One line of the round."""
        word = line.casefold()
        if not word:
            return
        if word == "?":
            self.say(status(self.desk.house()))
        elif word == "help":
            self.say(HELP)
        elif word == "undo":
            self.say([f"Taken back: {self.desk.undo()}"])
        elif word == "survey":
            self.survey()
        else:
            self.enter(parse_entry(line))

    def enter(self, entry: Entry, category: str = "") -> None:
        """Store one appliance, of ``category`` if that is known, and say how it was read."""
        if entry.room:
            self.room = entry.room
        if entry.is_room_only:
            return
        house = self.desk.house()
        circuit = find_circuit(house, entry.circuit) if entry.circuit else ""
        appliance = Appliance(
            id="",
            name=entry.words,
            category=category or self._category(entry.words),
            count=entry.count,
            room=self.room,
            label=entry.label,
            circuit=circuit,
            priority=entry.priority or ("must" if entry.medical else "wanted"),
            medical=entry.medical,
            may_be_off_s=entry.may_be_off_s,
        )
        stored = self.desk.edit(lambda h: self.desk.add(h, appliance), f"added {entry.words}")
        self._settle(stored.appliances[-1])

    def _category(self, words: str) -> str:
        found = list(self.desk.find(words))
        if not found:
            self.say([f"{words!r} is not in the catalog: kept, and guessed for now."])
            return words.casefold().replace(" ", "_")
        if self.desk.is_exact(words) or len(found) == 1:
            return found[0]
        shown = found[:4]
        keys = ", ".join(f"{i} {slug.replace('_', ' ')}" for i, slug in enumerate(shown, start=1))
        answer = self.ask(f"Which is it? {keys} [1] ")
        if answer and answer.strip().isascii() and answer.strip().isdigit():
            index = int(answer.strip())
            if 1 <= index <= len(shown):
                return shown[index - 1]
        return shown[0]

    def _settle(self, appliance: Appliance) -> None:
        """Echo, then the questions that matter, then the echo again if an answer changed it."""
        category = self.desk.category(appliance.category)
        self.say(echo(appliance, category, self.desk.claims(appliance)))
        slugs = (appliance.category, *_variants(appliance.category))
        known = {slug: found for slug in slugs if (found := self.desk.category(slug))}
        for question in questions(appliance, category, known):
            keys = "/".join(question.answers)
            answer = (self.ask(f"{question.text} [{keys}, or Enter] ") or "").strip().casefold()
            if answer not in question.answers:
                continue
            words, label, slug = question.answers[answer]
            appliance = self._answered(appliance, words, label, slug)
            category = self.desk.category(appliance.category)
            self.say(echo(appliance, category, self.desk.claims(appliance)))

    def _answered(self, old: Appliance, words: str, label: str, slug: str) -> Appliance:
        note = f"{old.note}; {words}" if old.note else words
        if label:
            note += f"; label as typed: {old.label}"
        new = replace(old, label=label or old.label, category=slug or old.category, note=note)
        self.desk.edit(
            lambda house: house.with_(
                appliances=tuple(new if a.id == old.id else a for a in house.appliances)
            ),
            f"{old.name}: {words}",
        )
        return new

    def survey(self) -> None:
        """Breaker by breaker: switch one off, walk, say what went dark."""
        self.say(["Which breaker is what. Nothing is opened: only handles are moved.", *SURVEY])
        if (self.ask("Is none of these on it, or are they cared for? [y/n] ") or "n")[
            :1
        ] not in "yY":
            self.say(["Then leave it on, and come back when they are."])
            return
        while True:
            slot = (self.ask("Slot that you switched off (Enter to end): ") or "").strip()
            if not slot:
                return
            try:
                self._survey_slot(slot)
            except LoadlibError as error:
                self.say(str(error).splitlines())

    def _survey_slot(self, text: str) -> None:
        slots = slots_of(text)
        house = self.desk.house()
        circuit = next((c for c in house.circuits if set(c.slots) & set(slots)), None)
        if circuit is None:
            circuit = _guessed_circuit(house, slots)
            new = circuit
            self.desk.edit(lambda h: h.with_(circuits=(*h.circuits, new)), f"found {new.name}")
            self.say([f"{new.name}: leg {new.legs}, guessed from the slot."])
        dark = self.ask("What went dark? Names, with commas: ") or ""
        moved = []
        for name in filter(None, (part.strip() for part in dark.split(","))):
            try:
                moved.append(self.desk.house().appliance(name))
            except NotFound as error:
                self.say([f"{error}. Enter it first; its breaker can be said then with @."])
        self._move(moved, circuit.name)

    def _move(self, moved: list[Appliance], circuit: str) -> None:
        if not moved:
            return
        ids = {appliance.id for appliance in moved}
        self.desk.edit(
            lambda house: house.with_(
                appliances=tuple(
                    replace(a, circuit=circuit) if a.id in ids else a for a in house.appliances
                )
            ),
            f"put {len(ids)} on {circuit}",
        )
        self.say([f"On {circuit}: {', '.join(appliance.name for appliance in moved)}."])
        if any(appliance.medical for appliance in moved):
            self.say(["A medical device is among them: switch it on again now."])


def slots_of(text: str) -> tuple[int, ...]:
    """Slots of a panel as written: ``11``, ``2-4``."""
    parts = text.replace("-", " ").replace(",", " ").split()
    if not all(part.isascii() and part.isdigit() and 0 < int(part) < 200 for part in parts):
        raise InputError(f"{text!r} is no slot", hint="Write 11, or 2-4 for a double one.")
    return tuple(int(part) for part in parts)


def _variants(category: str) -> tuple[str, ...]:
    from loadlib.walk.reading import WELL_PUMP

    if not category.startswith(WELL_PUMP):
        return ()
    return (f"{WELL_PUMP}_two_wire", f"{WELL_PUMP}_three_wire")


def _guessed_circuit(house: House, slots: tuple[int, ...]) -> Circuit:
    """A circuit with its leg guessed: in most panels slots 1, 2 are on one leg, 3, 4 on the
    other, and so on down (common practice, no source)."""
    legs = house.supply.legs
    guessed = sorted({legs[((slot - 1) // 2) % len(legs)] for slot in slots})
    name = "slot " + "-".join(str(slot) for slot in slots)
    return Circuit(name, slots, "".join(guessed), None, leg_guessed=True)


def status(house: House) -> list[str]:
    """Known, guessed, missing: how far the round has come."""
    labelled = [a for a in house.appliances if a.label or a.running_w]
    bare = [a for a in house.appliances if not a.label and not a.running_w]
    loose = [a for a in house.appliances if not a.circuit]
    guessed = [c for c in house.circuits if c.leg_guessed]
    lines = [f"{house.name}: {len(house.appliances)} appliances, {len(house.circuits)} circuits"]
    for words, items in (
        ("known, by label", labelled),
        ("guessed, by kind only", bare),
        ("missing: circuit of", loose),
        ("missing: leg of", guessed),
    ):
        if items:
            lines.append(f"  {words}: {_names([item.name for item in items])}")
    return lines


def _names(names: list[str]) -> str:
    return ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")


def _open_words(house: House) -> str:
    loose = sum(1 for a in house.appliances if not a.circuit)
    return f"{loose} still without a circuit." if loose else "Every appliance has its circuit."
