"""loadlib usage: bills and interval files of a house, and the peak demand they imply."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from datetime import date

    from loadlib.core.series import ReadOptions, ReadResult

app = typer.Typer(
    add_completion=False,
    rich_markup_mode=None,
    no_args_is_help=True,
    help="Take in bills and interval files; peak demand.",
)
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON.")]
OfHouse = Annotated[str, typer.Option("--house", "-H", help="Which house, if there are several.")]
UsageFile = Annotated[Path, typer.Argument(help="Usage file, bill table or temperature file.")]
Zone = Annotated[str, typer.Option("--timezone", help="IANA name, if the file has local times.")]
Unit = Annotated[str, typer.Option(help="kWh, Wh, kW or W, if the file does not say.")]
Stamp = Annotated[str, typer.Option(help="Times are the start or the end of the interval.")]
DayFirst = Annotated[
    bool | None, typer.Option("--day-first/--month-first", help="How to read 03/04.")
]
Channel = Annotated[str, typer.Option(help="Which meter, if the file holds several.")]
ReaderName = Annotated[
    str, typer.Option("--reader", help="Reader to use instead of the one found.")
]
Mapping = Annotated[Path | None, typer.Option("--mapping", help="TOML file that names columns.")]


def _options(
    timezone: str, unit: str, stamp: str, day_first: bool | None, channel: str, mapping: Path | None
) -> ReadOptions:
    """What was said on the command line, over what a mapping file says."""
    from dataclasses import replace

    from loadlib.core.series import ReadOptions
    from loadlib.readers.mapping import load_mapping

    kept = load_mapping(mapping) if mapping else ReadOptions()
    return replace(
        kept,
        timezone=timezone or kept.timezone,
        unit=unit or kept.unit,
        stamp=stamp or kept.stamp,
        day_first=kept.day_first if day_first is None else day_first,
        channel=channel or kept.channel,
    )


def _read(file: Path, options: ReadOptions, reader: str) -> tuple[ReadResult, str]:
    from loadlib.cli.output import out
    from loadlib.host import Host
    from loadlib.readers import read_usage

    readers = [found for _, found in Host.load().readers()]
    with out.progress(f"reading {file.name}") as update:
        return read_usage(file, options, reader=reader or None, readers=readers, progress=update)


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
    mapping: Mapping = None,
    contradictions: Annotated[
        str, typer.Option(help="refuse, keep (what is stored) or replace (it).")
    ] = "refuse",
    as_json: AsJson = False,
) -> None:
    """Take a file in; the same again changes nothing, a contradiction is shown."""
    import hashlib
    from dataclasses import replace

    from loadlib.cli.output import out
    from loadlib.store.houses import load, pick
    from loadlib.store.imports import store_result

    name = pick(house)
    options = _options(timezone, unit, stamp, day_first, channel, mapping)
    if not options.timezone:
        options = replace(options, timezone=load(name).timezone)
    result, used = _read(file, options, reader)
    with file.open("rb") as opened:
        digest = hashlib.file_digest(opened, "sha256").hexdigest()
    report = store_result(
        name,
        result,
        file_name=file.name,
        sha256=digest,
        reader=used,
        contradictions=contradictions,
    )
    if as_json:
        out.json(report._asdict() | {"reader": used})
        return
    out.text(f"read as {used}", *(f"- {note}" for note in report.notes))
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
    mapping: Mapping = None,
    as_json: AsJson = False,
) -> None:
    """Read a file without storing it: what is in it, and how it was read."""
    from loadlib.cli.output import out

    options = _options(timezone, unit, stamp, day_first, channel, mapping)
    result, used = _read(file, options, reader)
    rows = [
        (s.channel, s.place, s.flow, s.step_s, s.mean_w.size, s.missing, s.energy_wh / 1000)
        for s in result.series
    ]
    headings = ("channel", "place", "flow", "step_s", "slots", "missing", "energy_kwh")
    if as_json:
        bills = [(str(b.first_day), str(b.day_after), b.energy_wh / 1000) for b in result.bills]
        out.json(
            {
                "reader": used,
                "series": [dict(zip(headings, row, strict=True)) for row in rows],
                "bills": [
                    {"first_day": a, "day_after": b, "energy_kwh": kwh} for a, b, kwh in bills
                ],
                "notes": list(result.notes),
            }
        )
        return
    out.text(f"read as {used}", *(f"- {note}" for note in result.notes))
    out.table(headings, rows)
    if result.bills:
        out.table(
            ("from", "to, not including", "kWh"),
            [(b.first_day, b.day_after, b.energy_wh / 1000) for b in result.bills],
        )


@app.command()
def bill(
    first_day: Annotated[str, typer.Argument(help="First day, YYYY-MM-DD.")],
    day_after: Annotated[str, typer.Argument(help="Day after the last, YYYY-MM-DD.")],
    kwh: Annotated[float, typer.Argument(help="Energy of the period, kWh.")],
    house: OfHouse = "",
    cost: Annotated[float | None, typer.Option(help="Money; never used as energy.")] = None,
    estimated: Annotated[bool, typer.Option("--estimated", help="An estimated read.")] = False,
) -> None:
    """Note one bill by hand."""
    from loadlib.cli.output import out
    from loadlib.core.series import BillPeriod, ReadResult
    from loadlib.errors import InputError
    from loadlib.store.houses import pick
    from loadlib.store.imports import store_result

    period = BillPeriod(
        _day(first_day), _day(day_after), kwh * 1000.0, cost, estimated, "typed by hand"
    )
    if period.duration_s <= 0 or kwh < 0:
        raise InputError(
            f"{first_day} to {day_after}, {kwh:g} kWh is no bill",
            hint="The second day comes after the first; energy is not negative.",
        )
    report = store_result(pick(house), ReadResult(bills=(period,)), reader="typed")
    mean_w = period.energy_wh / (period.duration_s / 3600.0)
    state = "stored" if report.import_id is not None else "was stored already"
    out.text(f"{state}: {kwh:g} kWh, a mean of {mean_w:,.0f} W")


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
        [(r.import_id, r.at, r.file_name, r.reader, r.slots, r.bills) for r in found],
    )


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
        float | None, typer.Option("--kwh", help="Instead of a house: the energy of one bill.")
    ] = None,
    days: Annotated[int, typer.Option(help="Length of that bill.", min=1, max=400)] = 30,
    window_min: Annotated[int, typer.Option("--window-min", help="15, 30 or 60.")] = 60,
    season: Annotated[
        str, typer.Option(help="Months in which an outage is likely, e.g. 12,1,2,3.")
    ] = "",
    as_json: AsJson = False,
) -> None:
    """The highest demand that bills and interval data imply, as a calibrated range."""
    from loadlib.cli import peak_answer
    from loadlib.cli.output import out
    from loadlib.store.houses import pick

    months = peak_answer.months_of(season)
    if kwh is not None:
        answer = peak_answer.of_one_bill(kwh, days, window_min, months)
    else:
        answer = peak_answer.of_house(pick(house), window_min, months)
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
) -> None:
    """Energy by month, demand by month and hour, and load-duration, as pictures."""
    from loadlib.cli.output import out
    from loadlib.cli.profile_files import write_text
    from loadlib.cli.usage_pictures import check_kind, pictures_of
    from loadlib.errors import InputError
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
    for kind in [of] if of else found.there():
        out.text(*found.lines(kind, out.width), "")
    for note in found.notes_on(of):
        out.wrapped(f"- {note}")
