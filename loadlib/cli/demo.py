"""loadlib demo: the farmhouse on the ridge, from labels and a usage file to a profile."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(add_completion=False, rich_markup_mode=None)


@app.command()
def demo(
    output: Annotated[
        Path, typer.Option("--out", "-o", help="Where to write the profile document.")
    ] = Path("farmhouse-profile.json"),
    as_json: Annotated[bool, typer.Option("--json", help="Print the document only.")] = False,
) -> None:
    """The farmhouse on the ridge, start to end."""
    from dataclasses import replace

    from loadlib.cli.output import out
    from loadlib.cli.profile_text import day_curve, load_bars, profile_lines
    from loadlib.core.series import ReadOptions
    from loadlib.estimating import estimate, evidence_of
    from loadlib.exchange.house_toml import house_from_toml
    from loadlib.files import read_text, write_text
    from loadlib.labels import explain, read_label
    from loadlib.readers import read_usage
    from loadlib.store.seed import seed_root

    folder = seed_root() / "demo"
    house = house_from_toml(read_text(folder / "farmhouse.toml"), path="farmhouse.toml")
    usage, reader = read_usage(
        folder / "usage_hourly.xml", ReadOptions(timezone="America/Los_Angeles")
    )
    evidence = replace(evidence_of(house), series=usage.series, bills=usage.bills)
    profile = estimate(evidence)
    if as_json:
        out.text(profile.to_json().rstrip())
        return

    out.text(f"1  {house.name}: {len(house.rooms)} rooms, {len(house.appliances)} appliances")
    for appliance in (house.appliance("sump-pump"), house.appliance("refrigerator")):
        out.text(f"   {appliance.name}, label: {appliance.label}")
        out.text(*(f"     {line}" for line in explain(read_label(appliance.label))))
    out.text("", f"2  usage file, read as {reader} (a Californian home stands in for the meter)")
    for series in usage.series:
        days = series.span_s / 86_400
        out.text(f"   {days:.0f} days of {series.step_s // 60} min, {series.missing} slots missing")
    out.text(*(f"   {note}" for note in usage.notes))
    out.text("", "3  the profile", "", *profile_lines(profile, out.width))
    out.text("", *day_curve(profile, 1, "whole", out.width))
    out.text("", *load_bars(profile.loads, out.width))
    out.cautions(profile.cautions)
    write_text(output, profile.to_json())
    out.text("", f"4  wrote {output}: look at it again with: loadlib profile show {output}")
