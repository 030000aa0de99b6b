"""The door to loadlib: the commands that this plugin brings."""

from __future__ import annotations

from loadlib.hooks import CommandEntry, hookimpl

__all__ = ["LOADLIB_HOOK_API", "loadlib_commands"]

LOADLIB_HOOK_API = 1


@hookimpl
def loadlib_commands() -> list[CommandEntry]:
    """``loadlib standby …``; imported when it is run."""
    return [
        CommandEntry(
            "standby",
            "Backup source: will it carry the house, in which order, for how long",
            "loadlib_standby.commands:app",
        )
    ]
