"""Year, month, day, hour and minute in columns of their own, joined as the text is read."""

from __future__ import annotations

import csv
import io
import re
from typing import Final, NamedTuple

from loadlib.readers.delimited.dates import MONTHS

__all__ = ["DateParts", "find_parts", "join_parts"]

_LOOK: Final = 400
_DELIMITERS: Final = ",;\t|"
_NAMES: Final = {
    "year": ("year", "yr", "jahr", "année", "annee", "año", "anno"),
    "month": ("month", "mon", "monat", "mois", "mes", "mese"),
    "day": ("day", "day of month", "dy", "tag", "jour", "día", "dia", "giorno"),
    "hour": ("hour", "hr", "stunde", "heure", "hora", "ora"),
    "minute": ("minute", "min", "minuto"),
}
_YEARLY: Final = re.compile("|".join(_NAMES["year"]), re.I)
#: A heading like these holds the whole date; year and month beside it are for sorting.
_WHOLE: Final = re.compile(r"date|stamp|datum|fecha|start|begin|from|\bend")
_YEAR: Final = re.compile(r"19[89]\d|20\d\d")


class DateParts(NamedTuple):
    """Which columns hold the parts of a date, -1 where there is none, below which heading."""

    heading: int
    delimiter: str
    year: int
    month: int
    day: int
    hour: int
    minute: int


def find_parts(text: str) -> DateParts | None:
    """The columns of year and month, at least, under a heading that names them."""
    for number, line in enumerate(text.split("\n", _LOOK)[:_LOOK]):
        if not _YEARLY.search(line):
            continue
        for delimiter in _DELIMITERS:
            names = [cell.strip(' "').lower() for cell in line.split(delimiter)]
            where = {part: _index(names, known) for part, known in _NAMES.items()}
            if min(where["year"], where["month"]) >= 0 and not any(map(_WHOLE.search, names)):
                return DateParts(number, delimiter, **where)
    return None


def _index(names: list[str], known: tuple[str, ...]) -> int:
    return next((index for index, name in enumerate(names) if name in known), -1)


def join_parts(text: str, parts: DateParts, *, heading: bool) -> str:
    """The same text, line by line, with the date (2024-01-31 or 2024-01) in the first column.

    Minutes join the hour in a second column; hours alone stay a column of their own, since
    they may count from one. ``heading`` says that the heading is still to come.
    """
    above = ""
    if heading:
        lines = text.split("\n", parts.heading)
        above, text = "".join(f"{line}\n" for line in lines[:-1]), lines[-1]
    out = io.StringIO()
    writer = csv.writer(out, delimiter=parts.delimiter, lineterminator="\n")
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=parts.delimiter):
            writer.writerow(_joined(row, parts))
    except csv.Error:
        return above + text  # whoever reads the rows names the line
    return above + out.getvalue()


def _joined(row: list[str], parts: DateParts) -> list[str]:
    """A row with its date in front, as it was where it holds none."""
    cells = [cell.strip() for cell in row]
    if len(cells) <= max(parts[2:]):
        return row
    if cells[parts.year].lower() in _NAMES["year"]:
        front = ["date" if parts.day >= 0 else "month", *["time"] * (parts.minute >= 0)]
    elif (date := _date(cells, parts)) is not None:
        front = [date, *_clock(cells, parts)]
    else:
        return row
    gone = {parts.year, parts.month, parts.day}
    if parts.minute >= 0:
        gone |= {parts.hour, parts.minute}
    return [*front, *(cell for index, cell in enumerate(row) if index not in gone)]


def _date(cells: list[str], parts: DateParts) -> str | None:
    year, month = cells[parts.year], cells[parts.month].lower()
    number = MONTHS.get(month[:3]) or (int(month) if month.isdecimal() else 0)
    if not _YEAR.fullmatch(year) or not 1 <= number <= 12:
        return None
    if parts.day < 0:
        return f"{year}-{number:02d}"
    day = cells[parts.day]
    return f"{year}-{number:02d}-{int(day):02d}" if day.isdecimal() else None


def _clock(cells: list[str], parts: DateParts) -> list[str]:
    if parts.minute < 0:
        return []
    hour = cells[parts.hour] if parts.hour >= 0 else "0"
    return [f"{hour}:{cells[parts.minute]:0>2}"]
