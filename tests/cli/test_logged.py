"""loadlib reading logged: numbers of logs made so that the answer is known beforehand."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from loadlib.cli import logged_text
from loadlib.cli.logged_answer import duration, logged_of
from loadlib.core.cautions import CLAMP, ESTIMATE
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance, Circuit, House
from loadlib.core.readings import APPARENT
from loadlib.core.series import Series
from loadlib.errors import InputError, NotFound
from loadlib.store.seed import seed_root

Run = Callable[..., Any]
Array = NDArray[np.float64]
MIDNIGHT_S = 1_767_589_200
"""2026-01-05 00:00 in New York."""
HOUSE = House(
    "ridge",
    timezone="America/New_York",
    circuits=(Circuit("sump", (11,), "B"),),
    appliances=(Appliance("incubator", "egg incubator", "egg_incubator", circuit="sump"),),
)


def log(place: str, mean_w: Array, step_s: int = 60, *, late: int = 0, **more: Any) -> Series:
    start_s = MIDNIGHT_S + late * step_s
    return Series(place, place, "load", start_s, step_s, mean_w, **more)


def day(base: float, by_hour: dict[int, float], step_s: int = 60) -> Array:
    """Watts of a day: ``base``, and more in the hours named."""
    hours = np.full(24, base)
    for hour, watts in by_hour.items():
        hours[hour] += watts
    return np.repeat(hours, 3600 // step_s)


def evidence(*series: Series, house: House = HOUSE) -> Evidence:
    return Evidence(house, MappingProxyType({}), series=series)


LEGS = (log("leg A", day(240.0, {18: 2400.0})), log("leg B", day(120.0, {7: 1200.0})))


def squashed(text: str) -> str:
    return " ".join(text.split())


def test_legs_are_shown_alone_and_together() -> None:
    whole, leg_a, leg_b = logged_of(evidence(*LEGS)).places
    assert (whole.place, whole.sum_of) == ("whole", ("leg A", "leg B"))
    assert [whole.base, leg_a.base, leg_b.base] == [360.0, 240.0, 120.0]
    assert leg_a.mean == pytest.approx(240.0 + 2400.0 / 24)
    assert leg_a.by_hour[18] == 2640.0
    assert leg_b.by_hour[7] == 1320.0
    assert whole.by_hour[7] == 240.0 + 1320.0


def test_highest_means_go_as_far_as_the_step_allows() -> None:
    answer = logged_of(evidence(log("whole", day(200.0, {6: 900.0}, 300), 300)))
    found = {one.window_s: one for one in answer.places[0].highest}
    assert list(found) == [300, 900, 1800, 3600]
    assert found[3600].mean == 1100.0
    assert answer.places[0].moment(found[3600].start_s).hour == 6
    seven = logged_of(evidence(log("whole", np.full(200, 5.0), 7))).places[0]
    assert [one.window_s for one in seven.highest] == [7]


def test_legs_against_each_other() -> None:
    """|A − B| on a split phase; at 18 h 22 A on A and 1 A on B."""
    balanced = logged_of(evidence(*LEGS)).legs
    assert balanced is not None
    assert balanced.from_watts
    a, b = balanced.found.leg_a
    assert a == pytest.approx(340.0 / 120.0)
    assert b == pytest.approx(170.0 / 120.0)
    assert balanced.found.imbalance_share == pytest.approx(170.0 / 510.0)
    assert balanced.found.highest_neutral_a == pytest.approx(21.0)
    assert logged_of(evidence(*LEGS), ["leg a"]).legs is None


def test_legs_are_cut_to_the_time_they_share() -> None:
    late = log("leg B", day(120.0, {}), late=600)
    whole = logged_of(evidence(LEGS[0], late)).places[0]
    assert whole.sum_of
    assert whole.span_s == (1440 - 600) * 60
    assert whole.start_s == late.start_s


@pytest.mark.parametrize(
    "other",
    [
        log("leg B", day(120.0, {}), late=1440),
        log("leg B", day(120.0, {}, 10), 10),
        log("leg B", np.where(np.arange(1500) < 1440, np.nan, 5.0)),
        log("sump", day(120.0, {})),
    ],
)
def test_legs_that_share_no_time_are_not_added(other: Series) -> None:
    answer = logged_of(evidence(LEGS[0], other))
    assert answer.legs is None
    assert all(not one.sum_of for one in answer.places)


def test_amps_alone_are_said_to_be_volt_amperes() -> None:
    legs = [log(one.place, one.mean_w, notes=(APPARENT,)) for one in LEGS]
    answer = logged_of(evidence(*legs))
    assert {one.unit for one in answer.places} == {"VA"}
    assert answer.legs is not None
    assert not answer.legs.from_watts
    text = "\n".join(logged_text.lines(answer))
    assert "base load 360 VA" in text
    assert " W" not in text
    assert any(remark.startswith("VA: only amps") for remark in answer.remarks)
    assert "kVA" in logged_text.svg(answer)


def test_times_on_of_an_appliance_logged_alone() -> None:
    """300 W for 600 s, twelve times in a day: on for 600 · 12 / 86,400 of it."""
    power = np.full(86_400, 2.0)
    for start in range(0, 86_400, 7200):
        power[start + 900 : start + 1500] = 302.0
    (found,) = logged_of(evidence(log("appliance incubator", power, 1))).times_on
    assert (found.appliance, found.alone, found.sure) == ("incubator", True, 1.0)
    assert found.count == 12
    assert found.per_day == pytest.approx(12.0)
    assert found.duty == pytest.approx(7200.0 / 86_400.0, rel=0.01)
    assert found.size.typical == pytest.approx(300.0, rel=0.02)
    assert found.on_s.typical == pytest.approx(600.0, rel=0.01)
    text = "\n".join(logged_text.lines(logged_of(evidence(log("circuit sump", power, 1)))))
    assert "egg incubator: 12 times, 12 a day" in text


def test_times_on_of_one_day_at_three_steps_are_told_once() -> None:
    power = np.full(86_400, 2.0)
    for start in range(0, 86_400, 7200):
        power[start + 900 : start + 1500] = 302.0
    by_5, by_60 = (power.reshape(-1, step_s).mean(axis=1) for step_s in (5, 60))
    later = log("circuit sump", power[2:-3].reshape(-1, 5).mean(axis=1), 5)
    later = replace(later, start_s=MIDNIGHT_S + 2)
    logs = log("circuit sump", by_60), later, log("circuit sump", by_5, 5)
    answer = logged_of(evidence(*logs))
    assert len(answer.places) == 3
    assert [one.count for one in answer.times_on] == [12]


@pytest.mark.parametrize(
    ("word", "place"), [("sump", "circuit sump"), ("egg Incubator", "appliance incubator")]
)
def test_places_go_by_what_people_call_them(word: str, place: str) -> None:
    logs = evidence(log("circuit sump", day(5.0, {})), log("appliance incubator", day(9.0, {})))
    assert [one.place for one in logged_of(logs, [word]).places] == [place]
    assert len(logged_of(logs, [word, place]).places) == 1


def test_a_place_that_was_not_logged() -> None:
    with pytest.raises(NotFound, match="no log of 'attic'") as told:
        logged_of(evidence(*LEGS), ["attic"])
    assert "leg A" in str(told.value.near)


def test_without_a_log() -> None:
    with pytest.raises(InputError, match="no log") as told:
        logged_of(evidence())
    assert "loadlib reading log FILE" in str(told.value.hint)
    meter = Series("m", "whole", "import", MIDNIGHT_S, 3600, np.ones(24))
    with pytest.raises(InputError) as told:
        logged_of(evidence(meter))
    assert "usage picture" in str(told.value.hint)


@pytest.mark.parametrize(
    ("series", "house", "told"),
    [
        (log("whole", np.full(120, 50.0)), HOUSE, "Logged for 2 h"),
        (log("whole", np.full(2880, 50.0)), House("x"), "No time zone is known"),
        (log("whole", np.full(2880, -50.0)), HOUSE, "power flows back"),
        (log("whole", np.full(300, 50.0), 900), HOUSE, "a log of 1 min or finer"),
        (log("whole", np.full(2880, 50.0)), HOUSE, "with enough certainty"),
        (log("whole", np.full(2880, 50.0), 30), HOUSE, "means over 30 s and more"),
    ],
)
def test_what_a_reader_must_know_is_said(series: Series, house: House, told: str) -> None:
    assert told in " ".join(logged_of(evidence(series, house=house)).remarks)


def test_hours_by_the_clock_of_the_house() -> None:
    utc = logged_of(evidence(log("whole", day(0.0, {0: 100.0})), house=House("x"))).places[0]
    assert int(np.argmax(utc.by_hour)) == 5


@pytest.mark.parametrize("width", [45, 80, 120])
def test_hours_fit_the_terminal_and_every_bar_has_its_numbers(width: int) -> None:
    answer = logged_of(evidence(*LEGS))
    rows = list(logged_text.hour_lines(logged_text.drawn(answer), width))
    assert max(map(len, rows)) <= width
    assert "leg A" in rows[1]
    at = next(row for row in rows if row.startswith("18"))
    assert at.split()[1:7] == ["2.8", "kW", "2.6", "kW", "120", "W"]
    assert at.count("▒") < at.count("█")


def test_an_hour_without_data_is_a_dash() -> None:
    answer = logged_of(evidence(log("whole", np.full(120, 50.0))))
    rows = list(logged_text.hour_lines(logged_text.drawn(answer), 45))
    assert rows[-1].split() == ["23", "-"]


def test_more_places_than_a_picture_holds_are_named() -> None:
    circuits = [log(f"circuit {n}", day(9.0, {})) for n in "abcdef"]
    answer = logged_of(evidence(*circuits))
    assert len(logged_text.drawn(answer)) == 4
    assert "circuit e, circuit f" in logged_text.not_drawn(answer)
    assert logged_text.not_drawn(logged_of(evidence(*LEGS))) == ""
    ET.fromstring(logged_text.svg(answer).encode())


@pytest.mark.parametrize(
    ("seconds", "told"),
    [(1, "1 s"), (60, "1 min"), (5400, "1.5 h"), (86_400, "24 h"), (14 * 86_400, "14 days")],
)
def test_lengths_of_time(seconds: float, told: str) -> None:
    assert duration(seconds) == told


@pytest.fixture
def home(run: Run, tmp_path: Path) -> Run:
    assert run("house", "import", str(seed_root() / "demo" / "farmhouse.toml")).code == 0
    begin = np.datetime64("2026-01-05T00:00:00")
    rows = [
        f"{begin + np.timedelta64(k, 'm')},{20 if 480 <= k < 540 else 3},2".replace("T", " ")
        for k in range(1440)
    ]
    path = tmp_path / "log.csv"
    path.write_text("\n".join(["time,leg A (A),leg B (A)", *rows]) + "\n", encoding="utf-8")
    assert run("reading", "log", str(path)).code == 0
    return run


def test_from_the_file_to_the_screen(home: Run) -> None:
    done = home("reading", "logged")
    assert done.code == 0
    text = squashed(done.out)
    assert "whole house (leg A + leg B): 2026-01-05 00:00 to 2026-01-06 00:00" in text
    assert "base load 600 VA" in text
    assert "1 h 2.6 kVA from 2026-01-05 08:00" in text
    assert "neutral 1.7 A in the mean, 18.0 A at most" in text
    for caution in (*CLAMP, *ESTIMATE):
        assert caution in text
    assert max(len(line) for line in done.out.splitlines()) <= 80


def test_as_json(home: Run) -> None:
    told = json.loads(home("reading", "logged", "--json").out)
    assert [one["place"] for one in told["places"]] == ["whole", "leg A", "leg B"]
    assert told["places"][1]["unit"] == "VA"
    assert told["legs"]["neutral_highest_a"] == pytest.approx(18.0)
    assert told["legs"]["imbalance_share"] == pytest.approx(41 / 137)
    assert told["cautions"] == [*CLAMP, *ESTIMATE]


def test_the_picture_as_a_file(home: Run, tmp_path: Path) -> None:
    done = home("reading", "logged", "--svg", "hours.svg", "--place", "leg b")
    assert done.code == 0
    assert done.out == ""
    assert CLAMP[0] in done.err
    root = ET.fromstring((tmp_path / "hours.svg").read_bytes())
    assert "leg B" in "".join(root.itertext())
    assert "leg A" not in "".join(root.itertext())


def test_a_mistake_is_one_message(home: Run) -> None:
    done = home("reading", "logged", "--place", "sauna")
    assert done.code == 3
    assert "Near: whole, leg A, leg B" in done.err
    assert home("house", "new", "empty").code == 0
    assert "reading log FILE" in home("reading", "logged", "-H", "empty").err
