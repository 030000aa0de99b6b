"""A clamp log from file to store, a stretch at a time, and what its steps show at once."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from loadlib.errors import InputError, NotFound

if TYPE_CHECKING:
    from loadlib.core.household import House
    from loadlib.core.series import ReadOptions, ReadResult, Series
    from loadlib.readers.clamp_log import ClampLogReader
    from loadlib.store.imports import ImportReport

__all__ = ["StoredPlaces", "count_times_on", "reader_for", "store_log"]

LONGEST_STEP_S = 60
"""Slower logs show means of several times on, not their steps. [s]"""


@dataclass(slots=True)
class StoredPlaces:
    """Slots of each place of a log, from its first to its last value, and their length. [s]"""

    step_s: int = 0
    slots: dict[str, int] = field(default_factory=dict)
    starts_s: dict[str, int] = field(default_factory=dict)

    def add(self, one: Series) -> None:
        """One more stretch of a place."""
        self.step_s = one.step_s
        start_s = self.starts_s.setdefault(one.place, one.start_s)
        self.slots[one.place] = (one.start_s - start_s) // one.step_s + one.mean_w.size


def reader_for(home: House) -> ClampLogReader:
    """The reader, with the volts of the house's legs and circuits."""
    from loadlib.readers.clamp_log import ClampLogReader

    supply = home.supply
    volts = {f"circuit {c.name}": supply.volts(supply.legs_of(c.legs)) for c in home.circuits}
    return ClampLogReader(leg_v=supply.leg_v, volts=volts)


def store_log(
    name: str, home: House, file: Path, options: ReadOptions, contradictions: str
) -> tuple[ImportReport, StoredPlaces]:
    """Read a log and store it, all or nothing; shows a bar.

    Raises
    ------
    DataError
        see ``ClampLogReader`` and ``store_parts``.
    NotFound, InputError
        no such file, circuit or appliance; nothing is stored then.
    """
    from loadlib.cli.output import out
    from loadlib.store.imports import store_parts

    if file.is_dir():
        raise InputError(f"{file} is a folder", hint="Name the log in it.")
    if not file.is_file():
        raise NotFound("file", str(file))
    with file.open("rb") as opened:
        digest = hashlib.file_digest(opened, "sha256").hexdigest()
    places = StoredPlaces()
    with out.progress(f"reading {file.name}") as update:
        parts = reader_for(home).with_progress(update).read_parts(file, options)
        report = store_parts(
            name,
            _known(parts, home, places),
            file_name=file.name,
            sha256=digest,
            reader="clamp_log",
            contradictions=contradictions,
        )
    return report, places


def _known(parts: Iterator[ReadResult], home: House, places: StoredPlaces) -> Iterator[ReadResult]:
    """The parts as they come; a circuit or appliance that the house lacks stops them."""
    for part in parts:
        for one in part.series:
            if one.place not in places.slots:
                _refuse_unknown(one.place, home)
            places.add(one)
        yield part


def _refuse_unknown(place: str, home: House) -> None:
    circuits = tuple(c.name for c in home.circuits)
    kind, _, name = place.partition(" ")
    if kind == "circuit" and name.casefold() not in {c.casefold() for c in circuits}:
        raise NotFound(
            "circuit",
            name,
            near=circuits[:6],
            hint=f'Name the place of the column: --column "circuit NAME={name}".',
        )
    if kind == "appliance":
        home.appliance(name)


def count_times_on(name: str, places: StoredPlaces) -> Mapping[str, int]:
    """How often something came on and went off again at each place, over all that is stored.

    Empty for logs slower than a minute.
    """
    from loadlib.clamp.cycles import pair_edges
    from loadlib.clamp.steps import find_steps
    from loadlib.cli.output import out
    from loadlib.store.samples import stored_logs

    if places.step_s > LONGEST_STEP_S:
        return {}
    found = {}
    logs = [one for one in stored_logs(name) if one.place in places.slots]
    with out.progress("looking for steps") as update:
        for done, one in enumerate(logs, start=1):
            if one.values.step_s == places.step_s:
                steps = find_steps(one.values, float(places.step_s))
                found[one.place] = len(pair_edges(steps, one.values, float(places.step_s)))
            update(done / len(logs))
    return found
