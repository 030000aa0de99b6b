"""The door to loadlib: one command."""

from __future__ import annotations

from collections.abc import Sequence

from loadlib.hooks import CommandEntry, hookimpl

LOADLIB_HOOK_API = 1


@hookimpl
def loadlib_commands() -> Sequence[CommandEntry]:
    """``loadlib report``."""
    return [
        CommandEntry(
            "report",
            "One self-contained page about a profile, to look at and print.",
            "loadlib_report.cli:app",
        )
    ]
