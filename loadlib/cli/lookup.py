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
    name: Annotated[
        list[str] | None,
        typer.Option("--name", metavar="NAME", help="A name of your own that finds it, too."),
    ] = None,
    unname: Annotated[
        list[str] | None,
        typer.Option("--unname", metavar="NAME", help="Drop a name of your own again."),
    ] = None,
    names: Annotated[
        bool, typer.Option("--names", help="The names of your own, and what they find.")
    ] = False,
) -> None:
    """What a kind of appliance draws, from the catalog."""
    from loadlib.cli import lookup_text as text
    from loadlib.cli.output import out
    from loadlib.store.database import open_database

    database, said = open_database(), " ".join(words or ())
    if own or shipped or name or unname or names:
        from loadlib.cli import lookup_own as mine

        if own or shipped:
            mine.change_values(database, said, own or [], shipped or [])
        out.warn(*mine.change_names(database, said, name or [], unname or []))
        if names or (unname and not said):
            mine.show_names(database, out, as_json=as_json)
            return
    with database.bare() as connection:
        found = text.find(connection, said, everything, most)
    out.warn(*found.remarks)
    if as_json:
        out.json([text.json_of(row, details=details) for row in found.rows])
    elif everything:
        out.table(text.HEADERS, [text.table_row(row) for row in found.rows])
    elif details:
        out.text(*text.detail_lines(found.rows[0], out.width))
    else:
        out.text(*text.compact_lines(found.rows))
