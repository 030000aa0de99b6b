"""loadlib plugins: list them, and write the skeleton of a new one."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(
    add_completion=False,
    rich_markup_mode=None,
    no_args_is_help=True,
    help="List plugins; make one of your own.",
)
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON.")]


@app.command("list")
def list_(
    as_json: AsJson = False,
    load: Annotated[
        bool, typer.Option("--load", help="Import each one too, and say what it brings.")
    ] = False,
) -> None:
    """Plugins that are installed, with versions; --load shows faults and what they bring."""
    from dataclasses import asdict

    from loadlib.cli.output import out
    from loadlib.host import Host, listed

    records = Host.load().records if load else listed()
    if as_json:
        out.json([asdict(record) for record in records])
        return
    out.table(
        ("name", "package", "version", "state", "brings or fault"),
        [
            (r.name, r.distribution, r.version, r.state, r.error or ", ".join(r.brings))
            for r in records
        ],
    )


@app.command()
def new(
    name: Annotated[str, typer.Argument(help="A Python name, e.g. ridge_pump.")],
    into: Annotated[Path, typer.Option("--into", help="Folder to write to.")] = Path("."),
    appliance: Annotated[
        str, typer.Option("--appliance", help="Appliance id that its claims are about.")
    ] = "pump",
) -> None:
    """Write a complete plugin package: estimator, tests, packaging."""
    from loadlib.cli.output import out
    from loadlib.testing.scaffold import write_plugin

    written = write_plugin(name, into, appliance=appliance)
    root = into / f"loadlib-{name.replace('_', '-')}"
    out.text(*(f"wrote {path}" for path in written))
    out.text("", f"Next: cd {root}; python -m venv .venv;", "  .venv/bin/pip install -e . pytest;")
    out.text("  .venv/bin/pytest")


@app.command()
def heard(
    profile: Annotated[Path, typer.Argument(help="Profile document.")],
    estimator: Annotated[str, typer.Option("--from", help="Only this estimator.")] = "",
    as_json: AsJson = False,
) -> None:
    """Which claims of which estimator were believed, and how far."""
    from dataclasses import asdict

    from loadlib.cli.output import out
    from loadlib.files import read_profile

    records = [c for c in read_profile(profile).claims if estimator in ("", c.estimator)]
    if as_json:
        out.json([asdict(record) for record in records])
        return
    for record in records:
        out.wrapped(f"{record.estimator}: {record.text}")
        out.wrapped(f"  {_verdict(record.weight, record.sigmas)}")


def _verdict(weight: float, sigmas: float) -> str:
    """What became of a claim. What counts in full may still be far from what came out.

    Measurements of one number that contradict each other all count, and the result lies
    between them: none of them is believed as it stands.
    """
    from loadlib.estimators.records import FAR_SIGMAS

    far = f"{abs(sigmas):.1f} of its own standard deviations from the result"
    if weight >= 0.8 and abs(sigmas) > FAR_SIGMAS:
        return f"contradicted: it counts, but is {far}"
    if weight >= 0.8:
        return f"believed; {far}"
    if weight >= 0.3:
        return f"believed in part ({weight:.0%}); {far}"
    return f"hardly believed ({weight:.0%}); {far}"
