"""A command group that knows names and help lines, and imports a command when it is run."""

from __future__ import annotations

from importlib import import_module
from typing import Any

import typer
from typer.core import TyperCommand, TyperGroup

from loadlib.cli.table import BUILT_IN_COMMANDS

__all__ = ["LazyGroup", "load_command"]


def load_command(name: str, target: str) -> Any:
    """The command behind ``"module:attribute"``, under ``name``."""
    module, _, attribute = target.partition(":")
    command = typer.main.get_command(getattr(import_module(module), attribute))
    command.name = name
    return command


class LazyGroup(TyperGroup):
    """Built-in commands from a table, plugin commands from the plugin host's list."""

    def list_commands(self, ctx: Any) -> list[str]:
        from loadlib.cli.plugin_commands import plugin_commands

        return [*BUILT_IN_COMMANDS, *(c for c in plugin_commands() if c not in BUILT_IN_COMMANDS)]

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """A stub with the one line of help; ``resolve_command`` brings the real one."""
        if cmd_name in BUILT_IN_COMMANDS:
            return TyperCommand(name=cmd_name, help=BUILT_IN_COMMANDS[cmd_name][0])
        from loadlib.cli.plugin_commands import plugin_commands

        found = plugin_commands().get(cmd_name)
        return TyperCommand(name=cmd_name, help=found[0]) if found else None

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        name = args[0]
        if name in BUILT_IN_COMMANDS:
            return name, load_command(name, BUILT_IN_COMMANDS[name][1]), args[1:]
        from loadlib.cli.plugin_commands import plugin_commands

        found = plugin_commands().get(name) or plugin_commands(refresh=True).get(name)
        if found:
            return name, load_command(name, found[1]), args[1:]
        return super().resolve_command(ctx, args)
