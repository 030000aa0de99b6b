"""``loadlib standby``: check, plan, fuel, choose, live, card, example. Thin."""

from __future__ import annotations

import json
import sys
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from loadlib_standby.setting import Setting

app = typer.Typer(
    name="standby",
    help="Backup source: will it carry the house, in which order, for how long",
    add_completion=False,
    rich_markup_mode=None,
    no_args_is_help=True,
)

ProfileFile = Annotated[str, typer.Argument(metavar="PROFILE", help="load profile, or - for stdin")]
SourceFile = Annotated[Path, typer.Option("--source", "-s", help="source file (TOML)")]
CaseFile = Annotated[Path | None, typer.Option("--case", "-c", help="outage case file (TOML)")]
Circuits = Annotated[list[str] | None, typer.Option("--on", help="circuit or load; repeat")]
Json = Annotated[bool, typer.Option("--json", help="print the answer as JSON")]
Seed = Annotated[int, typer.Option("--seed", help="seed of the simulation")]


@app.command("check")
def check_command(
    profile: ProfileFile,
    source: SourceFile,
    case: CaseFile = None,
    on: Circuits = None,
    seed: Seed = 1,
    as_json: Json = False,
) -> None:
    """Running and starting load against every limit, and how often it would overload."""
    from loadlib_standby.check import check
    from loadlib_standby.engine import EXIT_VERDICT
    from loadlib_standby.show import check_text

    answer = check(_setting(profile, source, case, seed), tuple(on or ()), seed=seed)
    _print(answer, as_json, check_text(answer))
    if answer.negative:
        raise typer.Exit(EXIT_VERDICT)


@app.command("plan")
def plan_command(
    profile: ProfileFile,
    source: SourceFile,
    case: CaseFile = None,
    without: Annotated[list[str] | None, typer.Option(help="circuit to leave out; repeat")] = None,
    add: Annotated[list[str] | None, typer.Option(help="what must go off to add this")] = None,
    seed: Seed = 1,
    as_json: Json = False,
) -> None:
    """Which breakers, in which order, with what waits; what stays off; turns by the clock."""
    from loadlib_standby.check import deficits_of
    from loadlib_standby.circuits import best_move
    from loadlib_standby.doubt import doubts_of_plan
    from loadlib_standby.overload import overloads
    from loadlib_standby.restore import restoration_plan
    from loadlib_standby.rotation import turns
    from loadlib_standby.show import plan_text
    from loadlib_standby.swap import one_at_a_time, swap_for

    setting = _setting(profile, source, case, seed)
    plan = restoration_plan(setting, without=tuple(without or ()))
    over = overloads(setting.feed, setting.loads_on(plan.on), setting.case, seed=seed)
    left = [x.branch.name for x in plan.left_off if "no room" in x.why][:6]
    swaps = [swap_for(plan, name) for name in (add or left)]
    rotation = turns(plan)
    doubts = doubts_of_plan(plan)
    move = best_move(setting, plan.on)
    facts = {
        "house": setting.profile.house,
        "source": setting.source.name,
        "case": setting.case.words(),
        "steps": plan.steps,
        "left_off": plan.left_off,
        "one_at_a_time": one_at_a_time(plan),
        "swaps": swaps,
        "turns": rotation,
        "doubts": doubts,
        "leg_move": move,
        "gap": plan.gap,
        "proven": plan.schedule.proven,
        "bound": plan.schedule.bound,
        "unserved": plan.schedule.unserved,
        "slot_s": plan.slot_s,
        "restarts_counted": plan.restarts_counted,
        "planning_point": plan.point,
        "overloads": over,
        "deficits": deficits_of(setting, plan.on),
        "notes": plan.notes,
    }
    _print(facts, as_json, plan_text(plan, over, swaps, rotation, doubts, move))


@app.command("fuel")
def fuel_command(
    profile: ProfileFile,
    source: SourceFile,
    case: CaseFile = None,
    on: Circuits = None,
    smaller: Annotated[list[str] | None, typer.Option(help="a smaller list; repeat")] = None,
    seed: Seed = 1,
    as_json: Json = False,
) -> None:
    """Hours per tank or battery, refills, fuel for a night, three days, a week."""
    from loadlib_standby.endurance import endurance, saving
    from loadlib_standby.restore import restoration_plan
    from loadlib_standby.show import endurance_text
    from loadlib_standby.words import span

    setting = _setting(profile, source, case, seed)
    chosen = setting.positions(tuple(on)) if on else restoration_plan(setting).on
    answer = endurance(setting, chosen, seed=seed)
    words = ""
    facts: dict[str, object] = {"endurance": answer, "on": [setting.branches[i] for i in chosen]}
    if smaller:
        less, per_day = saving(setting, chosen, setting.positions(tuple(smaller)))
        words = (
            f"The smaller list takes {less.typical:,.0f} W in the mean and saves "
            f"{span(per_day, answer.unit, 1)} a day."
        )
        facts["smaller"] = {"mean_w": less, "saved_per_day": per_day}
    _print(facts, as_json, endurance_text(answer, words))


