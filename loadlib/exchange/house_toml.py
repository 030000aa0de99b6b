"""A house as one TOML file that a person can read and edit; it round-trips exactly.

Keys are the field names of ``House``, ``Circuit`` and ``Appliance``; what has its default
value is left out. A wrong key or type is refused with its line.
"""

from __future__ import annotations

import difflib
import json
import math
import tomllib
from collections.abc import Iterator
from dataclasses import MISSING, Field, fields
from typing import Any
from zoneinfo import available_timezones

from loadlib.core.electrical import SYSTEMS
from loadlib.core.household import Appliance, Circuit, House
from loadlib.core.ranges import Range
from loadlib.errors import DataError, InputError, LoadlibError

__all__ = ["FORMAT", "VERSION", "house_from_toml", "house_to_toml"]

FORMAT = "loadlib-house"
VERSION = 1
MOST_BYTES = 4 * 1024 * 1024
_TABLES: dict[str, type[Any]] = {"circuit": Circuit, "appliance": Appliance}
_PLURAL = {"circuit": "circuits", "appliance": "appliances"}


def house_to_toml(house: House) -> str:
    """The house as TOML text."""
    import tomli_w

    document: dict[str, Any] = {"format": FORMAT, "version": VERSION}
    document |= _plain(house, skip=("circuits", "appliances"))
    document["circuit"] = [_plain(circuit) for circuit in house.circuits]
    document["appliance"] = [_plain(appliance) for appliance in house.appliances]
    return tomli_w.dumps({key: value for key, value in document.items() if value != []})


def house_from_toml(text: str, *, path: str = "house file") -> House:
    """Read a house.

    Raises
    ------
    DataError
        with the line: not TOML, a wrong key or type, a newer version, or facts that can't
        be (a circuit on a leg that the system lacks, two appliances with one id).
    """
    if len(text) > MOST_BYTES:
        raise DataError(f"larger than {MOST_BYTES} bytes", path=path)
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise DataError(f"not TOML: {error}", path=path) from None
    except RecursionError:
        raise DataError("not TOML that can be read: nested too deeply", path=path) from None
    reader = _Reader(text, path)
    reader.head(document)
    return reader.house(document)


def _plain(item: Any, skip: tuple[str, ...] = ()) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for field in fields(item):
        value = getattr(item, field.name)
        if field.init and field.name not in skip and value != _default(field):
            found[field.name] = _value(value)
    return found


def _default(field: Field[Any]) -> Any:
    return field.default if field.default is not MISSING else None


def _value(value: Any) -> Any:
    if isinstance(value, Range):
        return [value.low, value.typical, value.high]
    return list(value) if isinstance(value, tuple) else value


