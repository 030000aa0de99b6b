"""Values of the code tables, read from ``seed_data/service_*.csv``, each with its source."""

from __future__ import annotations

import csv
import functools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from loadlib import InputError, seed_root

__all__ = [
    "EDITIONS",
    "Section",
    "Value",
    "check_edition",
    "constant",
    "count_row",
    "has_constant",
    "percent",
    "row_value",
    "rows",
    "section",
    "standard_ratings_a",
]

EDITIONS = ("2017", "2020", "2023")
"""Editions of NFPA 70 (NEC) that the methods know."""

_REFUSED = {
    "2026": "the 2026 edition moves Article 220 to Article 120, lowers the unit load and changes "
    "tables; published summaries of its first tier contradict each other, so it is not encoded",
}


def check_edition(text: str | int | None) -> str:
    """The edition as text, or InputError with what is there; the choice is never defaulted."""
    edition = "" if text is None else str(text).strip()
    if edition in EDITIONS:
        return edition
    there = "Choose one of: " + ", ".join(EDITIONS) + " (ask which one your jurisdiction uses)."
    if not edition:
        raise InputError("no edition of the code was given", hint=there)
    reason = _REFUSED.get(edition, "it is not one of the editions held here")
    raise InputError(f"edition {edition} can't be used: {reason}", hint=there)


def percent(share: float) -> str:
    """A share as people write it: ``0.35`` as ``35 %``."""
    return f"{100.0 * share:g} %"


@functools.cache
def rows(name: str) -> tuple[Mapping[str, str], ...]:
    """Rows of ``seed_data/service_<name>.csv``."""
    text = (seed_root() / f"service_{name}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


@dataclass(frozen=True, slots=True)
class Value:
    """One number of a table and how it was obtained.

    ``read_in`` names the editions in whose text (or a quotation of it) it was seen.
    """

    amount: float
    where: str
    obtained: str
    read_in: tuple[str, ...]

    def mark(self, edition: str) -> str:
        """What a reader must know about this value in ``edition``; empty when seen there."""
        if self.obtained == "from_memory" or not self.read_in:
            return f"{self.where}: value from memory, not seen in a text"
        if edition not in self.read_in:
            return (
                f"{self.where}: value seen in the {', '.join(self.read_in)} text, taken as "
                f"unchanged in {edition}"
            )
        return ""


@dataclass(frozen=True, slots=True)
class Section:
    """A section number in one edition; ``seen`` is false when the number is from memory."""

    number: str
    words: str
    seen: bool


@functools.cache
def _constants() -> Mapping[str, Mapping[str, str]]:
    return {row["key"]: row for row in rows("constants")}


@functools.cache
def _sections() -> Mapping[str, Mapping[str, str]]:
    return {row["key"]: row for row in rows("sections")}


def has_constant(key: str, edition: str) -> bool:
    """Whether ``edition`` has that value at all (some came in later)."""
    return bool(_constants()[key][f"nec_{edition}"])


def constant(key: str, edition: str) -> Value:
    """The value ``key`` in ``edition``; ``has_constant`` says whether it is there."""
    row = _constants()[key]
    where = f"{row['words']} ({section(row['section_key'], edition).number})"
    return Value(
        float(row[f"nec_{edition}"]), where, row["obtained"], tuple(row["read_in"].split())
    )


def section(key: str, edition: str) -> Section:
    """Section number of the rule ``key`` in ``edition``."""
    row = _sections()[key]
    seen = row["obtained"] != "from_memory" and edition in row["read_in"].split()
    return Section(row[f"nec_{edition}"], row["words"], seen)


def count_row(name: str, count: int) -> Mapping[str, str]:
    """The row of a table by number of appliances or units that covers ``count``."""
    for row in rows(name):
        if int(row["from_count"]) <= count and (
            not row["to_count"] or count <= int(row["to_count"])
        ):
            return row
    raise InputError(f"table {name}: no row for a count of {count}")


def row_value(row: Mapping[str, str], amount: float) -> Value:
    """``amount``, worked out of ``row``, with the row's standing."""
    return Value(
        amount,
        f"{row['table']}, row {row['row']}",
        row["obtained"],
        tuple(row.get("read_in", "").split()),
    )


def _ratings() -> Iterator[float]:
    return (float(row["rating_a"]) for row in rows("ratings"))


@functools.cache
def standard_ratings_a() -> tuple[float, ...]:
    """Standard ampere ratings, 240.6(A), rising. [A]"""
    return tuple(sorted(_ratings()))
