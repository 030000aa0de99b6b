"""``loadlib service`` and its place among the hooks."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner

from loadlib import DataError, InputError, LoadlibError, NotFound
from loadlib.hooks import CommandEntry
from loadlib_service import cli, hooks
from loadlib_service.tests.profiles import small_profile
from loadlib_service.tests.test_facts import GOOD

ABOVE_RATING = 10


def run(*args: str, stdin: str | None = None) -> tuple[int, str]:
    done = CliRunner().invoke(cli.app, [*args], input=stdin)
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done.exit_code, done.stdout


@pytest.fixture
def facts(tmp_path: Path) -> Path:
    path = tmp_path / "farm.toml"
    path.write_text(GOOD, encoding="utf-8")
    return path


def test_the_hook_names_a_command_that_is_there() -> None:
    (entry,) = hooks.loadlib_commands()
    assert isinstance(entry, CommandEntry)
    assert entry.name == "service"
    assert entry.target == "loadlib_service.cli:app"
    assert cli.app.info.help == entry.help


def test_worksheets_as_text(facts: Path) -> None:
    code, text = run("calc", str(facts), "--edition", "2023")
    assert code == ABOVE_RATING
    assert "Methods beside each other" in text
    assert "CAUTION" in text


def test_worksheets_as_json(facts: Path) -> None:
    code, text = run("calc", str(facts), "--edition", "2017", "--method", "measured", "--json")
    assert code == 0
    document = json.loads(text)
    assert [row["method"] for row in document["methods"]] == ["measured"]
    assert document["edition"] == "2017"


def test_facts_from_a_pipe() -> None:
    code, text = run(
        "calc", "-", "--edition", "2020", "--method", "standard", "--json", stdin="area_ft2 = 900"
    )
    assert code == 0
    assert json.loads(text)["methods"][0]["after_va"] == pytest.approx(3000 + 0.35 * 4200)


@pytest.mark.parametrize("edition", [(), ("--edition", "2026"), ("--edition", "1999")])
def test_the_edition_is_a_required_choice(facts: Path, edition: tuple[str, ...]) -> None:
    with pytest.raises(InputError, match="edition"):
        run("calc", str(facts), *edition)


def test_the_page_is_written_whole_or_not_at_all(facts: Path, tmp_path: Path) -> None:
    target = tmp_path / "sheet.html"
    run("calc", str(facts), "--edition", "2023", "--page", str(target))
    assert target.read_text("utf-8").startswith("<!doctype html>")
    with pytest.raises(LoadlibError, match="can't be written"):
        run("calc", str(facts), "--edition", "2023", "--page", str(tmp_path / "none" / "x.html"))
    assert {p.name for p in tmp_path.iterdir()} == {"farm.toml", "sheet.html"}


def test_files_that_are_not_there_or_not_text(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="no file"):
        run("calc", str(tmp_path / "none.toml"), "--edition", "2023")
    broken = tmp_path / "broken.toml"
    broken.write_bytes(b"\xff\xfe\x00area")
    with pytest.raises(DataError, match="can't be read"):
        run("calc", str(broken), "--edition", "2023")


def test_intervals_stand_in_for_the_measured_table(facts: Path, tmp_path: Path) -> None:
    rows = ["start,kwh"]
    for day in range(1, 32):
        rows += [
            f"2024-01-{day:02}T{hour:02}:{quarter:02}-05:00,{0.9 if hour == 7 else 0.2}"
            for hour in range(24)
            for quarter in (0, 15, 30, 45)
        ]
    path = tmp_path / "january.csv"
    path.write_text("\n".join(rows), encoding="utf-8")
    args = ("calc", str(facts), "--edition", "2023", "--method", "measured", "--json")
    code, text = run(*args, "--intervals", str(path), "--route", "30 days")
    assert code == 0
    sheet = json.loads(text)["methods"][0]["worksheets"][0]
    assert sheet["results"]["maximum_a"] == pytest.approx(3600 / 240)
    assert sheet["facts"]["Instrument"] == "utility meter"
    with pytest.raises(InputError, match=r"31\.0 days is not a year"):
        run(*args, "--intervals", str(path))


def quarter_hours(days: int, peak_kwh: float = 0.9) -> str:
    """A usage file of quarter hours from 1 January 2023, with one peak on the second day."""
    start = datetime(2023, 1, 1, tzinfo=UTC)
    stamps = (start + timedelta(minutes=15 * n) for n in range(96 * days))
    rows = (f"{t.isoformat()},{peak_kwh if n == 100 else 0.2}" for n, t in enumerate(stamps))
    return "\n".join(("start,kwh", *rows))


def test_a_year_of_quarter_hours_with_what_the_facts_say_of_it(tmp_path: Path) -> None:
    usage, facts = tmp_path / "year.csv", tmp_path / "client.toml"
    usage.write_text(quarter_hours(365), encoding="utf-8")
    facts.write_text(
        "area_ft2 = 1500\nservice_a = 100\n"
        '[measured]\ninstrument = "utility meter"\ngeneration = false\npeak_shaving = false\n',
        encoding="utf-8",
    )
    args = ("calc", str(facts), "--edition", "2023", "--intervals", str(usage), "--json")
    code, text = run(*args, "--method", "measured", "--timezone", "America/New_York")
    assert code == 0
    sheet = json.loads(text)["methods"][0]["worksheets"][0]
    assert sheet["results"]["factored_a"] == pytest.approx(1.25 * 3600 / 240)
    assert sheet["facts"]["Instrument"] == "utility meter"
    assert sheet["facts"]["Source"] == "year.csv"  # no folder of the machine it was read on
    assert sheet["facts"]["Maximum at"] == "2023-01-01T20:00-05:00"
    assert not any("solar" in choice for choice in sheet["choices"])


@pytest.mark.parametrize(
    ("args", "match"),
    [
        (("--route", "week"), "route 'week'"),
        (("--existing-hvac", "half"), "heating and cooling 'half'"),
        (("--method", "guess"), "method 'guess'"),
    ],
)
def test_a_slip_in_an_option_is_refused(facts: Path, args: tuple[str, ...], match: str) -> None:
    with pytest.raises(InputError, match=match):
        run("calc", str(facts), "--edition", "2023", *args)


def test_the_route_of_the_facts_file_holds_unless_the_option_says_otherwise(
    tmp_path: Path,
) -> None:
    facts = tmp_path / "month.toml"
    facts.write_text(
        "area_ft2 = 1500\n[measured]\npower_kw = 4\nwindow_min = 15\ndays = 31\n"
        'route = "30 days"\n',
        encoding="utf-8",
    )
    args = ("calc", str(facts), "--edition", "2023", "--method", "measured")
    assert "30 days: NFPA 70" in run(*args)[1]
    with pytest.raises(InputError, match="not a year"):
        run(*args, "--route", "year")


def test_no_count_of_cooking_appliances_below_one() -> None:
    with pytest.raises(InputError, match="count 0"):
        run("cooking", "12", "--count", "0", "--edition", "2023")


def test_the_page_bears_the_day_it_was_made(facts: Path, tmp_path: Path) -> None:
    target = tmp_path / "sheet.html"
    run("calc", str(facts), "--edition", "2023", "--page", str(target))
    assert re.search(r"printed \d{4}-\d\d-\d\d", target.read_text("utf-8"))


def test_a_profile_is_a_source_too(tmp_path: Path) -> None:
    path = tmp_path / "profile.json"
    path.write_text(small_profile().to_json(), encoding="utf-8")
    code, text = run("calc", str(path), "--edition", "2023", "--record-days", "365", "--json")
    assert code == ABOVE_RATING
    methods = {row["method"] for row in json.loads(text)["methods"]}
    assert methods == {"standard", "optional", "existing", "measured"}


def test_cooking_from_the_command_line() -> None:
    code, text = run("cooking", "14", "--edition", "2023")
    assert code == 0
    assert "8,800 VA" in text
    code, text = run(
        "cooking", "12", "--count", "20", "--three-phase", "--edition", "2017", "--json"
    )
    assert json.loads(text)["demand_va"] == pytest.approx(43_500)
    assert json.loads(text)["doubts"] == []  # the table was read in the 2017 text
    _, text = run("cooking", "12", "--edition", "2023")
    assert "Table 220.55, row 1: value seen in the 2017 text" in text
    with pytest.raises(InputError, match="edition"):
        run("cooking", "12")


def test_diversity_from_the_command_line() -> None:
    code, text = run("diversity", "cooking=30", "lighting=5,3")
    assert code == 0
    assert text.startswith("Non-US practice")
    code, text = run("diversity", "cooking=30", "--json")
    assert json.loads(text)["assumed_a"] == pytest.approx(16.0)
    with pytest.raises(InputError, match="PURPOSE"):
        run("diversity", "cooking=much")


def test_a_group_from_the_command_line() -> None:
    code, text = run("group", "8", "50", "--coincidence", "0.2")
    assert code == 0
    assert text.startswith("Non-US practice")
    assert "after-diversity maximum demand 2.51 kW each" in text
    code, text = run("group", "8", "50", "--coincidence", "0.2", "--json")
    assert json.loads(text)["group_peak_w"] == pytest.approx(8000 * 50 * 0.31314, rel=1e-4)


def test_control_characters_do_not_reach_the_terminal(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    path.write_text('area_ft2 = 900\n[[appliance]]\nname = "a\\u001b[2J"\nkw = 1\n', "utf-8")
    _, text = run("calc", str(path), "--edition", "2023", "--method", "standard")
    assert "\x1b" not in text


def test_energy_sent_out_rules_the_measured_method_out(facts: Path, tmp_path: Path) -> None:
    # NEC 220.87 Exception: not with solar or other generation on the meter.
    rows = ["start,import kwh,export kwh"]
    for hour in range(24 * 31):
        day, clock = 1 + hour // 24, hour % 24
        rows.append(f"2024-01-{day:02}T{clock:02}:00-05:00,1.5,{0.4 if clock == 12 else 0}")
    path = tmp_path / "net.csv"
    path.write_text("\n".join(rows))
    with pytest.raises(InputError, match="solar"):
        run("calc", str(facts), "--edition", "2023", "--method", "measured",
            "--intervals", str(path), "--route", "30 days")  # fmt: skip


def test_a_house_file_gives_the_dwelling(tmp_path: Path) -> None:
    path = tmp_path / "ridge.toml"
    path.write_text(
        'format = "loadlib-house"\nversion = 1\nname = "ridge"\narea_ft2 = 1500\n'
        '[[appliance]]\nid = "range"\nname = "range"\ncategory = "electric_range"\n'
        'label = "120/240V 12kW"\n'
        '[[appliance]]\nid = "dryer"\nname = "dryer"\ncategory = "clothes_dryer_electric"\n'
        'label = "120/240V 5500W"\n'
    )
    code, text = run("calc", str(path), "--edition", "2017", "--method", "standard", "--json")
    # NEC Annex D, Example D1(a): 18,600 VA.
    assert code == 0
    assert '"total_va": 18600' in text


@pytest.mark.parametrize(
    "args",
    [
        ("cooking", "14", "7.2", "2.4", "2.4", "--edition", "2023"),
        ("diversity", "cooking=30,20", "lighting=8", "--cooker-sockets", "1"),
        ("group", "10", "20", "--coincidence", "0.3"),
    ],
)
def test_small_answers_fit_a_narrow_terminal(
    args: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "45")
    code, text = run(*args)
    assert code == 0
    assert max(len(line) for line in text.splitlines()) <= 45