class _Reader:
    """Checks tables of one document; knows the text so that it can name lines."""

    def __init__(self, text: str, path: str) -> None:
        self.lines = text.splitlines()
        self.path = path

    def head(self, document: dict[str, Any]) -> None:
        if document.get("format") != FORMAT:
            raise DataError(
                f"not a house file: format is {document.get('format')!r}",
                path=self.path,
                hint=f'It begins with: format = "{FORMAT}"',
            )
        version = document.get("version")
        if type(version) is not int or version < 1:
            raise self.fault(None, 0, "version", f"{version!r} is not a version number")
        if version > VERSION:
            raise self.fault(
                None, 0, "version", f"{version}; this loadlib reads up to {VERSION}: update it"
            )

    def house(self, document: dict[str, Any]) -> House:
        top = {k: v for k, v in document.items() if k not in ("format", "version", *_TABLES)}
        parts: dict[str, Any] = {}
        for name, kind in _TABLES.items():
            tables = document.get(name, [])
            if not isinstance(tables, list) or not all(isinstance(t, dict) for t in tables):
                raise self.fault(None, 0, name, f"write each as a table headed [[{name}]]")
            parts[_PLURAL[name]] = tuple(
                self.item(kind, table, name, index) for index, table in enumerate(tables)
            )
        self.legs(top.get("system", "120/240"), parts)
        zone = top.get("timezone", "")
        if isinstance(zone, str) and zone and zone not in available_timezones():
            raise self.fault(None, 0, "timezone", f"{zone!r} is no IANA time zone")
        made: House = self.item(House, top, None, 0, **parts)
        return made

    def legs(self, supply: Any, parts: dict[str, Any]) -> None:
        """Legs that the system lacks, named at their own line."""
        if supply not in SYSTEMS:
            raise self.fault(None, 0, "system", f"{supply!r}; known: {', '.join(SYSTEMS)}")
        for name, kind in (("circuit", "circuits"), ("appliance", "appliances")):
            for index, item in enumerate(parts[kind]):
                try:
                    if item.legs:
                        SYSTEMS[supply].legs_of(item.legs)
                except InputError as error:
                    raise self.fault(name, index, "legs", str(error)) from None

    def item(
        self, kind: type[Any], table: dict[str, Any], name: str | None, index: int, **more: Any
    ) -> Any:
        known = [f.name for f in fields(kind) if f.init and f.name not in _PLURAL.values()]
        for key in table:
            if key not in known:
                near = difflib.get_close_matches(key, known, n=1)
                meant = f"; meant {near[0]}?" if near else f"; known: {', '.join(known)}"
                raise self.fault(name, index, key, f"unknown key{meant}")
        for key in (f.name for f in fields(kind) if f.init and f.name in known):
            if key not in table and _needed(kind, key):
                raise self.fault(name, index, key, "is missing")
        checked = self.types(kind, table, name, index)
        try:
            return kind(**checked, **more)
        except LoadlibError as error:
            # The fault names its field, as a word of the message.
            words = set(error.message.replace(":", " ").split()) - {"name", "id"}
            key = next((key for key in table if key in words), "")
            line = self.line_of(name, index, key)
            raise DataError(error.message, path=self.path, line=line, hint=error.hint) from None

    def types(
        self, kind: type[Any], table: dict[str, Any], name: str | None, index: int
    ) -> dict[str, Any]:
        import pydantic

        # Each value is checked alone, strictly and as JSON: "5" is not 5, and arrays may
        # become tuples.
        hints = _hints(kind)
        checked: dict[str, Any] = {}
        for key, value in table.items():
            if not _finite(value):
                raise self.fault(name, index, key, "is not a finite number")
            if hints[key] == Range | None and isinstance(value, list) and len(value) == 3:
                value = dict(zip(("low", "typical", "high"), value, strict=True))
            try:
                as_json = json.dumps(value)
                checked[key] = pydantic.TypeAdapter(hints[key]).validate_json(as_json, strict=True)
            except TypeError:
                raise self.fault(name, index, key, "dates and times have no place here") from None
            except pydantic.ValidationError as error:
                words = error.errors(include_url=False)[0]["msg"]
                raise self.fault(name, index, key, f"{value!r:.40}: {words}") from None
        return checked

    def fault(self, name: str | None, index: int, key: str, words: str) -> DataError:
        where = f"[[{name}]] number {index + 1}, {key}" if name else key
        return DataError(f"{where}: {words}", path=self.path, line=self.line_of(name, index, key))

    def line_of(self, name: str | None, index: int, key: str) -> int | None:
        """Line of a key in the ``index``-th [[name]] table, or of the table's heading."""
        heading = None
        for number, line in self._table_lines(name, index):
            heading = number if heading is None else heading
            if key and line.split("=")[0].strip().strip("\"'") == key:
                return number
        return heading

    def _table_lines(self, name: str | None, index: int) -> Iterator[tuple[int, str]]:
        seen, inside = -1, name is None
        for number, line in enumerate(self.lines, start=1):
            stripped = line.strip()
            if stripped.startswith("["):
                is_mine = stripped.startswith(f"[[{name}]]")
                seen += is_mine
                inside = is_mine and seen == index
            if inside:
                yield number, line


def _needed(kind: type[Any], key: str) -> bool:
    field = next(f for f in fields(kind) if f.name == key)
    return field.default is MISSING and field.default_factory is MISSING


def _hints(kind: type[Any]) -> dict[str, Any]:
    from typing import get_type_hints

    return get_type_hints(kind)


def _finite(value: Any) -> bool:
    if isinstance(value, list):
        return all(_finite(item) for item in value)
    return not isinstance(value, float) or math.isfinite(value)
