"""Every exception that loadlib raises on purpose.

    LoadlibError                    exit 1
    ├─ InputError      ValueError   exit 2   an argument or a text that a person gave
    │  ├─ LabelUnreadable
    │  └─ UnitUnknown
    ├─ NotFound        LookupError  exit 3   a house, appliance, circuit or category
    ├─ DataError       ValueError   exit 4   a file or document that is broken
    ├─ CatalogError                 exit 5   the database: locked, damaged, newer, read-only
    └─ PluginError                  exit 6   a plugin that raised, hung or returned rubbish

Each message says what happened, with the value; ``hint`` says what mends it.
The library raises; only the command line turns an error into text and an exit code.
A command that gives a negative verdict ("does not fit") ends with ``EXIT_VERDICT``,
which is not an error.
"""

from __future__ import annotations

from typing import ClassVar

__all__ = [
    "EXIT_VERDICT",
    "CatalogError",
    "DataError",
    "InputError",
    "LabelUnreadable",
    "LoadlibError",
    "NotFound",
    "PluginError",
    "UnitUnknown",
]

EXIT_VERDICT = 10


class LoadlibError(Exception):
    """Root of the tree: catch this to catch everything loadlib raises on purpose."""

    exit_code: ClassVar[int] = 1

    def __init__(self, message: str, *, hint: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        return self.message if self.hint is None else f"{self.message}\n{self.hint}"

    def __reduce__(self) -> tuple[object, ...]:
        # Attributes are keyword-only in sub-classes, so rebuild without calling __init__:
        # errors must survive the trip back from a worker process.
        return (_rebuild, (type(self), self.args, self.__dict__))


class InputError(LoadlibError, ValueError):
    """A value given by a person is impossible or not understood."""

    exit_code = 2


class LabelUnreadable(InputError):
    """Nothing electrical could be read from the text of a rating label."""

    def __init__(self, message: str, *, text: str, hint: str | None = None) -> None:
        super().__init__(message, hint=hint)
        self.text = text


class UnitUnknown(InputError):
    """A unit that loadlib does not know, with the nearest ones that it does."""

    def __init__(
        self, message: str, *, unit: str, suggestions: tuple[str, ...] = (), hint: str | None = None
    ) -> None:
        super().__init__(message, hint=hint)
        self.unit = unit
        self.suggestions = suggestions


class NotFound(LoadlibError, LookupError):
    """Something named is not there, or nothing of its kind; ``near`` holds names that are close."""

    exit_code = 3

    def __init__(
        self,
        what: str,
        key: str | None = None,
        *,
        near: tuple[str, ...] = (),
        hint: str | None = None,
    ) -> None:
        if hint is None and near:
            hint = "Near: " + ", ".join(near)
        super().__init__(f"no {what}" if key is None else f"no {what} {key!r}", hint=hint)
        self.what = what
        self.key = key or ""
        self.near = near


class DataError(LoadlibError, ValueError):
    """A file or document is broken; ``path`` and ``line`` say where, if known."""

    exit_code = 4

    def __init__(
        self,
        message: str,
        *,
        path: str | None = None,
        line: int | None = None,
        hint: str | None = None,
    ) -> None:
        where = ", ".join(
            part for part in (path, f"line {line}" if line is not None else None) if part
        )
        super().__init__(f"{where}: {message}" if where else message, hint=hint)
        self.path = path
        self.line = line


class CatalogError(LoadlibError):
    """The database file can't be used as it is."""

    exit_code = 5

    def __init__(self, message: str, *, path: str, hint: str | None = None) -> None:
        super().__init__(f"{path}: {message}", hint=hint)
        self.path = path


class PluginError(LoadlibError):
    """A plugin broke; raised from the plugin's own exception."""

    exit_code = 6

    def __init__(
        self,
        message: str,
        *,
        plugin: str,
        distribution: str | None = None,
        version: str | None = None,
        hint: str | None = None,
    ) -> None:
        who = f"plugin {plugin}"
        if distribution:
            who += f" ({distribution} {version or '?'})"
        super().__init__(f"{who}: {message}", hint=hint)
        self.plugin = plugin
        self.distribution = distribution
        self.version = version


def _rebuild(
    kind: type[LoadlibError], args: tuple[object, ...], state: dict[str, object]
) -> LoadlibError:
    error = kind.__new__(kind, *args)
    error.args = args
    error.__dict__.update(state)
    return error
