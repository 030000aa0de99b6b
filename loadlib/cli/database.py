"""loadlib database: where the data lives; check, copy, mend."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(
    add_completion=False,
    rich_markup_mode=None,
    no_args_is_help=True,
    help="Where the data lives; check, copy, mend.",
)

Json = Annotated[bool, typer.Option("--json", help="Print JSON.")]


@app.command()
def where(as_json: Json = False) -> None:
    """Path, size and contents of the database."""
    from loadlib.cli.output import out
    from loadlib.store import upkeep

    state = upkeep.where()
    if as_json:
        out.json(state._asdict())
    elif not state.exists:
        out.text(state.path, "not made yet: the first look-up makes it")
    else:
        rights = "" if state.writable else ", can only be read"
        out.text(
            state.path,
            f"{state.size_bytes:,} bytes, schema {state.revision}{rights}",
            f"{state.categories} categories, {state.own_values} values of your own",
            f"{state.houses} houses",
        )


@app.command()
def check(
    mend: Annotated[
        bool, typer.Option("--mend", help="Build the indexes anew, then check.")
    ] = False,
    as_json: Json = False,
) -> None:
    """Look for damage; ends with code 5 if there is any."""
    from loadlib import settings
    from loadlib.cli.output import out
    from loadlib.errors import CatalogError
    from loadlib.store import upkeep

    troubles = upkeep.mend() if mend else upkeep.check()
    if as_json:
        out.json({"path": str(settings.database_path()), "troubles": troubles})
    else:
        out.text(*(troubles or ["no fault found"]))
    if troubles:
        raise CatalogError(
            f"{len(troubles)} faults",
            path=str(settings.database_path()),
            hint="Try: loadlib database check --mend. Else bring back a copy: "
            "loadlib database restore FILE.",
        )


@app.command()
def backup(
    file: Annotated[Path, typer.Argument(help="The new file to copy into.")], as_json: Json = False
) -> None:
    """Copy the database into a new file, also while it is in use."""
    from loadlib.cli.output import out
    from loadlib.store import upkeep

    size_bytes = upkeep.backup(file)
    if as_json:
        out.json({"path": str(file), "size_bytes": size_bytes})
    else:
        out.text(f"copied to {file} ({size_bytes:,} bytes), checked")


@app.command()
def restore(
    file: Annotated[Path, typer.Argument(help="A copy made by backup.")], as_json: Json = False
) -> None:
    """Put a copy in the database's place; what was there is kept beside it."""
    from loadlib.cli.output import out
    from loadlib.store import upkeep

    kept = upkeep.restore(file)
    if as_json:
        out.json({"restored": str(file), "kept": str(kept) if kept else None})
        return
    out.text(f"{file} is in place")
    if kept:
        out.text(f"what was there: {kept}")


@app.command()
def tune(
    wal: Annotated[
        bool | None,
        typer.Option(
            "--wal/--no-wal",
            help="Let readers and one writer work at once; never on a network drive.",
        ),
    ] = None,
    as_json: Json = False,
) -> None:
    """Pack the file and refresh its statistics."""
    from loadlib.cli.output import out
    from loadlib.store import upkeep

    before, after = upkeep.tune(wal=wal)
    if as_json:
        out.json({"bytes_before": before, "bytes_after": after})
    else:
        out.text(f"{before:,} bytes before, {after:,} after")
