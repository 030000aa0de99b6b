"""Hook specifications: the whole door for plugins, on one page.

A plugin is a module named by an entry point in group ``loadlib``; it defines any of the
functions below, marked with ``hookimpl``. First-party plugins use the same door.

    [project.entry-points.loadlib]
    ridge_pump = "loadlib_ridge_pump.hooks"

``HOOK_API`` counts up only when an old plugin would no longer work. A plugin may say
``LOADLIB_HOOK_API = 1`` to state which it was built for; one built for a newer number is
named and left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol, runtime_checkable

import pluggy

from loadlib.core.claims import Claim
from loadlib.core.evidence import Evidence
from loadlib.core.series import ReadOptions, ReadResult

__all__ = [
    "HOOK_API",
    "CommandEntry",
    "Estimator",
    "Reader",
    "hookimpl",
    "loadlib_commands",
    "loadlib_estimators",
    "loadlib_readers",
]

HOOK_API = 1

hookspec = pluggy.HookspecMarker("loadlib")
hookimpl = pluggy.HookimplMarker("loadlib")


@runtime_checkable
class Estimator(Protocol):
    """Turns evidence into claims. ``name`` is unique; ``summary`` is one line for people."""

    name: str
    summary: str

    def needs(self, evidence: Evidence) -> list[str]:
        """What is missing, in words; empty when ``claims`` has something to say."""
        ...

    def claims(self, evidence: Evidence) -> Iterable[Claim]:
        """Claims with their doubt; the same for the same evidence and seed."""
        ...


@runtime_checkable
class Reader(Protocol):
    """Reads one kind of file. ``name`` is unique; ``summary`` is one line for people."""

    name: str
    summary: str

    def recognises(self, head: bytes, filename: str) -> float:
        """How sure it is (0 to 1) from the first 64 KiB and the name of the file."""
        ...

    def read(self, path: Path, options: ReadOptions) -> ReadResult:
        """Read it whole, or raise DataError naming line or element; never half."""
        ...


@dataclass(frozen=True, slots=True)
class CommandEntry:
    """A command for the command line, imported only when it is run.

    ``target`` is ``"module:attribute"`` of a ``typer.Typer`` with the name ``name``;
    ``help`` is the one line shown in the list of commands.
    """

    name: str
    help: str
    target: str


@hookspec
def loadlib_estimators() -> Sequence[Estimator]:
    """Estimators that this plugin brings."""
    raise AssertionError("a specification is never called")


@hookspec
def loadlib_readers() -> Sequence[Reader]:
    """Readers of file formats that this plugin brings."""
    raise AssertionError("a specification is never called")


@hookspec
def loadlib_commands() -> Sequence[CommandEntry]:
    """Commands that this plugin adds to the command line."""
    raise AssertionError("a specification is never called")
