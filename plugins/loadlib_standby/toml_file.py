"""Strict reading of this plugin's TOML files: every error names file, line and key."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from loadlib_standby.engine import DataError

__all__ = ["Section", "read_toml"]

_MOST_BYTES = 1_000_000


@dataclass
class Section:
    """One table of the file; ``take`` functions read a key once, ``done`` finds strangers."""

    values: dict[str, object]
    name: str
    text: str
    path: str
    _taken: set[str] = field(default_factory=set)

    def error(self, key: str, message: str, hint: str | None = None) -> DataError:
        """A DataError at the line of ``key``."""
        where = f"[{self.name}] {key}" if self.name else key
        return DataError(
            f"{where}: {message}", path=self.path, line=_line(self.text, self.name, key), hint=hint
        )

    def number(
        self,
        key: str,
        default: float | None = None,
        *,
        least: float | None = None,
        above: float | None = None,
        most: float | None = None,
    ) -> float | None:
        """A finite number within bounds, or ``default`` when the key is missing."""
        value = self._get(key)
        if value is None:
            return default
        if isinstance(value, bool) or not isinstance(value, int | float) or value != value:
            raise self.error(key, f"expected a number, found {value!r}")
        number = float(value)
        if above is not None and number <= above:
            raise self.error(key, f"{number:g} is not above {above:g}")
        if least is not None and number < least:
            raise self.error(key, f"{number:g} is below {least:g}")
        if (most is not None and number > most) or abs(number) > 1e9:
            raise self.error(key, f"{number:g} is above {most or 1e9:g}")
        return number

    def needed(self, key: str, *, above: float = 0.0, most: float | None = None) -> float:
        """A number that must be there and be above ``above``."""
        value = self.number(key, above=above, most=most)
        if value is None:
            raise self.error(key, "is missing", "Add it to the file.")
        return value

    def text_of(self, key: str, default: str = "", choices: Sequence[str] = ()) -> str:
        """A text; one of ``choices`` where given."""
        value = self._get(key)
        if value is None:
            return default
        if not isinstance(value, str):
            raise self.error(key, f"expected a text, found {value!r}")
        if choices and value not in choices:
            raise self.error(key, f"{value!r} is unknown", "One of: " + ", ".join(choices) + ".")
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts."""
        value = self._get(key)
        if value is None:
            return ()
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            raise self.error(key, "expected a list of texts")
        return tuple(value)

    def raw(self, key: str) -> object:
        """Whatever stands there, or None."""
        return self._get(key)

    def section(self, key: str) -> Section | None:
        """A table inside, or None."""
        value = self._get(key)
        if value is None:
            return None
        if not isinstance(value, dict):
            raise self.error(key, f"expected a table [{key}]")
        return Section(value, self._inner(key), self.text, self.path)

    def sections(self, key: str) -> list[Section]:
        """A list of tables inside."""
        value = self._get(key)
        if value is None:
            return []
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            raise self.error(key, f"expected tables [[{self._inner(key)}]]")
        return [Section(item, self._inner(key), self.text, self.path) for item in value]

    def done(self) -> None:
        """Raise for a key that nobody asked for: a slip of the pen changes no answer."""
        for key in self.values:
            if key not in self._taken:
                known = ", ".join(sorted(self._taken))
                raise self.error(key, "unknown key", f"Known here: {known}.")

    def _get(self, key: str) -> object:
        self._taken.add(key)
        return self.values.get(key)

    def _inner(self, key: str) -> str:
        return f"{self.name}.{key}" if self.name else key


def read_toml(path: Path, format_name: str) -> Section:
    """Read a file of ours; its ``format`` and ``version`` must be known.

    Raises DataError for a file that is missing, too big, not TOML or of another format.
    """
    text = _read_text(path)
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"line (\d+)", str(error))
        line = int(found.group(1)) if found else None
        raise DataError(f"not TOML: {error}", path=str(path), line=line) from None
    top = Section(values, "", text, str(path))
    if top.text_of("format") != format_name:
        raise top.error(
            "format", f"expected {format_name!r}", f'Begin with format = "{format_name}".'
        )
    version = top.number("version", 1.0)
    if version != 1.0:
        raise top.error("version", f"{version:g} is not known", "This program reads version 1.")
    return top


def _read_text(path: Path) -> str:
    try:
        data = path.read_bytes()
    except OSError as error:
        raise DataError(f"cannot be read: {error.strerror}", path=str(path)) from None
    if len(data) > _MOST_BYTES:
        raise DataError(f"{len(data):,} bytes is too big for such a file", path=str(path))
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise DataError(f"not UTF-8 text at byte {error.start}", path=str(path)) from None


def _line(text: str, section: str, key: str) -> int | None:
    """Line of ``key`` under ``section``; of the section's head, or None, if it is not there."""
    inside, head = section == "", None
    for number, line in enumerate(text.splitlines(), start=1):
        stripped = line.strip()
        if stripped.startswith("["):
            name = stripped.strip("[] \t").split("#")[0].strip()
            inside = name == section
            head = number if inside and head is None else head
            if name == (f"{section}.{key}" if section else key):
                return number
        elif inside and re.match(rf"[\"']?{re.escape(key)}[\"']?\s*=", stripped):
            return number
    return head
