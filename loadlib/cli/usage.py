"""loadlib usage: bills and interval files of a house, and the peak demand they imply."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from datetime import date

app = typer.Typer(
    add_completion=False,
    rich_markup_mode=None,
    no_args_is_help=True,
    help="Take in bills and interval files; peak demand.",
)
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON.")]
OfHouse = Annotated[str, typer.Option("--house", "-H", help="Which house, if there are several.")]
UsageFile = Annotated[
    Path, typer.Argument(help="Usage file, bill table or temperature file; - for stdin.")
]
Zone = Annotated[str, typer.Option("--timezone", help="IANA name, if the file has local times.")]
Unit = Annotated[str, typer.Option(help="kWh, Wh, kW or W (°C or °F), if the file does not say.")]
Stamp = Annotated[str, typer.Option(help="Times are the start or the end of the interval.")]
DayFirst = Annotated[
    bool | None, typer.Option("--day-first/--month-first", help="How to read 03/04.")
]
Channel = Annotated[
    str, typer.Option(help="Which meter, if the file holds several; its name, if it holds none.")
]
ReaderName = Annotated[
    str, typer.Option("--reader", help="Reader to use instead of the one found.")
]
Contradictions = Annotated[str, typer.Option(help="refuse, keep (what is stored) or replace (it).")]
Mapping = Annotated[Path | None, typer.Option("--mapping", help="TOML file that names columns.")]
Columns = Annotated[
    list[str] | None,
    typer.Option("--column", metavar="MEANING=HEADING", help='For example "import=Qty"; again.'),
]
SaveMapping = Annotated[
    Path | None,
    typer.Option("--save-mapping", help="Keep what was stated as TOML, for next month's file."),
]

CLAMP_LOG = "clamp_log"
EMPTY_W = 30.0
"""Least mean demand of a house that is lived in: below it a unit is doubtful. Common practice,
no source."""


@app.command()
def add(
    file: UsageFile,
    house: OfHouse = "",
    timezone: Zone = "",
    unit: Unit = "",
    stamp: Stamp = "",
    day_first: DayFirst = None,
    channel: Channel = "",
    reader: ReaderName = "",
    column: Columns = None,
    mapping: Mapping = None,
    save: SaveMapping = None,
    contradictions: Contradictions = "refuse",
    as_json: AsJson = False,
) -> None:
    """Take a file in; the same again changes nothing, a contradiction is shown."""
    from dataclasses import replace

    from loadlib.cli.output import out
    from loadlib.cli.usage_read import options_of, read_file
    from loadlib.cli.usage_text import remarks, told
    from loadlib.errors import InputError
    from loadlib.readers.mapping import save_mapping
    from loadlib.store.houses import load, pick
    from loadlib.store.imports import store_result

    name = pick(house)
    options = options_of(
        timezone=timezone,
        unit=unit,
        stamp=stamp,
        day_first=day_first,
        channel=channel,
        columns=column or (),
        mapping=mapping,
    )
    if not options.timezone:
        options = replace(options, timezone=load(name).timezone)
    read = read_file(file, options, reader)
    if read.reader == CLAMP_LOG and not reader:
        raise InputError(
            f"{file.name} is the log of a clamp or plug meter",
            hint="Store it with: loadlib reading log FILE, which knows the legs and volts of the "
            f"house; or take it as it is with --reader {CLAMP_LOG}.",
        )
    report = store_result(
        name,
        read.result,
        file_name=file.name,
        sha256=read.sha256,
        reader=read.reader,
        contradictions=contradictions,
    )
    if save is not None:
        save_mapping(save, read.options)
    if as_json:
        out.json(report._asdict() | {"reader": read.reader, "notes": remarks(read.result)})
        return
    for line in told(read.result):
        out.wrapped(line)
    if report.contradicted:
        out.text(f"{report.contradicted:,} values contradict what was stored: {contradictions}")
    if report.import_id is None:
        out.text("All of it was stored already; nothing changed.")
        return
    out.text(
        f"stored {report.added:,} values for {name} (import {report.import_id}); "
        f"{report.same:,} were there already"
    )


@app.command()
def look(
    file: UsageFile,
    timezone: Zone = "",
    unit: Unit = "",
    stamp: Stamp = "",
    day_first: DayFirst = None,
    channel: Channel = "",
    reader: ReaderName = "",
    column: Columns = None,
    mapping: Mapping = None,
    save: SaveMapping = None,
    as_json: AsJson = False,
) -> None:
    """Read a file without storing it: what is in it, and how it was read."""
    from loadlib.cli.output import out
    from loadlib.cli.usage_read import options_of, read_file
    from loadlib.cli.usage_text import told, tree
    from loadlib.readers.mapping import save_mapping

    options = options_of(
        timezone=timezone,
        unit=unit,
        stamp=stamp,
        day_first=day_first,
        channel=channel,
        columns=column or (),
        mapping=mapping,
    )
    read = read_file(file, options, reader)
    if save is not None:
        save_mapping(save, read.options)
    if as_json:
        out.json({"reader": read.reader, **tree(read.result)})
        return
    for line in told(read.result):
        out.wrapped(line)
    if read.result.bills:
        out.table(
            ("from", "to, not including", "kWh"),
            [(b.first_day, b.day_after, b.energy_wh / 1000) for b in read.result.bills],
        )


@app.command()
def bill(
    first_day: Annotated[str, typer.Argument(help="First day, YYYY-MM-DD.")],
    day_after: Annotated[str, typer.Argument(help="Day after the last, YYYY-MM-DD.")],
    energy: Annotated[str, typer.Argument(metavar="KWH", help="Energy of the period, kWh.")],
    house: OfHouse = "",
    cost: Annotated[float | None, typer.Option(help="Money; never used as energy.")] = None,
    estimated: Annotated[bool, typer.Option("--estimated", help="An estimated read.")] = False,
    contradictions: Contradictions = "refuse",
) -> None:
    """Note one bill by hand."""
    from loadlib.cli.output import out
    from loadlib.cli.quantities import energy_wh
    from loadlib.cli.usage_read import check_bill
    from loadlib.core.series import BillPeriod, ReadResult
    from loadlib.store.houses import load, pick
    from loadlib.store.imports import store_result

    period = BillPeriod(
        _day(first_day), _day(day_after), energy_wh(energy), cost, estimated, "typed by hand"
    )
    name = pick(house)
    check_bill(period, load(name))
    report = store_result(
        name, ReadResult(bills=(period,)), reader="typed", contradictions=contradictions
    )
    mean_w = period.energy_wh / (period.duration_s / 3600.0)
    state = "stored" if report.import_id is not None else "was stored already"
    out.text(f"{state}: {period.energy_wh / 1000.0:g} kWh, a mean of {mean_w:,.0f} W")
    if mean_w < EMPTY_W:
        out.warn(f"{mean_w:.0f} W is less than an empty house draws: is it kWh?")


def _day(text: str) -> date:
    from datetime import date

    from loadlib.errors import InputError

    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(f"{text!r} is no day", hint="Write YYYY-MM-DD.") from None


@app.command("list")
def list_(house: OfHouse = "", as_json: AsJson = False) -> None:
    """What was taken in, with the number that remove wants."""
    from loadlib.cli.output import out
    from loadlib.store.houses import pick
    from loadlib.store.imports import list_imports

    found = list_imports(pick(house))
    if as_json:
        out.json([one._asdict() for one in found])
        return
    out.table(
        ("no.", "when (UTC)", "file", "reader", "slots", "bills"),
        [(r.import_id, r.at[:19], r.file_name, r.reader, r.slots, r.bills) for r in found],
    )
    if not found:
        out.warn("Nothing was taken in yet: loadlib usage add FILE, or loadlib usage bill.")


@app.command()
def remove(
    number: Annotated[int, typer.Argument(help="Number of the import, from list.")],
    house: OfHouse = "",
) -> None:
    """Delete one import; what an earlier one held stays."""
    from loadlib.cli.output import out
    from loadlib.store.houses import pick
    from loadlib.store.imports import delete_import

    delete_import(pick(house), number)
    out.text(f"deleted import {number}")


@app.command()
def peak(
    house: Annotated[str, typer.Argument(help="House with bills or a usage file.")] = "",
    kwh: Annotated[
        float | None,
        typer.Option("--kwh", min=0.0, help="Instead of a house: the energy of one bill."),
    ] = None,
    days: Annotated[int, typer.Option(help="Length of that bill.", min=1, max=400)] = 30,
    window_min: Annotated[
        int,
        typer.Option("--window-min", help="15, 30 or 60; 1 from the list of appliances."),
    ] = 60,
    season: Annotated[
        str, typer.Option(help="Months in which an outage is likely, e.g. 12,1,2,3.")
    ] = "",
    as_json: AsJson = False,
) -> None:
    """The highest demand that bills and interval data imply, as a calibrated range."""
    from loadlib.cli import peak_answer
    from loadlib.cli.output import out
    from loadlib.store.evidence import load_evidence
    from loadlib.store.houses import pick

    months = peak_answer.months_of(season)
    answer: peak_answer.Answer | peak_answer.ModelAnswer
    if kwh is not None:
        answer = peak_answer.of_one_bill(kwh, days, window_min, months)
    elif window_min == peak_answer.MODEL_WINDOW_MIN:
        answer = peak_answer.of_model(load_evidence(pick(house)), months)
    else:
        answer = peak_answer.of_house(load_evidence(pick(house)), window_min, months)
    if as_json:
        out.json(answer.tree())
        return
    answer.show(out)


@app.command()
def split(
    house: Annotated[str, typer.Argument(help="House with bills or a usage file.")] = "",
    southern: Annotated[
        bool, typer.Option("--southern", help="South of the equator: the winter is in July.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Base, heating and cooling in the bills, by the weather or else by the season."""
    from loadlib.cli.output import out
    from loadlib.cli.split_answer import split_of_house
    from loadlib.store.evidence import load_evidence
    from loadlib.store.houses import pick

    answer = split_of_house(load_evidence(pick(house)), southern=southern)
    if as_json:
        out.json(answer.tree())
        return
    answer.show(out)


