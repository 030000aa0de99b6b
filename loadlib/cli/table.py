"""The built-in commands: name, one line of help, where the code is.

The help stands here so that ``loadlib --help`` imports none of them; a test holds this
table against the modules.
"""

from __future__ import annotations

__all__ = ["BUILT_IN_COMMANDS"]

BUILT_IN_COMMANDS: dict[str, tuple[str, str]] = {
    "lookup": ("What a kind of appliance draws, from the catalog.", "loadlib.cli.lookup:app"),
    "label": ("Read the text of a rating label.", "loadlib.cli.label:app"),
    "house": ("Make, show and edit houses.", "loadlib.cli.house:app"),
    "walk": ("Walk through a house and note its appliances.", "loadlib.cli.walk:app"),
    "usage": ("Take in bills and interval files; peak demand.", "loadlib.cli.usage:app"),
    "reading": ("Note clamp, plug and meter readings.", "loadlib.cli.reading:app"),
    "profile": ("Estimate, show, export and compare.", "loadlib.cli.profile:app"),
    "plugins": ("List plugins; make one of your own.", "loadlib.cli.plugins:app"),
    "database": ("Where the data lives; check, copy, mend.", "loadlib.cli.database:app"),
    "demo": ("The farmhouse on the ridge, start to end.", "loadlib.cli.demo:app"),
}