@app.command("choose")
def choose_command(
    profile: ProfileFile,
    source: SourceFile,
    case: CaseFile = None,
    on: Circuits = None,
    overloads: Annotated[float, typer.Option(help="overloads a day put up with")] = 0.1,
    step_w: Annotated[float, typer.Option(help="step of the curve, W")] = 500.0,
    as_json: Json = False,
) -> None:
    """Smallest ratings: overloads and what stays off against the running rating."""
    from loadlib_standby.choose import choose
    from loadlib_standby.show import choice_text

    setting = _setting(profile, source, case, 1)
    choice = choose(setting, tuple(on or ()), most_per_day=overloads, step_w=step_w)
    _print(choice, as_json, choice_text(choice))


@app.command("live")
def live_command(
    profile: ProfileFile,
    source: SourceFile,
    case: CaseFile = None,
    log: Annotated[Path, typer.Option(help="file that everything is written to")] = Path(
        "standby-log.jsonl"
    ),
    as_json: Json = False,
) -> None:
    """At the panel: step by step, with readings, until all is on."""
    from loadlib_standby.live import LiveSession
    from loadlib_standby.restore import restoration_plan
    from loadlib_standby.show import cautions_text
    from loadlib_standby.words import columns, wrapped

    plan = restoration_plan(_setting(profile, source, case, 1))
    typer.echo(cautions_text(), err=True)
    session = LiveSession(
        plan=plan,
        log=log,
        ask=_ask,
        say=lambda line: typer.echo(wrapped([line], columns()), nl=False, err=True),
        now=lambda: datetime.now().astimezone(),
    )
    result = session.run()
    text = f"On: {', '.join(result.on) or 'nothing'}. Log: {log}\n"
    _print({"result": result, "log": str(log)}, as_json, text)


@app.command("card")
def card_command(
    profile: ProfileFile,
    source: SourceFile,
    case: CaseFile = None,
    out: Annotated[Path | None, typer.Option(help="write a page to print (HTML) here")] = None,
    paper: Annotated[str, typer.Option(help="letter or A4; empty for the printer's own")] = "",
    as_json: Json = False,
) -> None:
    """One page for inside the panel door, as text or as HTML to print."""
    from loadlib_standby.card import as_text, card_of
    from loadlib_standby.card_html import as_html
    from loadlib_standby.engine import InputError, write_text
    from loadlib_standby.restore import restoration_plan
    from loadlib_standby.words import columns

    if paper.casefold() not in ("", "letter", "a4"):
        raise InputError(f"paper {paper!r}", hint="letter or A4.")
    card = card_of(restoration_plan(_setting(profile, source, case, 1)), date.today())
    if out is not None:
        write_text(out, as_html(card, paper=paper))
        typer.echo(f"Written to {out}: print it black on white, one page.", err=True)
    if out is None or as_json:
        _print(card, as_json, as_text(card, columns()))


@app.command("example")
def example_command(
    name: Annotated[str, typer.Argument(metavar="[NAME]", help="which; without it, the list")] = "",
    out: Annotated[
        Path | None, typer.Option("--output", "-o", help="write it to this new file")
    ] = None,
    as_json: Json = False,
) -> None:
    """Example source and outage files to start your own from."""
    from loadlib_standby.example import example_names, example_text, write_example
    from loadlib_standby.words import columns, wrapped

    if not name:
        names = example_names()
        text = wrapped((f"{key}: {about}" for key, about in names.items()), columns())
        _print({"examples": names}, as_json, text)
    elif out is not None:
        write_example(name, out)
        typer.echo(f"Written to {out}: put in the figures of your own.", err=True)
    else:
        text = example_text(name)
        _print({"name": name, "text": text}, as_json, text)


def _ask(question: str) -> str:
    """An answer from the terminal; the end of the input stops the session."""
    from loadlib_standby.words import columns, wrapped

    typer.echo(wrapped([f"{question}:"], columns()).rstrip("\n") + " ", nl=False, err=True)
    answer = sys.stdin.readline()
    return answer.strip() if answer else "stop"


def _setting(profile: str, source: Path, case: Path | None, seed: int) -> Setting:
    from loadlib_standby.case_file import read_case
    from loadlib_standby.engine import read_profile
    from loadlib_standby.setting import setting_of
    from loadlib_standby.source_file import read_source

    house = read_profile(Path(profile))
    return setting_of(house, read_source(source), read_case(case) if case else None, seed=seed)


def _print(answer: object, as_json: bool, text: str) -> None:
    """Text, or JSON with the cautions beside the answer."""
    from loadlib_standby.facts import CAUTIONS
    from loadlib_standby.words import plain

    if not as_json:
        typer.echo(text, nl=False)
        return
    data = plain(answer)
    assert isinstance(data, dict)  # every answer here is a record
    typer.echo(json.dumps({**data, "cautions": list(CAUTIONS)}, indent=2, allow_nan=False))
