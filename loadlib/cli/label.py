"""loadlib label: read the text of a rating label."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from loadlib.labels import RatingLabel

app = typer.Typer(add_completion=False, rich_markup_mode=None)


@app.command()
def label(
    text: Annotated[list[str], typer.Argument(help="The text as it stands on the label.")],
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Read the text of a rating label."""
    from dataclasses import asdict

    from loadlib.cli.output import out
    from loadlib.errors import EXIT_VERDICT
    from loadlib.labels import explain, read_label

    reading = read_label(" ".join(text))
    if as_json:
        # A refusal is part of this answer (``refused``), so it is no error here.
        out.json(asdict(reading))
        return
    _refuse_unreadable(reading)
    out.text(*explain(reading))
    if reading.refused is not None:
        raise typer.Exit(EXIT_VERDICT)


def _refuse_unreadable(reading: RatingLabel) -> None:
    """An error where nothing can be read, or where a figure is impossible."""
    from loadlib.errors import InputError, LabelUnreadable

    refused = reading.refused or ""
    if refused.startswith("impossible"):
        raise InputError(
            f"{reading.text!r}: {refused}", hint="Look at the label again: figure and unit."
        )
    if refused.startswith(("nothing electrical", "empty")):
        raise LabelUnreadable(
            f"{reading.text!r:.60}: {refused}",
            text=reading.text,
            hint="Type volts and amps, or watts, as they stand, e.g.: loadlib label 115V 6.5A",
        )
