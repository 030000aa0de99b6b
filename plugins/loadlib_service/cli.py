"""loadlib service: service demand by the published methods, line by line."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

app = typer.Typer(
    add_completion=False,
    rich_markup_mode=None,
    no_args_is_help=True,
    help="Service demand by the published methods, line by line.",
)

Edition = Annotated[
    str, typer.Option("--edition", help="Edition of NFPA 70 (NEC): 2017, 2020 or 2023. Required.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON.")]


@app.command()
def calc(
    facts: Annotated[
        Path, typer.Argument(help="Worksheet facts or house file (.toml), or a profile (.json); -.")
    ],
    edition: Edition = "",
    method: Annotated[
        list[str] | None,
        typer.Option("--method", help="standard, optional, existing or measured; may repeat."),
    ] = None,
    intervals: Annotated[
        Path | None, typer.Option("--intervals", help="Usage file with measured intervals.")
    ] = None,
    timezone: Annotated[
        str,
        typer.Option("--timezone", help="IANA name: zone of its local times, and of those shown."),
    ] = "",
    route: Annotated[
        str, typer.Option(help='Measured route: "year" (if not said) or "30 days".')
    ] = "",
    record_days: Annotated[
        float, typer.Option(help="Length of the record behind a profile's measured peak, days.")
    ] = 0.0,
    existing_hvac: Annotated[
        str, typer.Option(help='220.83(A): existing heating and cooling "whole" or "appliance".')
    ] = "whole",
    nominal: Annotated[
        bool, typer.Option("--nominal", help="Take plate amperes at nominal volts.")
    ] = False,
    page: Annotated[
        Path | None, typer.Option("--page", help="Write a printable page here.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Worksheets by every method that applies, before and after loads to be added."""
    from loadlib_service.compare import compare
    from loadlib_service.files import read_source, with_intervals

    source = read_source(facts, record_days=record_days, route=route)
    if intervals is not None:
        source = with_intervals(source, intervals, route=route, timezone=timezone)
    found = compare(
        source.dwelling,
        edition,
        added=source.added,
        record=source.record,
        methods=method or (),
        hvac_rule=existing_hvac,
        nominal=nominal,
    )
    if page is not None:
        from datetime import date

        from loadlib import write_text
        from loadlib_service.page import page as html

        write_text(page, html(found, printed_on=date.today()))
    _print(found, as_json)
    if any(row.headroom_a is not None and row.headroom_a < 0.0 for row in found.rows):
        from loadlib import EXIT_VERDICT

        raise typer.Exit(EXIT_VERDICT)


@app.command()
def cooking(
    kw: Annotated[list[float], typer.Argument(help="Rating of each appliance, kW.")],
    count: Annotated[int, typer.Option(help="How many of each rating.")] = 1,
    edition: Edition = "",
    rule: Annotated[str, typer.Option(help="least, column C or note 3.")] = "least",
    three_phase: Annotated[
        bool, typer.Option("--three-phase", help="On a three-phase, four-wire feeder.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Demand of household cooking appliances by Table 220.55."""
    from loadlib import InputError
    from loadlib_service.cooking import cooking_demand
    from loadlib_service.document import demand_document
    from loadlib_service.tables import check_edition

    if count < 1:
        raise InputError(f"count {count}", hint="Use 1 or more.")
    ratings = [rating * 1000.0 for rating in kw for _ in range(count)]
    edition = check_edition(edition)
    found = cooking_demand(ratings, edition, rule=rule, three_phase=three_phase)
    if as_json:
        _json(demand_document(found, edition))
        return
    for step in found.steps:
        _say(step)
    _say(f"demand {found.va:,.0f} VA (feeder or service; branch circuits: Note 4)")
    for name, va in found.ways:
        _say(f"  {name}: {va:,.0f} VA")
    for doubt in found.doubts(edition):
        _say(f"- {doubt}")


@app.command()
def diversity(
    load: Annotated[
        list[str],
        typer.Argument(help="PURPOSE=A,A,... in amperes, e.g. cooking=30 lighting=8."),
    ],
    volts: Annotated[float, typer.Option(help="The one voltage of the calculation.")] = 230.0,
    cooker_sockets: Annotated[int, typer.Option(help="Cooker units with a socket outlet.")] = 0,
    as_json: AsJson = False,
) -> None:
    """Non-US practice: maximum current of a household by a 230 V rule of diversity."""
    from loadlib_service.document import diversity_document
    from loadlib_service.files import parse_purpose
    from loadlib_service.nonus import diversity_230

    loads = [parse_purpose(text) for text in load]
    sheet = diversity_230(loads, volts=volts, cooker_sockets=cooker_sockets)
    if as_json:
        _json(diversity_document(sheet))
        return
    _say(sheet.label)
    for line in sheet.lines:
        _say(f"{line.text}: {line.connected_a:g} A, {line.rule}: {line.assumed_a:.1f} A")
    _say(f"assumed {sheet.assumed_a:.1f} A of {sheet.connected_a:g} A at {sheet.volts:g} V")
    for remark in sheet.remarks:
        _say(remark)


@app.command()
def group(
    own_peak_kw: Annotated[float, typer.Argument(help="Peak of one consumer, kW.")],
    consumers: Annotated[int, typer.Argument(help="How many alike consumers.")],
    coincidence: Annotated[
        float, typer.Option(help="Coincidence factor of very many consumers, from local data.")
    ],
    as_json: AsJson = False,
) -> None:
    """Non-US practice: after-diversity maximum demand of a group of consumers."""
    from loadlib_service.document import group_document
    from loadlib_service.nonus import group_demand

    found = group_demand(1000.0 * own_peak_kw, consumers, coincidence)
    if as_json:
        _json(group_document(found))
        return
    _say(found.label)
    _say(f"{found.consumers} consumers of {found.own_peak_w / 1000.0:,.2f} kW each")
    _say(f"coincidence factor {found.coincidence:.3f}")
    _say(f"peak of the group {found.group_peak_w / 1000.0:,.2f} kW")
    _say(f"after-diversity maximum demand {found.after_diversity_w / 1000.0:,.2f} kW each")
    for remark in found.remarks:
        _say(remark)


def _json(value: Any) -> None:
    import json

    typer.echo(json.dumps(value, allow_nan=False, ensure_ascii=False, indent=2))


def _width() -> int:
    import shutil

    return max(40, min(shutil.get_terminal_size((80, 24)).columns, 100))


def _say(text: str) -> None:
    """One sentence or entry, wrapped at the width of the terminal."""
    import textwrap

    for line in textwrap.wrap(text, _width(), subsequent_indent="  "):
        typer.echo(line)


def _print(found: Any, as_json: bool) -> None:
    from loadlib_service.document import comparison_document
    from loadlib_service.text import comparison_lines

    if as_json:
        _json(comparison_document(found))
        return
    for line in comparison_lines(found, _width()):
        # Control characters in a name from a file must not steer the terminal.
        typer.echo("".join(c if c.isprintable() else "�" for c in line))
