"""loadlib lookup: what a kind of appliance draws, from the catalog."""

from __future__ import annotations

from typing import Annotated

import typer

app = typer.Typer(add_completion=False, rich_markup_mode=None)


def complete(incomplete: str) -> list[str]:
    """Categories for the shell's Tab; silent when there is no database to ask."""
    from loadlib import settings
    from loadlib.errors import LoadlibError
    from loadlib.store import files, search

    path = settings.database_path()
    if not path.exists():
        return []
    try:
        with files.faults_named(path):
            return search.begins_with(path, incomplete)
    except LoadlibError:
        return []


@app.command()
def lookup(
    words: Annotated[
        list[str] | None,
        typer.Argument(
            help="What people call it, e.g. fridge or well pump.", autocompletion=complete
        ),
    ] = None,
    everything: Annotated[bool, typer.Option("--all", help="Every category.")] = False,
    details: Annotated[
        bool, typer.Option("--details", "-d", help="Every value with its range and source.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print a JSON list, best first.")] = False,
    most: Annotated[int, typer.Option("--most", min=1, max=1000, help="Answers at most.")] = 8,
    own: Annotated[
        list[str] | None,
        typer.Option(
            "--own",
            metavar="QUANTITY=LOW,TYPICAL,HIGH",
            help="Put your own value above the shipped one, then show.",
        ),
    ] = None,
    shipped: Annotated[
        list[str] | None,
        typer.Option("--shipped", metavar="QUANTITY", help="Drop your own value again."),
    ] = None,
) -> None:
    """What a kind of appliance draws, from the catalog."""
    from loadlib.cli import lookup_text as text
    from loadlib.cli.output import out
    from loadlib.store.database import open_database

    database = open_database()
    if own or shipped:
        text.change_values(database, " ".join(words or ()), own or [], shipped or [])
    with database.bare() as connection:
        found = text.find(connection, " ".join(words or ()), everything, most)
    out.warn(*found.remarks)
    if as_json:
        out.json([text.json_of(row, details=details) for row in found.rows])
    elif everything:
        out.table(text.HEADERS, [text.table_row(row) for row in found.rows])
    elif details:
        out.text(*text.detail_lines(found.rows[0], out.width))
    else:
        out.text(*text.compact_lines(found.rows))
