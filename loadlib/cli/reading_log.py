"""A clamp log from file to store, a stretch at a time, and what its steps show at once."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from loadlib.cli.reading_places import place_in, volts_by_name
from loadlib.errors import DataError, InputError, NotFound

if TYPE_CHECKING:
    from loadlib.core.household import House
    from loadlib.core.series import ReadOptions, ReadResult, Series
    from loadlib.readers.clamp_log import ClampLogReader
    from loadlib.store.imports import ImportReport

__all__ = ["StoredPlaces", "count_times_on", "reader_for", "store_log"]


@dataclass(slots=True)
class StoredPlaces:
    """Values that were read of each place of a log, the length of their slots [s], the highest
    [W] or [VA]; ``names`` are the house's names by those of the log."""

    step_s: int = 0
    values: dict[str, int] = field(default_factory=dict)
    most_w: dict[str, float] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)

    def add(self, one: Series) -> None:
        """One more stretch of a place."""
        self.step_s = one.step_s
        there = one.mean_w[~np.isnan(one.mean_w)]
        self.values[one.place] = self.values.get(one.place, 0) + there.size
        highest_w = float(there.max(initial=0.0))
        self.most_w[one.place] = max(self.most_w.get(one.place, 0.0), highest_w)

    def name(self, read: str, home: House) -> str:
        """The house's name of a place that was read; one place is in one column only."""
        if read not in self.names:
            name = place_in(home, read)
            if name in self.names.values():
                raise InputError(f"two columns are {name}", hint="State one of them as ignore.")
            self.names[read] = name
        return self.names[read]


def reader_for(home: House) -> ClampLogReader:
    """The reader, with the volts of the house's legs and circuits."""
    from loadlib.readers.clamp_log import ClampLogReader

    supply = home.supply
    return ClampLogReader(leg_v=supply.leg_v, volts=volts_by_name(home), legs=len(supply.legs))


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
            _known(parts, home, places, str(file)),
            file_name=file.name,
            sha256=digest,
            reader="clamp_log",
            contradictions=contradictions,
        )
    return report, places


def _known(
    parts: Iterator[ReadResult], home: House, places: StoredPlaces, path: str
) -> Iterator[ReadResult]:
    """The parts as they come, by the house's names; a place that it lacks stops them.

    The last one, which has the remarks, also has one for more than a breaker carries.
    """
    for part in parts:
        named = []
        for one in part.series:
            name = places.name(one.place, home)
            named.append(replace(one, channel=name, place=name))
            places.add(named[-1])
        notes = part.notes
        if not part.series:
            notes += tuple(_above_breakers(home, places, path))
        yield replace(part, series=tuple(named), notes=notes)


def _above_breakers(home: House, places: StoredPlaces, path: str) -> Iterator[str]:
    """Remarks on more than a breaker carries, a start of a second or so left aside.

    DataError for what not even a start is.
    """
    from loadlib.clamp.mistakes import INRUSH_TIMES, OVER_BREAKER_SHARE, target_of

    for place, most_w in places.most_w.items():
        target = target_of(place, home)
        if target.breaker_a is None:
            continue
        legs = target.legs[:1] if place.startswith("leg ") else target.legs
        amps = most_w / home.supply.volts(legs)
        told = f"{place}: up to {amps:,.4g} A, behind a breaker of {target.breaker_a:g} A"
        if amps > (OVER_BREAKER_SHARE + INRUSH_TIMES) * target.breaker_a:
            hint = "Are unit (mA?), turns and place of the column right?"
            raise DataError(told, path=path, hint=hint)
        if amps > (OVER_BREAKER_SHARE + INRUSH_TIMES / places.step_s) * target.breaker_a:
            yield told + ": are unit, turns and place of the column right?"


def count_times_on(name: str, places: StoredPlaces) -> Mapping[str, int]:
    """How often something came on and went off again at each place, over all that is stored.

    Empty for logs slower than a minute.
    """
    from loadlib.clamp.cycles import pair_edges
    from loadlib.clamp.steps import LONGEST_STEP_S, find_steps
    from loadlib.cli.output import out
    from loadlib.store.samples import stored_logs

    if places.step_s > LONGEST_STEP_S:
        return {}
    found = {}
    logs = [one for one in stored_logs(name) if one.place in places.values]
    with out.progress("looking for steps") as update:
        for done, one in enumerate(logs, start=1):
            if one.values.step_s == places.step_s:
                steps = find_steps(one.values, float(places.step_s))
                found[one.place] = len(pair_edges(steps, one.values, float(places.step_s)))
            update(done / len(logs))
    return found
