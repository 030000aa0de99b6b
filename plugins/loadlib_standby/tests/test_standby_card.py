"""The card: what stands on it, in text and on paper; and the commands."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser
from pathlib import Path

import pytest
from typer.testing import CliRunner

from loadlib import LoadlibError, Range
from loadlib_standby.card import as_text, card_of
from loadlib_standby.card_html import as_html
from loadlib_standby.case_file import read_case
from loadlib_standby.choose import bare_source
from loadlib_standby.commands import app
from loadlib_standby.facts import CAUTIONS, safety_fact, topics
from loadlib_standby.hooks import LOADLIB_HOOK_API, loadlib_commands
from loadlib_standby.restore import RestorePlan, restoration_plan, wait_after_trip_s
from loadlib_standby.setting import setting_of
from loadlib_standby.source import Battery, Source
from loadlib_standby.source_file import read_source
from loadlib_standby.tests.farmhouse import a_load, cords_source, example, profile, setting
from loadlib_standby.words import duration, plain, span, wrapped

MADE = date(2026, 11, 25)
BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")


@pytest.fixture(scope="module")
def plan() -> RestorePlan:
    return restoration_plan(setting())


def long_plan() -> RestorePlan:
    """A house of some thirty circuits in the plan."""
    extra = tuple(a_load(f"bedroom outlets {k}", 40, legs="AB"[k % 2], duty=0.3) for k in range(22))
    return restoration_plan(
        setting_of(profile(extra=extra), read_source(example("source_generator_7200")))
    )


def test_blocks_stand_in_the_order_of_the_hands(plan: RestorePlan) -> None:
    text = as_text(card_of(plan, MADE))
    heads = [
        "FIRST", "BEFORE THE FIRST STEP", "SWITCH ON", "NEVER", "TURNS BY THE CLOCK", "IF IT TRIPS",
        "FUEL", "STREET POWER IS BACK", "NOTES",
    ]  # fmt: skip
    places = [text.index(f"\n{head}") for head in heads]
    assert places == sorted(places)


def test_cautions_come_first_and_say_what_they_must(plan: RestorePlan) -> None:
    text = as_text(card_of(plan, MADE))
    top = text[: text.index("SWITCH ON")]
    for words in ("20 FT", "NEVER in a garage", "CO ALARMS", "two plugs", "OFF AND COLD"):
        assert words in top
    assert "safe" not in text.casefold()


def test_steps_are_ticked_in_order_with_amps_per_leg(plan: RestorePlan) -> None:
    card = card_of(plan, MADE)
    assert [step.number for step in card.steps] == list(range(1, len(plan.steps) + 1))
    assert card.steps[0].label == "SLOT 2-4 WELL PUMP"
    assert card.steps[0].legs == ("9", "9")
    assert card.leg_limits == ("30", "30")


def test_nothing_is_both_never_and_sometimes(plan: RestorePlan) -> None:
    card = card_of(plan, MADE)
    sometimes = " ".join((*card.one_at_a_time, *card.swaps, *card.turns))
    assert card.never == ("SLOT 14-16 DRYER",)
    assert not any(label in sometimes for label in card.never)


def test_trip_and_way_back(plan: RestorePlan) -> None:
    card = card_of(plan, MADE)
    assert card.trips[0] == "ALL CIRCUIT BREAKERS OFF. WAIT 5 MIN."
    assert "WITHOUT THE STEP THAT FAILED" in card.trips[1]
    assert "ELECTRICIAN" in card.trips[2]
    assert "STREET LIGHTS" in card.back[0]
    assert card.back[1:4] == (
        "ALL CIRCUIT BREAKERS OFF",
        "INLET BREAKER OFF",
        "INTERLOCK BACK, MAIN BREAKER ON",
    )
    assert wait_after_trip_s(plan) == 300.0


def test_lines_keep_to_the_width(plan: RestorePlan) -> None:
    for width in (45, 78):
        assert max(len(x) for x in as_text(card_of(plan, MADE), width).splitlines()) <= width


def test_each_way_of_connecting_has_its_own_beginning_and_end() -> None:
    card = card_of(restoration_plan(setting_of(profile(), cords_source())), MADE)
    assert "UNPLUG" in card.before[0]
    assert "STREET" not in " ".join(card.before)


def test_a_battery_has_no_set_to_start_and_nothing_to_fill() -> None:
    battery = Battery(running_w=6000, starting_w=9000, capacity_kwh=15)
    house = setting_of(profile(), Source(name="battery", battery=battery))
    card = card_of(restoration_plan(house), MADE)
    hands = " ".join((*card.before, *card.back))
    assert "INVERTER ON" in hands
    assert "SET" not in hands.replace("RESET", "").split()
    assert not any("FILLED" in line for line in card.fuel)


def test_what_is_on_no_cord_is_not_called_never_and_medical_comes_first() -> None:
    card = card_of(restoration_plan(setting_of(profile(), cords_source())), MADE)
    assert card.never == ()
    assert "OXYGEN CONCENTRATOR" in card.unconnected
    assert card.cautions[-1].startswith("MEDICAL, NOT ON THIS SOURCE: OXYGEN CONCENTRATOR")
    assert card.trips[0].startswith("UNPLUG EVERYTHING")


def test_a_start_in_doubt_is_marked_and_said() -> None:
    pump = a_load("sump pump", 800, priority="must", start_va=Range(2000, 3500, 5500), kind="motor")
    house = setting_of(
        replace(profile(extra=(pump,)), loads=(pump,)), bare_source(8000, 9000, "120/240")
    )
    card = card_of(restoration_plan(house), MADE)
    assert card.steps[0].doubtful
    text = as_text(card)
    assert "SUMP PUMP (?)" in text
    assert "OFF AT ONCE" in text
    assert "OFF AT ONCE" in as_html(card)
    sure = as_text(card_of(restoration_plan(setting()), MADE))
    assert "(?)" not in sure


class _Outside(HTMLParser):
    """Finds anything that would be fetched or run."""

    found: list[str]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in ("script", "img", "link", "iframe") or any(
            k in ("src", "href") for k, _ in attrs
        ):
            self.found.append(tag)


def test_the_page_needs_nothing_and_has_no_colour(plan: RestorePlan) -> None:
    page = as_html(card_of(plan, MADE))
    parser = _Outside()
    parser.found = []
    parser.feed(page)
    assert parser.found == []
    assert set(re.findall(r"#[0-9a-fA-F]{3,6}\b", page)) <= {"#000", "#fff"}


def test_names_are_escaped(plan: RestorePlan) -> None:
    card = replace(card_of(plan, MADE), house="<b>A & B</b>")
    assert "<b>A" not in as_html(card)
    assert "&lt;b&gt;A &amp; B" in as_html(card)


@pytest.mark.slow
@pytest.mark.skipif(BROWSER is None, reason="no browser to print with")
@pytest.mark.parametrize("paper", ["letter", "A4"])
@pytest.mark.parametrize("size", ["farmhouse", "many circuits"])
def test_one_page(plan: RestorePlan, tmp_path: Path, paper: str, size: str) -> None:
    card = card_of(plan if size == "farmhouse" else long_plan(), MADE)
    if size != "farmhouse":
        assert len(card.steps) >= 25
    page, printed = tmp_path / "card.html", tmp_path / "card.pdf"
    page.write_text(as_html(card, paper=paper), encoding="utf-8")
    subprocess.run(
        [
            str(BROWSER), "--headless", "--no-sandbox", "--disable-gpu",
            "--disable-background-networking", f"--user-data-dir={tmp_path / 'profile'}",
            "--no-pdf-header-footer", f"--print-to-pdf={printed}", page.as_uri(),
        ],
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    assert len(re.findall(rb"/Type\s*/Page[^s]", printed.read_bytes())) == 1


def test_durations_are_never_rounded_down() -> None:
    assert [duration(x) for x in (4.2, 90, 91, 187, 5400, 5401)] == [
        "5 s", "90 s", "2 min", "4 min", "90 min", "1.6 h",
    ]  # fmt: skip


def test_plain_data(plan: RestorePlan) -> None:
    data = plain({"step": plan.steps[0], "none": float("inf")})
    assert json.loads(json.dumps(data, allow_nan=False))["step"]["branch"]["slots"] == [2, 4]
    assert span(setting().stack.ranges([0])[0][0], "W").endswith(" W")


def test_every_caution_has_its_fact_with_a_source() -> None:
    assert len(topics()) >= 15
    assert safety_fact("backfeed")["source"]
    assert "interlock" in " ".join(CAUTIONS)


# The commands, through the files that a person has.


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    path = tmp_path_factory.mktemp("house") / "profile.json"
    path.write_text(profile().to_json(), encoding="utf-8")
    source, case = example("source_generator_7200"), example("case_ice_storm")
    return [str(path), "--source", str(source), "--case", str(case)]


def run(*words: str, stdin: str | None = None) -> tuple[int, str]:
    result = CliRunner().invoke(app, list(words), input=stdin)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result.exit_code, result.stdout


@pytest.mark.parametrize("command", ["check", "plan", "fuel", "choose", "card"])
def test_every_command_speaks_text_with_cautions_and_json(files: list[str], command: str) -> None:
    code, text = run(command, *files)
    assert code == 0
    assert "two plugs" in text
    code, text = run(command, *files, "--json")
    data = json.loads(text)
    assert code == 0
    assert any("20 ft" in line for line in data["cautions"])


def test_the_profile_comes_from_a_pipe(files: list[str]) -> None:
    document = Path(files[0]).read_text(encoding="utf-8")
    code, text = run("check", "-", *files[1:], "--on", "furnace", "--json", stdin=document)
    assert code == 0
    assert json.loads(text)["verdict"]["value"] == "fits"


def test_a_negative_verdict_has_its_own_exit_code(files: list[str], tmp_path: Path) -> None:
    small = tmp_path / "small.toml"
    small.write_text('format = "loadlib-source"\n[generator]\nrunning_w = 1500\n', encoding="utf-8")
    code, text = run("check", files[0], "--source", str(small))
    assert code == 10
    assert "does not fit" in text


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["check", "--on", "attic"], "no circuit 'attic'"),
        (["plan", "--without", "attic"], "no circuit 'attic'"),
        (["card", "--paper", "napkin"], "paper"),
    ],
)
def test_mistakes_are_our_errors(files: list[str], words: list[str], message: str) -> None:
    with pytest.raises(LoadlibError, match=message):
        run(words[0], *files, *words[1:])
    with pytest.raises(LoadlibError, match="no file"):
        run("check", "none.json", *files[1:])
    with pytest.raises(LoadlibError):
        run("check", "-", *files[1:], stdin="{}")


def test_fuel_of_a_smaller_list(files: list[str]) -> None:
    code, text = run("fuel", *files, "--smaller", "furnace")
    assert code == 0
    assert "saves" in text


def test_a_page_is_written(files: list[str], tmp_path: Path) -> None:
    out = tmp_path / "card.html"
    code, text = run("card", *files, "--out", str(out), "--paper", "A4")
    assert (code, text) == (0, "")
    assert "size: A4" in out.read_text(encoding="utf-8")


def test_examples_are_listed_shown_and_written_once(tmp_path: Path) -> None:
    _, listed = run("example")
    names = [line.split(":")[0] for line in listed.splitlines() if not line.startswith(" ")]
    assert "source-generator-7200" in names
    assert "case-ice-storm" in names
    for name in names:
        path = tmp_path / f"{name}.toml"
        assert run("example", name, "-o", str(path))[0] == 0
        read = read_source if name.startswith("source") else read_case
        assert read(path).name
    with pytest.raises(LoadlibError, match="is there already"):
        run("example", names[0], "-o", str(tmp_path / f"{names[0]}.toml"))
    with pytest.raises(LoadlibError, match="can't be written"):
        run("example", names[0], "-o", str(tmp_path / "no" / "where.toml"))
    with pytest.raises(LoadlibError, match="no example"):
        run("example", "space station")
    _, text = run("example", names[0], "--json")
    assert json.loads(text)["text"].startswith("#")


@pytest.mark.parametrize("command", ["check", "plan", "fuel", "choose", "card"])
def test_text_keeps_to_a_narrow_terminal(
    files: list[str], command: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "45")
    _, text = run(command, *files)
    assert max(len(line) for line in text.splitlines()) <= 45


def test_figures_stay_with_their_units_and_slots_with_their_numbers() -> None:
    line = "SLOT 7 KITCHEN takes 1,200 W on leg B, then waits 5 min"
    for width in range(12, 40):
        text = wrapped([line], width)
        assert not re.search(r"(SLOT|leg|,200| 5)\n", text)
        assert " ".join(text.split()) == line


def test_a_page_that_cannot_be_written_is_said(files: list[str], tmp_path: Path) -> None:
    with pytest.raises(LoadlibError, match="can't be written"):
        run("card", *files, "--out", str(tmp_path / "no" / "card.html"))


def test_live_ends_with_the_input(files: list[str], tmp_path: Path) -> None:
    log = tmp_path / "log.jsonl"
    code, text = run("live", *files, "--log", str(log), "--json", stdin="1900 W\n")
    assert code == 0
    assert json.loads(text)["result"]["on"] == ["well pump"]
    assert len(log.read_text().splitlines()) == 3


def test_the_door() -> None:
    (entry,) = loadlib_commands()
    assert entry.name == "standby"
    assert entry.target == "loadlib_standby.commands:app"
    assert LOADLIB_HOOK_API == 1
