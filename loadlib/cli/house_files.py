"""loadlib house file: files of plugins that are kept with a house."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from loadlib.cli.house_parts import AsJson, OfHouse

__all__ = ["file"]


def file(
    pairs: Annotated[
        list[str] | None,
        typer.Argument(metavar="[PLUGIN=PATH]...", help="Keep these; without any, the list."),
    ] = None,
    house: OfHouse = "",
    forget: Annotated[
        list[str] | None,
        typer.Option("--forget", metavar="PLUGIN=PATH", help="No longer; the file itself stays."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Files that plugins read each time the house is estimated."""
    from loadlib.cli.houses import plugin_and_path, plugin_files
    from loadlib.cli.output import out
    from loadlib.store.houses import pick
    from loadlib.store.readings import add_file, list_files, remove_file

    name = pick(house)
    wanted = plugin_files(pairs or (), what="")
    for pair in forget or ():
        remove_file(name, *plugin_and_path(pair, "--forget "))
    for plugin, paths in wanted.items():
        for path in paths:
            add_file(name, plugin, path)
    rows = [
        (plugin, path, Path(path).is_file())
        for plugin, paths in list_files(name).items()
        for path in paths
    ]
    if as_json:
        keys = ("plugin", "path", "there")
        out.json({"house": name, "files": [dict(zip(keys, row, strict=True)) for row in rows]})
    elif rows:
        rows_told = [(*row[:2], "yes" if row[2] else "GONE") for row in rows]
        out.table(("plugin", "file", "there"), rows_told)
    else:
        out.text(f"{name} keeps no file. Keep one: loadlib house file PLUGIN=PATH")
