"""loadlib profile: estimate, show, export and compare."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(
    add_completion=False,
    rich_markup_mode=None,
    no_args_is_help=True,
    help="Estimate, show, export and compare.",
)
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON.")]
ProfileFile = Annotated[Path, typer.Argument(help="Profile document, or - for stdin.")]


@app.command()
def make(
    house: Annotated[str, typer.Argument(help="Name of a house, or a house file (.toml).")],
    output: Annotated[
        Path | None, typer.Option("--out", "-o", help="Write the document here (- for stdout).")
    ] = None,
    estimator: Annotated[
        list[str] | None, typer.Option("--from", help="Hear only these estimators.")
    ] = None,
    file: Annotated[
        list[str] | None,
        typer.Option(
            "--file", metavar="PLUGIN=PATH", help="Hand a file to a plugin; house file keeps it."
        ),
    ] = None,
    seed: Annotated[int, typer.Option(help="Seed of all that is drawn at random.")] = 1,
    as_json: AsJson = False,
) -> None:
    """Estimate a house from all that is known about it."""
    from loadlib.cli.houses import evidence_for
    from loadlib.cli.output import out
    from loadlib.cli.profile_text import profile_lines
    from loadlib.estimating import estimate
    from loadlib.files import write_text

    evidence = evidence_for(house, files=file or [])
    with out.progress("estimating") as update:
        profile = estimate(evidence, estimators=estimator or (), seed=seed)
        update(1.0)
    if output is not None:
        write_text(output, profile.to_json())
        if str(output) == "-":
            return
    if as_json:
        out.text(profile.to_json().rstrip())
        return
    out.text(*profile_lines(profile, out.width))
    out.cautions(profile.cautions)


@app.command()
def show(
    file: ProfileFile,
    month: Annotated[int, typer.Option(min=1, max=12, help="Month of the day curve.")] = 1,
    place: Annotated[str, typer.Option(help='"whole" or "leg A".')] = "whole",
    as_json: AsJson = False,
) -> None:
    """The answer, the day curve and the loads, as text and pictures."""
    from loadlib.cli.output import out
    from loadlib.cli.profile_text import day_curve, load_bars, profile_lines
    from loadlib.files import read_profile

    profile = read_profile(file)
    if as_json:
        out.text(profile.to_json().rstrip())
        return
    out.text(*profile_lines(profile, out.width))
    out.text("", *day_curve(profile, month, place, out.width))
    out.text("", *load_bars(profile.loads, out.width))
    out.cautions(profile.cautions)


@app.command()
def export(
    file: ProfileFile,
    output: Annotated[Path, typer.Option("--out", "-o", help="File to write; - for stdout.")],
    form: Annotated[str, typer.Option("--as", help="json, csv or arrow.")] = "json",
    table: Annotated[
        str, typer.Option(help="csv only: document, demand, loads, peaks, energy or claims.")
    ] = "document",
) -> None:
    """The document as JSON, CSV or an Arrow stream."""
    from loadlib.errors import NotFound
    from loadlib.exchange.tables import arrow_bytes, to_csv
    from loadlib.files import read_profile, write_text

    profile = read_profile(file)
    if form == "json":
        write_text(output, profile.to_json())
    elif form == "csv":
        write_text(output, to_csv(profile, table))
    elif form == "arrow":
        write_text(output, arrow_bytes(profile))
    else:
        raise NotFound("form", form, near=("json", "csv", "arrow"))


@app.command()
def compare(
    before: ProfileFile,
    after: Annotated[Path, typer.Argument(help="Profile document to compare with.")],
    as_json: AsJson = False,
) -> None:
    """Two profiles: what differs, in words and as a table."""
    from dataclasses import asdict

    from loadlib.cli.output import out
    from loadlib.exchange.compare import at_the_surface, in_words
    from loadlib.exchange.compare import compare as differences
    from loadlib.files import read_profile

    found = differences(read_profile(before), read_profile(after))
    if as_json:
        out.json([asdict(item) for item in found])
        return
    for line in in_words(found):
        out.wrapped(line)
    rows = [(item.what, *at_the_surface(item)) for item in found]
    out.table(("what", "before", "after", "unit"), rows)


@app.command()
def schema() -> None:
    """The JSON Schema (2020-12) of the document."""
    from loadlib.cli.output import out
    from loadlib.exchange.json_document import committed_schema

    out.json(committed_schema())
