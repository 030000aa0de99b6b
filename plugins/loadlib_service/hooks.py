"""The door to loadlib: one command."""

from __future__ import annotations

from collections.abc import Sequence

from loadlib.hooks import CommandEntry, hookimpl

LOADLIB_HOOK_API = 1


@hookimpl
def loadlib_commands() -> Sequence[CommandEntry]:
    """``loadlib service``."""
    return [
        CommandEntry(
            "service",
            "Service demand by the published methods, line by line.",
            "loadlib_service.cli:app",
        )
    ]
