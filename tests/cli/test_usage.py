"""Bills and usage files on the command line, and the peak that they imply."""

from __future__ import annotations

import io
import json
import math
import sys
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from loadlib import seed_root

Run = Callable[..., Any]
USAGE = str(Path(str(seed_root())) / "demo" / "usage_hourly.xml")


@pytest.fixture
def ridge(run: Run) -> Run:
    assert run("house", "new", "ridge", "--timezone", "America/Los_Angeles").code == 0
    return run


def test_a_file_is_taken_in_once_and_can_be_deleted(ridge: Run) -> None:
    first = json.loads(ridge("usage", "add", USAGE, "--json").out)
    assert first["reader"] == "espi"
    assert first["added"] > 2000
    again = json.loads(ridge("usage", "add", USAGE, "--json").out)
    assert (again["added"], again["import_id"]) == (0, None)
    (kept,) = json.loads(ridge("usage", "list", "--json").out)
    assert kept["file_name"] == "usage_hourly.xml"
    assert ridge("usage", "remove", str(kept["import_id"])).code == 0
    assert json.loads(ridge("usage", "list", "--json").out) == []
    assert ridge("usage", "remove", "99").code == 3


def test_looking_at_a_file_stores_nothing(ridge: Run) -> None:
    seen = json.loads(ridge("usage", "look", USAGE, "--json").out)
    assert seen["series"][0]["step_s"] == 3600
    assert json.loads(ridge("usage", "list", "--json").out) == []


def test_a_contradiction_is_shown_and_nothing_is_stored(ridge: Run) -> None:
    assert ridge("usage", "bill", "2025-12-01", "2026-01-01", "900").code == 0
    assert "was stored already" in ridge("usage", "bill", "2025-12-01", "2026-01-01", "900").out
    done = ridge("usage", "bill", "2025-12-01", "2026-01-01", "950")
    assert done.code == 4
    assert "contradict" in done.err


@pytest.mark.parametrize(
    "words",
    [
        ["2026-01-01", "2025-12-01", "900"],
        ["2025-12-01", "2026-01-01", "-5"],
        ["2025-12-32", "2026-01-01", "5"],
    ],
)
def test_a_bill_that_is_none_is_refused(words: list[str], ridge: Run) -> None:
    done = ridge("usage", "bill", *words[:2], "--", words[2])
    assert done.code == 2
    assert json.loads(ridge("usage", "list", "--json").out) == []


@pytest.mark.parametrize(
    ("energy", "told"),
    [("900 kWh", "900 kWh"), ("1,010", "1010 kWh"), ("0.9 MWh", "900 kWh"), ("0", "0 kWh")],
)
def test_energy_of_a_bill_with_or_without_its_unit(energy: str, told: str, ridge: Run) -> None:
    assert f"stored: {told}" in ridge("usage", "bill", "2025-12-01", "2026-01-01", energy).out


@pytest.mark.parametrize(
    ("energy", "told"),
    [
        ("900000", "a mean of 1,210 kW, and a service of 100 A carries 24 kW Is it Wh"),
        ("much", "'much' is not a number"),
        ("900 kW", "does not measure energy"),
        ("900 USD", "unknown unit"),
    ],
)
def test_energy_that_no_house_draws(energy: str, told: str, ridge: Run) -> None:
    assert ridge("house", "set", "--service-a", "100").code == 0
    done = ridge("usage", "bill", "2025-12-01", "2026-01-01", energy)
    assert done.code == 2
    assert told in " ".join(done.err.split())
    assert json.loads(ridge("usage", "list", "--json").out) == []


def test_less_than_an_empty_house_draws_is_remarked(ridge: Run) -> None:
    done = ridge("usage", "bill", "2025-12-01", "2026-01-01", "0.9")
    assert done.code == 0
    assert "1 W is less than an empty house draws: is it kWh?" in done.err


def test_which_of_two_bills_counts_can_be_said(ridge: Run) -> None:
    days = ("2025-12-01", "2026-01-01")
    assert ridge("usage", "bill", *days, "900").code == 0
    assert ridge("usage", "bill", *days, "950", "--contradictions", "replace").code == 0
    assert "was stored already" in ridge("usage", "bill", *days, "950").out


