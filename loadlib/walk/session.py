"""The round itself: read a line, store it at once, echo how it was read, ask if it matters.

The session knows no terminal and no database: ``Desk`` is what it needs of them, so that a
test can walk a house too.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol

from loadlib.core.category import Category
from loadlib.core.claims import LoadClaim
from loadlib.core.household import Appliance, House
from loadlib.errors import LoadlibError
from loadlib.walk.doubt import worst_doubt
from loadlib.walk.grammar import Entry, find_circuit, parse_entry
from loadlib.walk.reading import Answer, Question, Reading, echo, questions, variants
from loadlib.walk.status import status
from loadlib.walk.survey import survey

if TYPE_CHECKING:
    from loadlib import RatingLabel

__all__ = ["HELP", "Desk", "Session", "readings_of"]

HELP = (
    "One line an appliance, as you stand before it:",
    "  kitchen: refrigerator 115V 60Hz 6.5A @9",
    "  3 lamp 9W        (three of them)",
    "  sump pump 1/3HP 115V !must !2h",
    "kitchen:  go to a room     ?     how far we are",
    "ask       the open questions, one key each",
    "doubt     what is least sure, in one line",
    "survey    which breaker is what",
    "undo      take the last back  stop  for today",
)


class Desk(Protocol):
    """What the round needs of storage, catalog, label reader and estimators."""

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

    def label(self, text: str) -> RatingLabel | None:
        """The label as read, None where there is no text."""
        ...

    def check_label(self, name: str, text: str) -> None:
        """InputError where the text is impossible or a source, breaker or service."""
        ...

    def words(self, label: RatingLabel) -> Sequence[str]:
        """A label in plain sentences."""
        ...

    def claims(self, appliance: Appliance) -> Sequence[LoadClaim]:
        """What the nameplate estimator says of it."""
        ...

    def add(self, house: House, appliance: Appliance) -> House:
        """The house with one appliance more, which gets an id."""
        ...


def reading_of(desk: Desk, appliance: Appliance) -> Reading:
    """All that is known of one appliance."""
    label = desk.label(appliance.label)
    return Reading(
        appliance=appliance,
        category=desk.category(appliance.category),
        label=label,
        words=desk.words(label) if label is not None else (),
        claims=desk.claims(appliance),
        supply=desk.house().supply,
    )


def readings_of(desk: Desk) -> list[tuple[Reading, list[Question]]]:
    """Every appliance as read, with the questions that are still open about it."""
    read = [reading_of(desk, appliance) for appliance in desk.house().appliances]
    return [(reading, _questions(desk, reading)) for reading in read]


def _questions(desk: Desk, reading: Reading) -> list[Question]:
    slugs = variants(reading.appliance.category)
    known = {slug: found for slug in slugs if (found := desk.category(slug))}
    return questions(reading, known)


@dataclass(slots=True)
class Session:
    """One round: ``say`` prints lines, ``ask`` gets one answer (None when input ends)."""

    desk: Desk
    say: Callable[[Sequence[str]], None]
    ask: Callable[[str], str | None]
    room: str = ""

    def run(self) -> None:
        """Until ``stop`` or the end of input; everything is stored as it is said."""
        self.say(["", *status(self.desk.house()), *self._open(), "", "? for how far we are, help"])
        while True:
            line = self.ask(f"{self.room or 'house'}> ")
            if line is None or line.strip().casefold() in ("stop", "quit", "exit"):
                self.say([f"All is stored. {_open_words(self.desk.house())}", *self._open()])
                return
            try:
                self.take(line.strip())
            except LoadlibError as error:
                self.say(str(error).splitlines())

    def take(self, line: str) -> None:
        """One line of the round."""
        word = line.casefold().rstrip("?! ")
        if not line:
            return
        if line == "?":
            self.say([*status(self.desk.house()), *self._open()])
        elif word == "help":
            self.say(HELP)
        elif word == "undo":
            self.say([f"Taken back: {self.desk.undo()}"])
        elif word == "survey":
            survey(self.desk, self.say, self.ask)
        elif word == "ask":
            self.ask_open()
        elif word in ("doubt", "what is my worst doubt", "worst doubt"):
            self.say(worst_doubt(readings_of(self.desk)))
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
        self.desk.check_label(entry.words, entry.label)
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

    def ask_open(self) -> None:
        """The questions that are still open, one after the other."""
        waiting = [(reading, found) for reading, found in readings_of(self.desk) if found]
        if not waiting:
            self.say(["No question is open."])
        for reading, found in waiting:
            self._put(reading.appliance, found)

    def _open(self) -> list[str]:
        """The open questions in words, three at most."""
        waiting = [question.text for _, found in readings_of(self.desk) for question in found]
        if not waiting:
            return []
        more = f" (and {len(waiting) - 3} more)" if len(waiting) > 3 else ""
        return [
            f"Open questions, for the word ask{more}:",
            *(f"  {text}" for text in waiting[:3]),
        ]

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
        """Echo, then the questions that matter."""
        reading = reading_of(self.desk, appliance)
        self.say(echo(reading))
        self._put(appliance, _questions(self.desk, reading))

    def _put(self, appliance: Appliance, found: Sequence[Question]) -> None:
        """Ask; the echo comes again where an answer changed it."""
        for question in found:
            keys = "/".join(question.answers)
            said = (self.ask(f"{question.text} [{keys}, Enter: later] ") or "").strip().casefold()
            if said not in question.answers:
                continue
            answer = question.answers[said]
            changed = (
                self._retyped(appliance) if answer.retype else self._answered(appliance, answer)
            )
            if changed is None:
                continue
            is_read_anew = (changed.label, changed.category) != (
                appliance.label,
                appliance.category,
            )
            appliance = changed
            self.say(echo(reading_of(self.desk, appliance)) if is_read_anew else ["Noted."])

    def _retyped(self, old: Appliance) -> Appliance | None:
        """The label once more; Enter keeps it and leaves the question open."""
        text = (self.ask("The label once more (Enter keeps it): ") or "").strip()
        if not text:
            return None
        self.desk.check_label(old.name, text)
        return self._keep(
            replace(old, label=text, note=_noted(old.note, f"label was: {old.label}")), "label"
        )

    def _answered(self, old: Appliance, answer: Answer) -> Appliance:
        note = _noted(old.note, answer.words)
        if answer.label:
            note += f"; label as typed: {old.label}"
        label, category = answer.label or old.label, answer.category or old.category
        return self._keep(replace(old, label=label, category=category, note=note), answer.words)

    def _keep(self, new: Appliance, what: str) -> Appliance:
        self.desk.edit(
            lambda house: house.with_(
                appliances=tuple(new if a.id == new.id else a for a in house.appliances)
            ),
            f"{new.name}: {what}",
        )
        return new


def _noted(note: str, words: str) -> str:
    return f"{note}; {words}" if note else words


def _open_words(house: House) -> str:
    loose = sum(1 for a in house.appliances if not a.circuit)
    return f"{loose} still without a circuit." if loose else "Every appliance has its circuit."
