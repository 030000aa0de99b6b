"""Files of the command line: facts, profiles and intervals in, the page out."""

from __future__ import annotations

import os
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

from loadlib import DataError, InputError, LoadlibError, LoadProfile
from loadlib_service.compare import MeasuredFacts
from loadlib_service.demand import from_profile, maximum_demand
from loadlib_service.derive import dwelling_from_profile
from loadlib_service.facts import Facts, read_facts
from loadlib_service.intervals import series_from_csv

__all__ = ["parse_purpose", "read_source", "with_intervals", "write_page"]

MOST_BYTES = 256 * 1024 * 1024


def _text(path: Path) -> str:
    if str(path) == "-":
        return sys.stdin.read(MOST_BYTES)
    try:
        if path.stat().st_size > MOST_BYTES:
            raise DataError(f"larger than {MOST_BYTES // 2**20} MiB", path=str(path))
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise DataError("no such file", path=str(path)) from None
    except (OSError, UnicodeDecodeError) as error:
        raise DataError(f"can't be read: {error}", path=str(path)) from None


def read_source(path: Path, *, record_days: float = 0.0, route: str = "year") -> Facts:
    """Facts from a facts file, or from a profile document (it begins with ``{``)."""
    text = _text(path)
    if not text.lstrip().startswith("{"):
        return read_facts(text, path=str(path))
    profile = LoadProfile.from_json(text)
    record = None
    if record_days > 0.0:
        demand = from_profile(profile, record_days=record_days)
        record = MeasuredFacts(demand=demand, route=route)
    return Facts(dwelling_from_profile(profile), record=record)


def with_intervals(facts: Facts, path: Path, *, route: str) -> Facts:
    """The facts with the maximum demand of an interval file as their record.

    What the ``[measured]`` table says of the record (occupied, power factor …) is kept.
    """
    demand = maximum_demand(series_from_csv(_text(path), path=str(path)))
    known = facts.record or MeasuredFacts(demand=demand)
    if facts.record and facts.record.demand.instrument:
        demand = replace(demand, instrument=facts.record.demand.instrument)
    return replace(facts, record=replace(known, demand=demand, route=route))


def parse_purpose(text: str) -> tuple[str, tuple[float, ...]]:
    """``cooking=30,12`` as purpose and currents."""
    purpose, _, amounts = text.partition("=")
    try:
        return purpose.strip(), tuple(float(a) for a in amounts.split(","))
    except ValueError:
        raise InputError(
            f"{text!r} is not PURPOSE=A,A,...", hint="For example cooking=30 lighting=8."
        ) from None


def write_page(path: Path, html: str) -> None:
    """Write the page whole or not at all; ``-`` is stdout."""
    if str(path) == "-":
        sys.stdout.write(html)
        return
    partial = ""
    try:
        with tempfile.NamedTemporaryFile(
            "w", dir=path.parent, delete=False, encoding="utf-8"
        ) as file:
            partial = file.name
            file.write(html)
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(partial, 0o666 & ~mask)
        os.replace(partial, path)
    except OSError as error:
        if partial and os.path.exists(partial):
            os.unlink(partial)
        raise LoadlibError(
            f"{path}: can't be written: {error.strerror or error}",
            hint="Choose another folder or free some space.",
        ) from None