@pytest.mark.parametrize("unit", ["KWH", "w", "°f"])
def test_a_unit_is_known_whatever_its_capitals(unit: str) -> None:
    from loadlib.cli.usage_read import options_of

    said = options_of(
        timezone="", unit=unit, stamp="", day_first=None, channel="", columns=(), mapping=None
    )
    assert said.unit in ("kWh", "W", "°F")


def test_a_unit_that_nobody_knows(ridge: Run) -> None:
    done = ridge("usage", "look", USAGE, "--unit", "joule")
    assert done.code == 3
    assert "no unit 'joule'" in done.err
    assert "kWh" in done.err


def test_a_clamp_log_is_sent_where_the_house_is_known(ridge: Run, tmp_path: Path) -> None:
    rows = [f"2026-01-05 {k // 60:02d}:{k % 60:02d}:00,3,2" for k in range(600)]
    path = tmp_path / "log.csv"
    path.write_text("\n".join(["time,leg A (A),leg B (A)", *rows]) + "\n", encoding="utf-8")
    done = ridge("usage", "add", str(path), "--timezone", "America/New_York")
    assert done.code == 2
    assert "loadlib reading log" in done.err
    assert json.loads(ridge("usage", "list", "--json").out) == []
    named = ("--timezone", "America/New_York", "--reader", "clamp_log")
    assert ridge("usage", "add", str(path), *named).code == 0


def test_an_empty_list_says_how_to_begin(ridge: Run) -> None:
    done = ridge("usage", "list")
    assert len(done.out.splitlines()) == 1
    assert "usage add FILE" in done.err


def test_the_commonest_question_gets_a_range_and_its_basis(run: Run) -> None:
    # 900 kWh in 30 days is a mean of 1.25 kW: arithmetic.
    done = run("usage", "peak", "--kwh", "900", "--days", "30")
    assert "On average the house draws 1.25 kW." in done.out
    assert "nine homes in ten lie" in done.out
    assert "What would narrow it most" in done.out
    assert "licensed electrician" in done.out
    tree = json.loads(run("usage", "peak", "--kwh", "900", "--json").out)
    overall = tree["estimate"]["overall"]
    assert overall["low"] < overall["typical"] < overall["high"]
    assert overall["low"] >= 1250.0
    assert {f["obtained"] for f in tree["formulas"]} <= {"from_memory", "read_in_source"}


def test_measured_data_are_reported_as_measured(ridge: Run) -> None:
    ridge("usage", "add", USAGE)
    done = ridge("usage", "peak", "ridge", "--season", "2,3")
    assert "Measured: 4.19 kW over 60 min" in done.out
    assert "220.87" in done.out
    assert "lacks: 15-minute means" in done.out


@pytest.mark.parametrize(
    ("words", "code", "text"),
    [
        (["usage", "peak", "ridge"], 2, "has no bills and no usage file"),
        (["usage", "peak", "--kwh", "900", "--season", "13"], 2, "are no months"),
        (["usage", "peak", "--kwh", "900", "--window-min", "1"], 2, "load model"),
        (["usage", "peak", "--kwh", "-1"], 2, ""),
        (["usage", "add", "ghost.xml"], 3, "ghost.xml"),
        (["usage", "add", USAGE, "--reader", "ghost"], 3, "ghost"),
    ],
)
def test_a_mistake_is_told(words: list[str], code: int, text: str, ridge: Run) -> None:
    done = ridge(*words)
    assert done.code == code
    assert text in done.err


# -- what was read, on one screen


def csv_of(folder: Path, heading: str = "time,kWh", name: str = "usage.csv", days: int = 5) -> Path:
    """Half hours of 0.1 kWh at night and 0.4 by day, one of 1.5 kWh, in local time."""
    first = datetime(2025, 3, 7)
    rows = []
    for at in range(48 * days):
        moment = first + timedelta(minutes=30 * at)
        if (moment.month, moment.day, moment.hour) != (3, 9, 2):  # skipped by New York's clocks
            rows.append(f"{moment},{1.5 if at == 36 else 0.1 if moment.hour < 6 else 0.4}")
    path = folder / name
    path.write_text("\n".join([heading, *rows]) + "\n")
    return path


