"""A file's layout as a person stated it, kept as TOML for next month's file.

version = 1
timezone = "America/New_York"
unit = "kWh"
stamp = "start"

[columns]
time = "Read Date"
import = "Qty"
"""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Final

from loadlib.core.series import ReadOptions
from loadlib.errors import DataError, InputError, NotFound
from loadlib.readers.delimited.roles import MEANINGS
from loadlib.readers.local import zone

__all__ = ["load_mapping", "mapping_text", "save_mapping"]

_VERSION: Final = 1
_TEXTS: Final = ("timezone", "unit", "stamp", "channel")
_UNITS: Final = ("", "kWh", "Wh", "kW", "W", "°C", "°F", "C", "F")


def mapping_text(options: ReadOptions) -> str:
    """The mapping as TOML; ``load_mapping`` gives the same options back."""
    lines = [f"version = {_VERSION}"]
    lines += [f"{key} = {_quoted(value)}" for key in _TEXTS if (value := getattr(options, key))]
    if options.day_first is not None:
        lines.append(f"day_first = {str(options.day_first).lower()}")
    if options.columns:
        lines += ["", "[columns]"]
        lines += [f"{_quoted(meaning)} = {_quoted(name)}" for meaning, name in options.columns]
    return "\n".join(lines) + "\n"


def save_mapping(path: str | Path, options: ReadOptions) -> None:
    """Write the mapping whole, replacing an older one only when all is written."""
    target = Path(path)
    partial = target.with_name(target.name + ".partial")
    try:
        partial.write_text(mapping_text(options), encoding="utf-8")
        partial.replace(target)
    except OSError as broken:
        partial.unlink(missing_ok=True)
        raise DataError(broken.strerror or str(broken), path=str(target)) from None


def load_mapping(path: str | Path) -> ReadOptions:
    """Read a mapping file.

    Raises
    ------
    DataError
        naming the key that is unknown or of the wrong type.
    """
    source = Path(path)
    try:
        table = tomllib.loads(source.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise NotFound("mapping file", str(source)) from None
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as broken:
        raise DataError(str(broken), path=str(source)) from None
    try:
        return _options(table)
    except InputError as wrong:
        raise DataError(wrong.message, path=str(source), hint=wrong.hint) from None


def _options(table: dict[str, object]) -> ReadOptions:
    known = {"version", "day_first", "columns", *_TEXTS}
    for key in table:
        if key not in known:
            raise InputError(f"key {key!r}", hint="Known: " + ", ".join(sorted(known)))
    if table.get("version", _VERSION) != _VERSION:
        raise InputError(f"version {table['version']!r}, not {_VERSION}")
    texts = {key: _text(table, key) for key in _TEXTS}
    if texts["timezone"]:
        zone(texts["timezone"])
    if texts["unit"] not in _UNITS:
        raise InputError(f"unit {texts['unit']!r}", hint="Use kWh, Wh, kW or W.")
    if texts["stamp"] not in ("", "start", "end"):
        raise InputError(f"stamp {texts['stamp']!r}", hint="Use start or end.")
    day_first = table.get("day_first")
    if day_first is not None and not isinstance(day_first, bool):
        raise InputError(f"day_first {day_first!r}", hint="Use true or false.")
    return ReadOptions(
        timezone=texts["timezone"],
        unit=texts["unit"],
        stamp=texts["stamp"],
        day_first=day_first,
        channel=texts["channel"],
        columns=_columns(table.get("columns", {})),
    )


def _text(table: dict[str, object], key: str) -> str:
    value = table.get(key, "")
    if not isinstance(value, str):
        raise InputError(f"{key} {value!r} is not a text")
    return value


def _columns(stated: object) -> tuple[tuple[str, str], ...]:
    if not isinstance(stated, dict):
        raise InputError("columns is not a table")
    for meaning, heading in stated.items():
        if meaning not in MEANINGS and meaning.split(" ")[0] not in ("circuit", "appliance"):
            raise InputError(f"columns.{meaning}", hint="Use: " + ", ".join(MEANINGS))
        if not isinstance(heading, str):
            raise InputError(f"columns.{meaning} {heading!r} is not a text")
    return tuple(stated.items())


def _quoted(text: str) -> str:
    # JSON and TOML write basic strings alike, but for DEL.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007F")
