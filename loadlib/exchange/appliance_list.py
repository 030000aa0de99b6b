"""An appliance list as CSV: a heading line, one row a kind of appliance.

Headings, in any order: name (required), category, count, room, label, circuit, priority,
medical, may_be_off_h, if_off, note. A row that can't be taken refuses the whole list, with
its line.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping, Sequence

from loadlib.core.household import Appliance, Circuit
from loadlib.errors import DataError, LoadlibError

__all__ = ["COLUMNS", "appliances_from_csv"]

COLUMNS = (
    *("name", "category", "count", "room", "label", "circuit", "priority"),
    *("medical", "may_be_off_h", "if_off", "note"),
)
YES = frozenset({"1", "yes", "y", "true", "x"})
NO = frozenset({"", "0", "no", "n", "false"})
MOST_ROWS = 10_000


def appliances_from_csv(
    text: str,
    *,
    path: str,
    find: Callable[[str], Sequence[str]],
    circuits: Sequence[Circuit] = (),
    check_label: Callable[[str, str], None] | None = None,
) -> list[Appliance]:
    """Read the list; ``find`` gives categories for words, best first.

    ``check_label`` gets name and label of each row and raises where that can be no load.

    Raises DataError with the line: a heading or value that is not known, or no category
    near the words.
    """
    try:
        dialect = csv.Sniffer().sniff(text.split("\n", 1)[0], delimiters=",;\t")
    except csv.Error:
        dialect = csv.excel
    reader = csv.DictReader(io.StringIO(text.removeprefix("\ufeff")), dialect=dialect)
    headings = [(heading or "").strip().casefold() for heading in reader.fieldnames or ()]
    unknown = [heading for heading in headings if heading not in COLUMNS]
    if unknown or "name" not in headings:
        raise DataError(
            f"heading {unknown[0]!r} is not known" if unknown else "no column is headed name",
            path=path,
            line=1,
            hint="Headings: " + ", ".join(COLUMNS),
        )
    reader.fieldnames = headings
    names = {circuit.name.casefold(): circuit.name for circuit in circuits}
    found: list[Appliance] = []
    for row in reader:
        if len(found) >= MOST_ROWS:
            raise DataError(f"more than {MOST_ROWS} rows", path=path)
        try:
            appliance = _appliance(row, find, names)
            if check_label is not None:
                check_label(appliance.name, appliance.label)
            found.append(appliance)
        except (LoadlibError, ValueError) as error:
            hint = error.hint if isinstance(error, LoadlibError) else None
            words = error.message if isinstance(error, LoadlibError) else str(error)
            raise DataError(words, path=path, line=reader.line_num, hint=hint) from None
    return found


def _appliance(
    row: Mapping[str | None, str | None],
    find: Callable[[str], Sequence[str]],
    circuits: Mapping[str, str],
) -> Appliance:
    if None in row:
        raise ValueError("more cells than headings")
    cell = {str(key): (value or "").strip() for key, value in row.items()}
    if not cell["name"]:
        raise ValueError("the row has no name")
    circuit = cell.get("circuit", "")
    if circuit and circuit.casefold() not in circuits:
        raise ValueError(f"no circuit {circuit!r} in this house")
    hours = cell.get("may_be_off_h", "")
    return Appliance(
        id="",
        name=cell["name"],
        category=_category(cell.get("category") or cell["name"], find),
        count=_whole(cell.get("count") or "1"),
        room=cell.get("room", ""),
        label=cell.get("label", ""),
        circuit=circuits.get(circuit.casefold(), ""),
        priority=cell.get("priority") or "wanted",
        medical=_yes(cell.get("medical", "")),
        may_be_off_s=_hours_s(hours) if hours else None,
        if_off=cell.get("if_off", ""),
        note=cell.get("note", ""),
    )


def _category(words: str, find: Callable[[str], Sequence[str]]) -> str:
    found = find(words)
    if not found:
        raise ValueError(f"nothing in the catalog is near {words!r}")
    return found[0]


def _whole(text: str) -> int:
    if not (text.isascii() and text.isdigit()):
        raise ValueError(f"count {text!r} is not a whole number")
    return int(text)


def _yes(text: str) -> bool:
    word = text.casefold()
    if word not in YES | NO:
        raise ValueError(f"medical {text!r}: write yes or no")
    return word in YES


def _hours_s(text: str) -> float:
    try:
        return float(text.replace(",", ".")) * 3600.0
    except ValueError:
        raise ValueError(f"may_be_off_h {text!r} is not a number of hours") from None
