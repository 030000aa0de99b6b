"""loadlib report: the page about a profile."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(
    add_completion=False,
    rich_markup_mode=None,
    no_args_is_help=True,
    help="One self-contained page about a profile, to look at and print.",
)


@app.callback()
def _group() -> None:
    """Keeps ``page`` a word of its own while there is only one command."""


@app.command()
def page(
    profile: Annotated[Path, typer.Argument(help="Profile document, or - for stdin.")],
    output: Annotated[
        Path, typer.Option("--out", "-o", help="HTML file to write; - for stdout.")
    ] = Path("house-page.html"),
    month: Annotated[
        int | None,
        typer.Option(min=1, max=12, help="Month of the day curves; default: the hungriest."),
    ] = None,
) -> None:
    """Write one HTML file that needs no network: pictures, tables, sources, the document."""
    from loadlib import read_profile, write_text
    from loadlib_report.page import page as html

    write_text(output, html(read_profile(profile), month=month))
    if str(output) != "-":
        typer.echo(f"wrote {output}: open it in any browser", err=True)
