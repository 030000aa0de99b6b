"""The root command, whose sub-commands are imported only when they are run."""

from __future__ import annotations

import os
from typing import Annotated

import typer

from loadlib.cli.lazy import LazyGroup

app = typer.Typer(
    cls=LazyGroup,
    name="loadlib",
    help="What a house really draws: appliance by appliance, leg by leg, hour by hour.",
    epilog="All results are estimates. A licensed electrician and your local code decide.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _version(asked: bool) -> None:
    if asked:
        import loadlib

        print(f"loadlib {loadlib.__version__}")
        raise typer.Exit


@app.callback()
def root(
    db: Annotated[
        str, typer.Option("--db", metavar="FILE", help="Database to use instead of your own.")
    ] = "",
    debug: Annotated[bool, typer.Option("--debug", help="Show tracebacks of errors.")] = False,
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """What a house really draws: appliance by appliance, leg by leg, hour by hour."""
    if db:
        os.environ["LOADLIB_DB"] = db
    if debug:
        os.environ["LOADLIB_DEBUG"] = "1"
