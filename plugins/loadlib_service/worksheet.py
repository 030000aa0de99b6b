"""The worksheet: lines with quantity, rule, section, VA and running subtotal; legs; doubts."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from loadlib_service.supply import Supply
from loadlib_service.tables import Value, constant, section

__all__ = ["AUTHORITY", "LegLine", "Line", "Piece", "Sheet", "Worksheet"]

AUTHORITY = (
    "This worksheet is arithmetic from the facts given. All results are estimates; the "
    "authority having jurisdiction, the permit and the licensed electrician decide.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line. ``counted`` lines enter ``subtotal_va``; the others show how one came about."""

    key: str
    text: str
    quantity: str
    rule: str
    section: str
    va: float
    counted: bool
    subtotal_va: float
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Piece:
    """Part of a counted line as it lies on the supply.

    ``neutral`` is true for load connected line to neutral. ``legs`` is empty while the leg is
    not known (then balanced); otherwise ``amps`` flow in each of them. ``motor_extra`` marks
    the addition for the largest motor, which the leg sheet works out anew for each leg.
    """

    va: float
    neutral: bool = False
    text: str = ""
    legs: str = ""
    amps: float = 0.0
    motor_extra: bool = False


@dataclass(frozen=True, slots=True)
class LegLine:
    """Amperes of one entry in each leg and in the neutral. [A]"""

    text: str
    legs_a: tuple[float, ...]
    neutral_a: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Worksheet:
    """A finished calculation by one method in one edition.

    ``legs_a`` are amperes in each ungrounded conductor, ``line_a`` the largest of them.
    ``next_rating_a`` is the next standard rating, ``service_rating_a`` not below the least
    of a one-family service. ``neutral_lines`` end in ``neutral_va``; ``neutral_a`` is None
    where the neutral was not worked out. ``results`` are further named numbers by key.
    """

    method: str
    title: str
    edition: str
    section: str
    supply: Supply
    name: str
    lines: tuple[Line, ...]
    total_va: float
    legs_a: tuple[tuple[str, float], ...]
    leg_lines: tuple[LegLine, ...]
    line_a: float
    next_rating_a: float
    service_rating_a: float
    neutral_lines: tuple[Line, ...]
    neutral_va: float | None
    neutral_a: float | None
    choices: tuple[str, ...]
    doubts: tuple[str, ...]
    cautions: tuple[str, ...] = AUTHORITY
    results: tuple[tuple[str, float], ...] = ()
    facts: tuple[tuple[str, str], ...] = ()

    def line(self, key: str) -> Line:
        """The line with that key; KeyError when the worksheet has none."""
        for line in (*self.lines, *self.neutral_lines):
            if line.key == key:
                return line
        raise KeyError(key)

    def va(self, key: str) -> float:
        """Volt-amperes of the line with that key. [VA]"""
        return self.line(key).va

    def result(self, key: str) -> float:
        """The named number; KeyError when there is none."""
        return dict(self.results)[key]


@dataclass(slots=True)
class Sheet:
    """A worksheet being written: adds up, and remembers every value that was used."""

    edition: str
    lines: list[Line] = field(default_factory=list)
    pieces: list[Piece] = field(default_factory=list)
    choices: list[str] = field(default_factory=list)
    subtotal_va: float = 0.0
    carried: dict[str, None] = field(default_factory=dict)
    memory: dict[str, None] = field(default_factory=dict)
    unseen: dict[str, None] = field(default_factory=dict)
    _pending: list[Value] = field(default_factory=list)

    def const(self, key: str) -> float:
        """Amount of a table constant; its standing is noted on the next line."""
        value = constant(key, self.edition)
        self._pending.append(value)
        return value.amount

    def used(self, values: Iterable[Value]) -> None:
        """Note further table values on the next line."""
        self._pending.extend(values)

    def _line(
        self, key: str, text: str, quantity: str, rule: str, topic: str, va: float, counted: bool
    ) -> None:
        found = section(topic, self.edition)
        if not found.seen:
            self.unseen[found.number] = None
        marks = [m for v in self._pending if (m := v.mark(self.edition))]
        doubts = tuple(dict.fromkeys(m for m in marks if "from memory" in m))
        self.memory.update(dict.fromkeys(doubts))
        self.carried.update(
            (v.where, None) for v in self._pending if "taken as unchanged" in v.mark(self.edition)
        )
        self._pending.clear()
        if counted:
            self.subtotal_va += va
        self.lines.append(
            Line(
                key=key,
                text=text,
                quantity=quantity,
                rule=rule,
                section=found.number,
                va=va,
                counted=counted,
                subtotal_va=self.subtotal_va,
                doubts=doubts,
            )
        )

    def show(self, key: str, text: str, quantity: str, rule: str, topic: str, va: float) -> None:
        """A line that leads to a later one and does not enter the subtotal."""
        self._line(key, text, quantity, rule, topic, va, counted=False)

    def count(
        self,
        key: str,
        text: str,
        quantity: str,
        rule: str,
        topic: str,
        va: float,
        pieces: Iterable[Piece] | None = None,
    ) -> None:
        """A line that enters the subtotal; without ``pieces`` it is line-to-line load."""
        self._line(key, text, quantity, rule, topic, va, counted=True)
        self.pieces.extend([Piece(va)] if pieces is None else pieces)

    def choose(self, text: str) -> None:
        """State a choice that the reader must know of."""
        if text not in self.choices:
            self.choices.append(text)

    def doubts(self) -> tuple[str, ...]:
        """Values from memory, values carried over from another edition, unseen sections."""
        told = list(self.memory)
        if self.carried:
            told.append(
                f"Seen in the text of another edition and taken as unchanged in {self.edition}: "
                + "; ".join(self.carried)
                + "."
            )
        if self.unseen:
            told.append(
                f"Section numbers of {self.edition} not seen in its text: "
                + "; ".join(self.unseen)
                + "."
            )
        return tuple(told)


def balanced_a(pieces: Iterable[Piece], supply: Supply) -> float:
    """Amperes in each leg of the pieces whose leg is not known. [A]"""
    loose = [p for p in pieces if not p.legs]
    to_neutral = sum(p.va for p in loose if p.neutral)
    return supply.amps(to_neutral, sum(p.va for p in loose) - to_neutral)