def test_what_a_file_holds_and_how_it_was_read(ridge: Run, tmp_path: Path) -> None:
    done = ridge("usage", "look", str(csv_of(tmp_path)), "--timezone", "America/New_York")
    text = " ".join(done.out.split())
    assert "2025-03-07 00:00 to 2025-03-12 00:00 (America/New_York), every 30 min" in text
    assert "nothing missing" in text
    assert "2025-03-09 (23 h)" in text
    assert "highest: 3.00 kW over 30 min from 2025-03-07 18:00" in text
    assert "may have reached 3.80 kW" in text
    assert "base load, the lowest hour of a night: 200 W" in text
    assert "unit kWh, as the file says" in text
    assert "stamps are the start of the interval" in text


def test_remarks_are_in_the_json_too(ridge: Run, tmp_path: Path) -> None:
    path = str(csv_of(tmp_path))
    zone = ("--timezone", "America/New_York")
    seen = json.loads(ridge("usage", "look", path, *zone, "--json").out)
    assert "unit kWh, as the file says" in seen["series"][0]["notes"]
    stored = json.loads(ridge("usage", "add", path, *zone, "--json").out)
    assert "unit kWh, as the file says" in stored["notes"]


def test_next_months_file_meets_this_months(ridge: Run, tmp_path: Path) -> None:
    first = csv_of(tmp_path, name="march.csv", days=4)
    second = csv_of(tmp_path, name="all of spring.csv", days=5)
    zone = ("--timezone", "America/New_York")
    assert json.loads(ridge("usage", "add", str(first), *zone, "--json").out)["added"] == 190
    again = json.loads(ridge("usage", "add", str(second), *zone, "--json").out)
    assert (again["same"], again["added"]) == (190, 48)
    odd = tmp_path / "odd.csv"
    odd.write_text(first.read_text().replace(",1.5\n", ",1.1\n"))
    done = ridge("usage", "add", str(odd), *zone)
    assert done.code == 4
    assert "1 values contradict what is stored" in done.err
    kept = ridge("usage", "add", str(odd), *zone, "--contradictions", "replace")
    assert "1 values contradict what was stored: replace" in kept.out


def test_net_data_give_no_peak_and_say_why(ridge: Run, tmp_path: Path) -> None:
    path = tmp_path / "net.csv"
    rows = "".join(f"2025-03-07 {hour:02d}:00,{0.5 - (hour == 12)}\n" for hour in range(24))
    path.write_text("time,net kWh\n" + rows)
    done = ridge("usage", "add", str(path), "--timezone", "America/New_York")
    assert "neither a peak nor a base load" in " ".join(done.out.split())
    peak = ridge("usage", "peak", "ridge")
    assert peak.code == 2
    assert "net data only" in peak.err