@app.command()
def picture(
    house: Annotated[str, typer.Argument(help="House with bills or a usage file.")] = "",
    of: Annotated[
        str, typer.Option("--of", help="months, hours or duration; if not given, all there are.")
    ] = "",
    svg: Annotated[
        Path | None, typer.Option("--svg", help="Write the one picture here; - for stdout.")
    ] = None,
    southern: Annotated[
        bool, typer.Option("--southern", help="South of the equator: the winter is in July.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Energy by month, demand by month and hour, and load-duration, as pictures."""
    from loadlib.cli.output import out
    from loadlib.cli.usage_pictures import check_kind, pictures_of
    from loadlib.errors import InputError
    from loadlib.files import write_text
    from loadlib.store.evidence import load_evidence
    from loadlib.store.houses import pick

    if of:
        check_kind(of)
    elif svg is not None:
        raise InputError(
            "--svg writes one picture", hint="Say which: --of months, --of hours or --of duration."
        )
    found = pictures_of(load_evidence(pick(house)), southern=southern)
    if svg is not None:
        write_text(svg, found.svg(of))
        return
    if as_json:
        out.json(found.tree(of))
        return
    for kind in [of] if of else found.there():
        out.text(*found.lines(kind, out.width), "")
    for note in found.notes_on(of):
        out.wrapped(f"- {note}")
