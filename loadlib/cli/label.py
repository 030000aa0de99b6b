"""loadlib label: read the text of a rating label."""

from __future__ import annotations

from typing import Annotated

import typer

app = typer.Typer(add_completion=False, rich_markup_mode=None)


@app.command()
def label(
    text: Annotated[list[str], typer.Argument(help="The text as it stands on the label.")],
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Read the text of a rating label."""
    from dataclasses import asdict

    from loadlib.cli.output import out
    from loadlib.labels import explain, read_label

    reading = read_label(" ".join(text))
    if as_json:
        out.json(asdict(reading))
    else:
        out.text(*explain(reading))
