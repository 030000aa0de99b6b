"""The plugin host: finds plugins, keeps broken ones apart, and runs the rest.

Listing never imports a plugin. One broken plugin is named and left out; it stops nothing
unless ``LOADLIB_PLUGINS_STRICT=1``. ``LOADLIB_PLUGINS=a,b`` allows only those,
``LOADLIB_PLUGINS_OFF=a,b`` leaves those out.
"""

from __future__ import annotations

import os
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from importlib import import_module
from importlib.metadata import EntryPoint, entry_points
from pathlib import Path
from typing import Any, TypeVar

import pluggy

from loadlib import hooks
from loadlib.core.series import ReadOptions, ReadResult
from loadlib.errors import DataError, LoadlibError, NotFound, PluginError
from loadlib.hooks import HOOK_API, CommandEntry, Estimator, Reader
from loadlib.timelimit import run_limited

__all__ = ["BUILT_IN", "Host", "PluginRecord", "listed"]

GROUP = "loadlib"
BUILT_IN = ("loadlib.estimators.hooks", "loadlib.readers.hooks")
"""Built-in estimators and readers come through the same door as a stranger's."""

T = TypeVar("T")


@dataclass(slots=True)
class PluginRecord:
    """What is known of one plugin; ``error`` says in words why it was left out."""

    name: str
    module: str
    distribution: str = "loadlib"
    version: str = ""
    state: str = "listed"
    error: str = ""
    brings: tuple[str, ...] = ()


@dataclass(slots=True)
class GuardedReader:
    """A stranger's reader: what it raises while it looks at a file only leaves it out."""

    record: PluginRecord
    reader: Reader
    name: str = field(init=False)
    summary: str = field(init=False)

    def __post_init__(self) -> None:
        self.name, self.summary = self.reader.name, self.reader.summary

    def recognises(self, head: bytes, filename: str) -> float:
        """How sure it is; 0 with a warning when it breaks or answers anything but 0 to 1."""
        try:
            share = float(run_limited(lambda: self.reader.recognises(head, filename)))
            if not 0.0 <= share <= 1.0:
                raise ValueError(f"recognises gave {share}, expected 0 to 1")
        except Exception as error:
            fault = plugin_error(self.record, f"{type(error).__name__}: {error}")
            warnings.warn(f"left out: {fault.message}", RuntimeWarning, stacklevel=2)
            return 0.0
        return share

    def read(self, path: Path, options: ReadOptions) -> ReadResult:
        """Read it; DataError about the file as it is, anything else as PluginError."""
        try:
            result = self.reader.read(path, options)
            if not isinstance(result, ReadResult):
                raise TypeError(f"read gave {type(result).__name__}, expected ReadResult")
        except DataError:
            raise
        except Exception as error:
            raise plugin_error(self.record, f"{type(error).__name__}: {error}") from error
        return result


def plugin_error(record: PluginRecord, message: str) -> PluginError:
    """A fault of that plugin, with what to do about it."""
    return PluginError(
        message,
        plugin=record.name,
        distribution=record.distribution,
        version=record.version,
        hint=f"Leave it out: LOADLIB_PLUGINS_OFF={record.name}",
    )


def _given(module: Any) -> Any:
    return module


def _names(variable: str) -> set[str] | None:
    text = os.environ.get(variable)
    if text is None:
        return None
    return {name.strip() for name in text.split(",") if name.strip()}


def _record(entry: EntryPoint) -> PluginRecord:
    dist = entry.dist
    return PluginRecord(
        name=entry.name,
        module=entry.value,
        distribution=dist.name if dist else "?",
        version=dist.version if dist else "",
    )


def listed() -> list[PluginRecord]:
    """Every plugin that is installed, sorted by name, without importing any of them."""
    seen: dict[tuple[str, str], PluginRecord] = {}
    for entry in entry_points(group=GROUP):
        seen.setdefault((entry.name, entry.value), _record(entry))
    records = sorted(seen.values(), key=lambda record: (record.name, record.module))
    allowed, off = _names("LOADLIB_PLUGINS"), _names("LOADLIB_PLUGINS_OFF") or set()
    taken: dict[str, PluginRecord] = {}
    for record in records:
        if record.name in off or (allowed is not None and record.name not in allowed):
            record.state = "left out"
            record.error = "left out by LOADLIB_PLUGINS or LOADLIB_PLUGINS_OFF"
        elif record.name in taken:
            record.state = "broken"
            record.error = (
                f"the name is taken by {taken[record.name].module} "
                f"of {taken[record.name].distribution}"
            )
        else:
            taken[record.name] = record
    return records


