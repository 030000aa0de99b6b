"""loadlib reading: note clamp, plug-in and meter readings; what to measure next."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from loadlib.cli.logged import logged

if TYPE_CHECKING:
    from loadlib.core.profile import LoadProfile

app = typer.Typer(
    add_completion=False,
    rich_markup_mode=None,
    no_args_is_help=True,
    help="Note clamp, plug and meter readings.",
)
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON.")]
OfHouse = Annotated[str, typer.Option("--house", "-H", help="Which house, if there are several.")]


@app.command()
def add(
    words: Annotated[
        list[str], typer.Argument(help='"leg A 23.4 A", "dryer A 21.9 B 25.6", "pump 8.9 A".')
    ],
    house: OfHouse = "",
    by: Annotated[str, typer.Option(help="clamp, plug, meter (display) or source (display).")] = "",
    kind: Annotated[str, typer.Option(help="running, cycling, peak hold or inrush.")] = "",
    legs: Annotated[str, typer.Option(help="Legs that were clamped: A, B or AB.")] = "",
    accuracy: Annotated[str, typer.Option(help='Of the instrument, e.g. "2% + 3".')] = "",
    at: Annotated[str, typer.Option(help="When, ISO 8601; now if not given.")] = "",
    outdoor: Annotated[str, typer.Option(help='Outdoor temperature, "-5 C" or "23 F".')] = "",
    note: Annotated[str, typer.Option(help="A note.")] = "",
    sure: Annotated[bool, typer.Option("--sure", help="Questions are answered with yes.")] = False,
    as_json: AsJson = False,
) -> None:
    """Note one reading; what looks wrong is asked before it is stored."""
    from loadlib.clamp.mistakes import check_reading, target_of
    from loadlib.clamp.words import read_words
    from loadlib.cli import reading_words as words_of
    from loadlib.cli.output import out
    from loadlib.core.readings import Reading
    from loadlib.errors import InputError
    from loadlib.store.evidence import load_evidence
    from loadlib.store.houses import pick
    from loadlib.store.readings import add_reading

    name = pick(house)
    evidence = load_evidence(name)
    said = read_words(" ".join(words), evidence.house)
    fields = said.fields
    tool = words_of.tool(by, fields)
    words_of.complete(fields, tool, kind=kind, accuracy=accuracy, at=at, outdoor=outdoor, note=note)
    if legs:
        fields["legs"], said.legs_said = evidence.house.supply.legs_of(legs), True
    reading = Reading(said.place, words_of.INSTRUMENTS[tool], **fields)
    expected_w = words_of.expected_w(said.place, evidence)
    target = target_of(said.place, evidence.house, expected_w=expected_w)
    words_of.one_leg_at_a_time(reading, evidence.house.supply.legs)
    words_of.check_legs(reading, target)
    reading = words_of.ask_legs(reading, target, sure=sure)
    exports = any(one.flow in ("export", "net") for one in evidence.series)
    doubts = check_reading(reading, evidence.house, target, exports=exports)
    grave = [doubt.words for doubt in doubts if doubt.weight == "stop"]
    if grave:
        raise InputError(grave[0], hint=" ".join(["Nothing was stored.", *grave[1:]]))
    questions = [doubt.words for doubt in doubts if doubt.weight == "ask"]
    questions += words_of.odd_size(reading, expected_w, evidence.house.supply)
    words_of.ask(questions + words_of.unnamed_change(reading), sure=sure)
    taken = words_of.taken(reading, evidence)
    number = add_reading(name, reading)
    remarks = [doubt.words for doubt in doubts if doubt.weight == "note"]
    if as_json:
        out.json({"reading": number, "place": reading.place, "remarks": remarks})
    else:
        out.text(
            f"stored as reading {number}: {words_of.spoken(reading)}",
            *taken,
        )
        out.text(*(f"- {remark}" for remark in remarks))
    if tool == "clamp":
        words_of.caution(as_json)


@app.command("list")
def list_(house: OfHouse = "", as_json: AsJson = False) -> None:
    """The readings of a house, with the number that remove wants."""
    from loadlib.cli import reading_words as words_of
    from loadlib.cli.output import out
    from loadlib.store.houses import pick
    from loadlib.store.readings import list_readings

    found = list_readings(pick(house))
    rows = [
        (
            number,
            one.place,
            words_of.spoken(one).partition(", ")[2],
            one.at.isoformat() if one.at else "",
        )
        for number, one in found.items()
    ]
    headings = ("reading", "place", "what was read", "at")
    if as_json:
        out.json([dict(zip(headings, row, strict=True)) for row in rows])
        return
    out.table(headings, rows)
    if not rows:
        out.warn("No reading yet. What to read, safest first: loadlib reading next")


@app.command()
def remove(
    number: Annotated[int, typer.Argument(help="Number of the reading, from list.")],
    house: OfHouse = "",
    as_json: AsJson = False,
) -> None:
    """Delete one reading."""
    from loadlib.cli.output import out
    from loadlib.errors import NotFound
    from loadlib.store.houses import pick
    from loadlib.store.readings import list_readings, remove_reading

    name = pick(house)
    try:
        remove_reading(name, number)
    except NotFound:
        there = tuple(map(str, list_readings(name)))
        hint = None if there else f"{name} has no reading."
        raise NotFound("reading", str(number), near=there[-8:], hint=hint) from None
    if as_json:
        out.json({"deleted": number})
        return
    out.text(f"deleted reading {number}")


@app.command("next")
def next_(
    profile: Annotated[
        str, typer.Argument(help="Profile document or - for stdin; else the stored house.")
    ] = "",
    house: OfHouse = "",
    as_json: AsJson = False,
) -> None:
    """What to measure next: what narrows the answer most, safest first among equals."""
    from dataclasses import asdict

    from loadlib.cli.output import out

    found = _profile(profile, house)
    if as_json:
        out.json(
            {
                "house": found.house,
                "suggestions": [asdict(one) for one in found.suggestions],
                "cautions": list(found.cautions),
            }
        )
        return
    if not found.suggestions:
        out.text("Nothing that can be measured would narrow the answer by much.")
    for place, one in enumerate(found.suggestions, start=1):
        who = " (qualified person only)" if one.qualified_person else ""
        out.wrapped(f"{place}. {one.text}{who}")
    out.cautions(found.cautions)


def _profile(path: str, house: str) -> LoadProfile:
    from loadlib.cli.houses import evidence_for
    from loadlib.estimating import estimate
    from loadlib.files import read_profile
    from loadlib.store.houses import pick

    return read_profile(Path(path)) if path else estimate(evidence_for(pick(house)))


@app.command()
def log(
    file: Annotated[Path, typer.Argument(help="Clamp or plug-in meter log, delimited text.")],
    house: OfHouse = "",
    timezone: Annotated[str, typer.Option("--timezone", help="IANA name of the log's clock.")] = "",
    column: Annotated[
        list[str] | None,
        typer.Option(
            "--column", metavar="PLACE=HEADING", help='e.g. "leg A=CH1 (A)", "ignore=CH4".'
        ),
    ] = None,
    unit: Annotated[
        str, typer.Option(help="Of stated columns whose heading has none: A, mA, V, W, kW.")
    ] = "",
    day_first: Annotated[
        bool | None, typer.Option("--day-first/--month-first", help="How to read 03/04.")
    ] = None,
    contradictions: Annotated[
        str, typer.Option(help="refuse, keep (what is stored) or replace (it).")
    ] = "refuse",
    as_json: AsJson = False,
) -> None:
    """Store a log as series; legs, circuits and appliances by its headings."""
    from loadlib.cli import reading_words as words_of
    from loadlib.cli.output import out
    from loadlib.cli.reading_log import count_times_on, store_log
    from loadlib.core.series import ReadOptions
    from loadlib.store.houses import load, pick

    name = pick(house)
    home = load(name)
    columns = _columns(column or [])
    options = ReadOptions(
        timezone or home.timezone, day_first=day_first, columns=columns, unit=_unit(unit, columns)
    )
    report, places = store_log(name, home, file, options, contradictions)
    times_on = count_times_on(name, places)
    if as_json:
        out.json(report._asdict() | {"places": places.values, "times_on": dict(times_on)})
        return
    out.text(*(f"- {note}" for note in report.notes))
    for place, count in places.values.items():
        seen = f", {times_on[place]:,} times on in all that is stored" if place in times_on else ""
        out.text(f"{place}: {count:,} values of {places.step_s} s{seen}")
    if report.contradicted:
        which = "these count now" if contradictions == "replace" else "what was stored stays"
        out.text(f"{report.contradicted:,} values differ from what was stored: {which}")
    if report.same and report.added:
        out.text(f"{report.same:,} values were there already")
    state = f"import {report.import_id}" if report.import_id is not None else "nothing new"
    out.text(f"stored {report.added:,} values for {name} ({state})")
    out.text("What it shows: loadlib reading logged")
    words_of.caution(as_json)


def _columns(pairs: list[str]) -> tuple[tuple[str, str], ...]:
    from loadlib.errors import InputError

    found = []
    for pair in pairs:
        place, sign, heading = pair.partition("=")
        if not sign or not place.strip() or not heading.strip():
            raise InputError(f"--column {pair!r}", hint='Write "leg A=HEADING".')
        found.append((place.strip(), heading.strip()))
    return tuple(found)


def _unit(unit: str, columns: tuple[tuple[str, str], ...]) -> str:
    from loadlib.errors import InputError

    known = ("A", "mA", "V", "W", "kW", "VA", "kVA")
    if unit and unit.casefold() not in {one.casefold() for one in known}:
        raise InputError(f"--unit {unit!r}", hint="One of: " + ", ".join(known))
    if unit and not columns:
        raise InputError("--unit without --column", hint='For example --column "leg A=CH1".')
    return unit


app.command()(logged)
