"""Reading of a usage file for the command line: options, standard input, one question."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from loadlib.core.series import BillPeriod, ReadOptions, ReadResult
from loadlib.errors import InputError, NotFound
from loadlib.readers.limits import LIMITS
from loadlib.readers.mapping import load_mapping
from loadlib.readers.unsure import Unsure

if TYPE_CHECKING:
    from loadlib.core.household import House

__all__ = ["ReadFile", "check_bill", "options_of", "read_file"]

STDIN = "-"
_CHUNK = 1 << 20


class ReadFile(NamedTuple):
    """What was read, by which reader, with which options, and the file's SHA-256."""

    result: ReadResult
    reader: str
    options: ReadOptions
    sha256: str


def options_of(
    *,
    timezone: str,
    unit: str,
    stamp: str,
    day_first: bool | None,
    channel: str,
    columns: Sequence[str],
    mapping: Path | None,
) -> ReadOptions:
    """What was said on the command line, over what a mapping file says."""
    kept = load_mapping(mapping) if mapping else ReadOptions()
    return replace(
        kept,
        timezone=timezone or kept.timezone,
        unit=_unit(unit) or kept.unit,
        stamp=stamp or kept.stamp,
        day_first=kept.day_first if day_first is None else day_first,
        channel=channel or kept.channel,
        columns=tuple((dict(kept.columns) | dict(map(_column, columns))).items()),
    )


_UNITS = ("kWh", "Wh", "kW", "W", "°C", "°F", "C", "F")


def _unit(said: str) -> str:
    """A unit as it is spelt, whatever the capitals; empty stays empty."""
    known = {one.casefold(): one for one in _UNITS}
    if said and said.casefold() not in known:
        raise NotFound("unit", said, near=_UNITS[:6])
    return known.get(said.casefold(), "")


def check_bill(period: BillPeriod, house: House) -> None:
    """InputError for a bill that is none, or that the house's service could not carry."""
    said = f"{period.first_day} to {period.day_after}, {period.energy_wh / 1000.0:g} kWh"
    if period.duration_s <= 0 or period.energy_wh < 0:
        raise InputError(
            f"{said} is no bill",
            hint="The second day comes after the first; energy is not negative.",
        )
    service_a = house.service_a or _MOST_SERVICE_A
    most_w = service_a * house.supply.leg_v * len(house.supply.legs)
    mean_w = period.energy_wh / (period.duration_s / 3600.0)
    if mean_w > most_w:
        raise InputError(
            f"{said}: a mean of {mean_w / 1000.0:,.0f} kW, and a service of {service_a:g} A "
            f"carries {most_w / 1000.0:,.0f} kW",
            hint="Is it Wh, a meter's stand, or money? Write the unit, e.g. 900000Wh.",
        )


_MOST_SERVICE_A = 400.0
"""Main breaker of a large house, where the house does not say. [A] Common practice, no source."""


def _column(said: str) -> tuple[str, str]:
    meaning, sign, heading = said.partition("=")
    if not (sign and meaning.strip() and heading.strip()):
        raise InputError(f"column {said!r}", hint='Write MEANING=HEADING, e.g. "import=Qty".')
    return meaning.strip(), heading.strip()


def read_file(file: Path, options: ReadOptions, reader: str) -> ReadFile:
    """Read a file, or standard input for ``-``; asks for one missing word where a person sits.

    Raises
    ------
    Unsure
        when nobody is there to ask, or the answer is none of the choices.
    """
    import hashlib

    with _on_disk(file) as place:
        try:
            result, used = _read(place, options, reader)
        except Unsure as unsure:
            answer = _asked(unsure)
            if answer is None:
                raise
            options = replace(options, **answer)
            result, used = _read(place, options, reader)
        with place.open("rb") as opened:
            digest = hashlib.file_digest(opened, "sha256").hexdigest()
    return ReadFile(result, used, options, digest)


def _read(place: Path, options: ReadOptions, reader: str) -> tuple[ReadResult, str]:
    from loadlib.cli.output import out
    from loadlib.host import Host
    from loadlib.readers import read_usage

    readers = [found for _, found in Host.load().readers()]
    with out.progress(f"reading {place.name}") as update:
        return read_usage(place, options, reader=reader or None, readers=readers, progress=update)


@contextmanager
def _on_disk(file: Path) -> Iterator[Path]:
    """The file itself; standard input is written to a file first, since readers go twice."""
    if str(file) != STDIN:
        yield file
        return
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "stdin"
        size = 0
        with place.open("wb") as copy:
            while chunk := sys.stdin.buffer.read(_CHUNK):
                size += len(chunk)
                if size > LIMITS.bytes:
                    raise InputError(f"standard input goes on beyond {LIMITS.bytes} bytes")
                copy.write(chunk)
        yield place


# -- one question

_QUESTIONS = {
    "unit": "Unit",
    "timezone": "Time zone, e.g. America/New_York",
    "day_first": "Which stands first",
}


def _asked(unsure: Unsure) -> dict[str, Any] | None:
    """The answer as an option, or None without a person at a terminal, or without an answer."""
    if not (sys.stdin.isatty() and sys.stderr.isatty()) or unsure.option not in _QUESTIONS:
        return None
    choices = f" ({', '.join(unsure.choices)})" if unsure.choices else ""
    print(unsure.message, file=sys.stderr)
    print(f"{_QUESTIONS[unsure.option]}{choices}: ", end="", file=sys.stderr, flush=True)
    answer = sys.stdin.readline().strip()
    if unsure.choices:
        answer = next((one for one in unsure.choices if one.lower() == answer.lower()), "")
    if not answer:
        return None
    return {unsure.option: answer == "day" if unsure.option == "day_first" else answer}