@dataclass(slots=True)
class Host:
    """Loaded plugins and what they bring.

    Build one with ``Host.load()``; pass ``extra`` modules (name, module object) to add
    plugins that are not installed, as tests do.
    """

    records: list[PluginRecord] = field(default_factory=list)
    _estimators: dict[str, tuple[PluginRecord, Estimator]] = field(default_factory=dict)
    _readers: dict[str, tuple[PluginRecord, Reader]] = field(default_factory=dict)
    _commands: dict[str, tuple[PluginRecord, CommandEntry]] = field(default_factory=dict)

    @classmethod
    def load(cls, extra: tuple[tuple[str, Any], ...] = ()) -> Host:
        """Import the built-ins and every allowed plugin, each guarded."""
        host = cls()
        for module in BUILT_IN:
            record = PluginRecord(module.split(".")[1], module)
            host._add(record, partial(import_module, module))
        for record in listed():
            if record.state == "listed":
                host._add(record, partial(import_module, record.module))
            else:
                host.records.append(record)
        for name, module_object in extra:
            record = PluginRecord(name, getattr(module_object, "__name__", name), "given")
            host._add(record, partial(_given, module_object))
        return host

    def _add(self, record: PluginRecord, load: Callable[[], Any]) -> None:
        self.records.append(record)
        try:
            brings = run_limited(partial(self._take, record, load))
        except Exception as error:
            record.state, record.error = "broken", f"{type(error).__name__}: {error}"
            if os.environ.get("LOADLIB_PLUGINS_STRICT") == "1":
                raise plugin_error(record, record.error) from error
            return
        record.state, record.brings = "ready", brings

    def _take(self, record: PluginRecord, load: Callable[[], Any]) -> tuple[str, ...]:
        module = load()
        self._check_api(module)
        return self._register(record, module)

    @staticmethod
    def _check_api(module: Any) -> None:
        needs = getattr(module, "LOADLIB_HOOK_API", HOOK_API)
        if not isinstance(needs, int) or needs > HOOK_API:
            raise ValueError(
                f"built for hook version {needs}, this loadlib offers {HOOK_API}; update loadlib"
            )

    def _register(self, record: PluginRecord, module: Any) -> tuple[str, ...]:
        manager = pluggy.PluginManager(GROUP)
        manager.add_hookspecs(hooks)
        manager.register(module, name=record.name)
        unknown = [
            name
            for name in dir(module)
            if name.startswith("loadlib_")
            and manager.parse_hookimpl_opts(module, name)
            and not hasattr(hooks, name)
        ]
        if unknown:
            raise ValueError(f"hooks that this loadlib does not know: {', '.join(unknown)}")
        # All is checked before anything is kept, so a half-good plugin leaves nothing behind.
        found: list[tuple[dict[str, Any], str, Any]] = []
        for table, results, kind in (
            (self._estimators, manager.hook.loadlib_estimators(), Estimator),
            (self._readers, manager.hook.loadlib_readers(), Reader),
            (self._commands, manager.hook.loadlib_commands(), CommandEntry),
        ):
            items = [item for result in results for item in result]
            found += [(table, self._checked_name(table, item, kind), item) for item in items]
        for table, name, item in found:
            table[name] = (record, item)
        return tuple(name for _, name, _ in found)

    @staticmethod
    def _checked_name(table: dict[str, Any], item: Any, kind: type) -> str:
        if not isinstance(item, kind):
            raise TypeError(f"{item!r} is not a {kind.__name__}")
        name: str = item.name  # type: ignore[attr-defined]  # all three kinds have a name
        if not isinstance(name, str) or not name.strip():
            raise TypeError(f"{item!r} has no name")
        if name in table:
            raise ValueError(f"{name!r} is already brought by {table[name][0].name}")
        return name

    @property
    def broken(self) -> list[PluginRecord]:
        """Plugins that could not be used, with the reason."""
        return [record for record in self.records if record.state == "broken"]

    def estimators(self) -> Iterator[tuple[str, Estimator]]:
        """(name, estimator), sorted by name."""
        for name in sorted(self._estimators):
            yield name, self._estimators[name][1]

    def readers(self) -> Iterator[tuple[str, Reader]]:
        """(name, reader), sorted by name; a stranger's is kept from stopping the others."""
        for name in sorted(self._readers):
            record, reader = self._readers[name]
            yield name, reader if record.module in BUILT_IN else GuardedReader(record, reader)

    def commands(self) -> Iterator[tuple[str, CommandEntry]]:
        """(name, command), sorted by name."""
        for name in sorted(self._commands):
            yield name, self._commands[name][1]

    def owner(self, estimator: str) -> PluginRecord:
        """The plugin that brought an estimator."""
        if estimator not in self._estimators:
            raise NotFound("estimator", estimator, near=tuple(sorted(self._estimators)))
        return self._estimators[estimator][0]

    def guarded(self, estimator: str, work: Callable[[], T]) -> T:
        """Run a plugin's code: whatever it raises, or a hang, becomes a PluginError."""
        record = self.owner(estimator)
        try:
            return run_limited(work)
        except LoadlibError as error:
            # A built-in's error is about the user's data, not about a plugin.
            if isinstance(error, PluginError) or record.module in BUILT_IN:
                raise
            raise plugin_error(record, error.message) from error
        except Exception as error:
            raise plugin_error(record, f"{type(error).__name__}: {error}") from error