def test_standard_input_is_read(
    ridge: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Piped(io.StringIO):
        buffer = io.BytesIO(csv_of(tmp_path).read_bytes())

    monkeypatch.setattr(io, "StringIO", lambda _text="": Piped())
    seen = json.loads(ridge("usage", "look", "-", "--timezone", "America/New_York", "--json").out)
    assert seen["series"][0]["slots"] == 238


def test_a_layout_is_named_once_and_kept(ridge: Run, tmp_path: Path) -> None:
    path = csv_of(tmp_path, heading="Stempel,Menge")
    mapping = tmp_path / "month.toml"
    words = ("--column", "time=Stempel", "--column", "import=Menge", "--unit", "kWh")
    zone = ("--timezone", "America/New_York")
    assert (
        ridge("usage", "look", str(path), *words, *zone, "--save-mapping", str(mapping)).code == 0
    )
    assert 'import" = "Menge"' in mapping.read_text()
    seen = json.loads(ridge("usage", "look", str(path), "--mapping", str(mapping), "--json").out)
    assert seen["series"][0]["timezone"] == "America/New_York"
    assert ridge("usage", "look", str(path), "--column", "import").code == 2


def test_a_file_that_is_refused_saves_no_mapping(ridge: Run, tmp_path: Path) -> None:
    mapping = tmp_path / "month.toml"
    path = csv_of(tmp_path, heading="time,usage")
    done = ridge("usage", "add", str(path), "--save-mapping", str(mapping))
    assert done.code == 4
    assert "--unit" in done.err
    assert not mapping.exists()


@pytest.mark.parametrize(("answer", "code"), [("kwh\n", 0), ("KW\n", 0), ("litres\n", 4), ("", 4)])
def test_a_person_is_asked_one_question(
    answer: str, code: int, ridge: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setattr(io, "StringIO", Terminal)
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    path = csv_of(tmp_path, heading="time,usage")
    done = ridge("usage", "look", str(path), "--timezone", "America/New_York", stdin=answer)
    assert done.code == code
    assert "Unit (kWh, kW): " in done.err


# -- split and peak


def year_of_bills(ridge: Run) -> None:
    for month in range(1, 13):
        after = f"2025-{month + 1:02d}-01" if month < 12 else "2026-01-01"
        cold = abs(month - 7)
        ridge("usage", "bill", f"2025-{month:02d}-01", after, str(400 + 90 * cold * cold // 4))


def test_split_by_season_and_by_weather(ridge: Run, tmp_path: Path) -> None:
    assert ridge("usage", "split").code == 2
    year_of_bills(ridge)
    season = json.loads(ridge("usage", "split", "--json").out)
    assert season["split"]["form"] == "winter"
    assert season["by_season"] is None
    assert "no temperatures" in season["rests_on"]
    days = [date(2025, 1, 1) + timedelta(days=at) for at in range(365)]
    path = tmp_path / "temperatures.csv"
    angles = [2 * math.pi * (day.timetuple().tm_yday - 15) / 365 for day in days]
    rows = [f"{d},{10 - 12 * math.cos(a):.2f}" for d, a in zip(days, angles, strict=True)]
    path.write_text("Date,Mean temperature (°C)\n" + "\n".join(rows) + "\n")
    assert "temperatures: 2025-01-01 to 2026-01-01" in ridge("usage", "add", str(path)).out
    done = ridge("usage", "split")
    text = " ".join(done.out.split())
    assert "heating, three-parameter, from 12 bills and temperatures." in text
    assert "W for each degree below" in text
    assert "Forms tried, by the Bayesian information criterion" in text
    assert "By season alone, without the weather:" in text
    tree = json.loads(ridge("usage", "split", "--json").out)
    for period, heat in zip(tree["periods"], tree["split"]["heating_wh"], strict=True):
        assert heat["typical"] / 1000.0 <= period["kwh"]


def test_one_minute_comes_from_the_list_of_appliances(ridge: Run) -> None:
    without = ridge("usage", "peak", "ridge", "--window-min", "1")
    assert without.code == 2
    assert "no list of appliances" in without.err
    ridge("house", "add", "kitchen: refrigerator 115V 60Hz 6.5A")
    done = ridge("usage", "peak", "ridge", "--window-min", "1")
    assert "Highest 1-minute demand, year:" in done.out
    assert "uncalibrated" in done.out
    ridge("usage", "add", USAGE)
    tree = json.loads(ridge("usage", "peak", "ridge", "--window-min", "1", "--json").out)
    assert tree["basis"] == "model, uncalibrated"
    assert tree["measured_window_min"] == 60
    told = " ".join(ridge("usage", "peak", "ridge", "--window-min", "1").out.split())
    assert "the list lacks appliances" in told


def test_both_routes_of_the_measured_demand_rule(ridge: Run) -> None:
    ridge("usage", "add", USAGE)
    text = " ".join(ridge("usage", "peak", "ridge").out.split())
    assert "year route, lacking:" in text
    assert "lacks: length: 88 of 365 days" in text
    assert "30 days route, lacking:" in text
    assert "kW x 1.25 =" in text


def test_the_numbers_of_the_pictures_are_printed_as_json(ridge: Run) -> None:
    ridge("usage", "add", USAGE)
    tree = json.loads(ridge("usage", "picture", "ridge", "--json").out)
    assert len(tree["hours_mean_w"]) == 12
    shares = [row["share"] for row in tree["duration"]]
    passed = [row["passed_w"] for row in tree["duration"]]
    assert shares == sorted(shares)
    assert passed == sorted(passed, reverse=True)
    # The highest hour of the file, as loadlib usage peak reports it.
    assert passed[0] == pytest.approx(4190.0)
