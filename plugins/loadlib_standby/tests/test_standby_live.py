"""Live: readings, agreement, re-planning, and a log that can be settled."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib import DataError, InputError, Range
from loadlib_standby.choose import bare_source
from loadlib_standby.live import LiveSession, Shown, judge_reading, parse_shown, readings_of
from loadlib_standby.restore import RestorePlan, restoration_plan
from loadlib_standby.setting import setting_of
from loadlib_standby.tests.farmhouse import a_load, profile, setting


@pytest.fixture(scope="module")
def plan() -> RestorePlan:
    return restoration_plan(setting())


class Panel:
    """A person who answers from a list, and a clock that ticks a minute an event."""

    def __init__(self, plan: RestorePlan, log: Path, *answers: str) -> None:
        self.said: list[str] = []
        self.answers: Iterator[str] = iter(answers)
        self.minute = 0
        self.session = LiveSession(plan, log, self.answer, self.said.append, self.clock)

    def answer(self, question: str) -> str:
        return next(self.answers, "stop")

    def clock(self) -> datetime:
        self.minute += 1
        return datetime(2027, 1, 14, 4, 0, tzinfo=UTC) + timedelta(minutes=self.minute)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("2900 W", Shown(2900.0)),
        ("2.9 kW", Shown(2900.0)),
        ("2,900w", Shown(2900.0)),
        ("12 17", Shown(None, (12.0, 17.0))),
        ("A 12.5 B 17", Shown(None, (12.5, 17.0))),
    ],
)
def test_displays_are_read(text: str, shown: Shown) -> None:
    assert parse_shown(text, 2) == shown


@pytest.mark.parametrize("text", ["2900", "twelve", "1 2 3", "", "12 A"])
def test_a_number_without_unit_is_not_guessed_at(text: str) -> None:
    with pytest.raises(InputError, match="not understood"):
        parse_shown(text, 2)


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=30))
def test_no_text_breaks_the_reader(text: str) -> None:
    try:
        shown = parse_shown(text, 2)
    except InputError:
        return
    assert shown.total_w is not None or len(shown.legs_a) == 2


def test_more_than_expected_does_not_agree(plan: RestorePlan) -> None:
    step = plan.steps[0]
    assert judge_reading(step, Shown(legs_a=(9.0, 9.2)), None) == (True, "agrees")
    agrees, words = judge_reading(step, Shown(legs_a=(9.0, 15.0)), None)
    assert not agrees
    assert "more than" in words
    assert not judge_reading(step, Shown(total_w=3000.0), None)[0]
    assert judge_reading(step, Shown(total_w=500.0), None)[0]  # less is normal


def test_nothing_came_on_is_noticed_where_something_always_draws(plan: RestorePlan) -> None:
    step = next(s for s in plan.steps if s.branch.name == "oxygen concentrator")
    agrees, words = judge_reading(step, Shown(total_w=3000.0), Shown(total_w=3000.0))
    assert not agrees
    assert "nothing came on" in words


def test_a_whole_session(plan: RestorePlan, tmp_path: Path) -> None:
    log = tmp_path / "log.jsonl"
    readings = ["1900 W", "2600 W", "nonsense", "3100 W", "", *["ok"] * 4]
    panel = Panel(plan, log, *readings)
    result = panel.session.run()
    assert result.finished
    assert list(result.on) == [step.branch.name for step in plan.steps]
    said = panel.said
    assert said[0] == "Before the first step:"
    assert said[1].strip() == "MAIN BREAKER OFF"
    assert "INTERLOCK BACK, MAIN BREAKER ON" in said[-1]
    events = [json.loads(line) for line in log.read_text().splitlines()]
    assert [e["event"] for e in events] == ["begin", *["step"] * 8, "end"]


def test_the_log_becomes_readings(plan: RestorePlan, tmp_path: Path) -> None:
    log = tmp_path / "log.jsonl"
    Panel(plan, log, "1900 W", "2600 W", "13 17").session.run()
    first, second, leg_a, leg_b = readings_of(log)
    assert (first.place, first.watts, first.watts_after) == ("circuit well pump", 0.0, 1900.0)
    assert (second.place, second.watts, second.watts_after) == ("circuit sump pump", 1900.0, 2600.0)
    assert second.instrument == "source display"
    assert second.on == ("well pump", "sump pump")
    assert (leg_a.place, leg_a.amps, leg_b.place, leg_b.amps) == ("leg A", 13.0, "leg B", 17.0)
    assert leg_a.at is not None
    assert leg_a.at.tzinfo is not None


def test_a_failed_step_gives_a_new_plan_from_the_beginning(
    plan: RestorePlan, tmp_path: Path
) -> None:
    panel = Panel(plan, tmp_path / "log.jsonl", "ok", "f", "y", *["ok"] * 9)
    result = panel.session.run()
    assert result.failed == ("sump pump",)
    assert result.finished
    assert result.on[0] == "well pump"
    assert "sump pump" not in result.on
    assert any("OFF. Wait" in line for line in panel.said)
    assert any("electrician" in line for line in panel.said)


def test_one_that_will_not_start_is_off_and_the_rest_stays_on(
    plan: RestorePlan, tmp_path: Path
) -> None:
    panel = Panel(plan, tmp_path / "log.jsonl", "ok", "f", "n", *["ok"] * 9)
    result = panel.session.run()
    assert result.failed == ("sump pump",)
    assert len(result.on) == len(plan.steps) - 1
    assert not any("OFF. Wait" in line for line in panel.said)


def test_a_second_trip_ends_it(plan: RestorePlan, tmp_path: Path) -> None:
    panel = Panel(plan, tmp_path / "log.jsonl", "ok", "f", "y", "ok", "f", "y", *["ok"] * 9)
    result = panel.session.run()
    assert not result.finished
    assert result.on == ()
    assert "Call an electrician" in panel.said[-1]


def test_a_start_in_doubt_is_said_at_the_panel(tmp_path: Path) -> None:
    pump = a_load("sump pump", 800, priority="must", start_va=Range(2000, 3500, 5500), kind="motor")
    house = setting_of(
        replace(profile(extra=(pump,)), loads=(pump,)), bare_source(8000, 9000, "120/240")
    )
    panel = Panel(restoration_plan(house), tmp_path / "log.jsonl", "ok")
    panel.session.run()
    assert any("in doubt" in line for line in panel.said)


def test_a_log_that_cannot_be_written_is_said(plan: RestorePlan, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be written"):
        Panel(plan, tmp_path / "none" / "log.jsonl", "ok").session.run()


def test_a_missing_load_does_not_undo_what_is_on(plan: RestorePlan, tmp_path: Path) -> None:
    panel = Panel(plan, tmp_path / "log.jsonl", "ok", "m", *["ok"] * 9)
    result = panel.session.run()
    assert result.failed == ("sump pump",)
    assert len(result.on) == len(plan.steps) - 1
    assert not any("OFF. Wait" in line for line in panel.said)


def test_a_reading_that_disagrees_can_be_kept_or_given_up(
    plan: RestorePlan, tmp_path: Path
) -> None:
    kept = Panel(plan, tmp_path / "a.jsonl", "4000 W", "k").session.run()
    assert kept.on == ("well pump",)
    given_up_panel = Panel(plan, tmp_path / "b.jsonl", "4000 W", "f")
    given_up = given_up_panel.session.run()
    assert given_up.failed == ("well pump",)
    assert not any("OFF. Wait" in line for line in given_up_panel.said)
    stopped = Panel(plan, tmp_path / "c.jsonl", "4000 W", "s").session.run()
    assert not stopped.finished


def test_when_no_plan_is_left_it_says_so(tmp_path: Path) -> None:
    plan = restoration_plan(setting())
    names = [step.branch.name for step in plan.steps]
    panel = Panel(plan, tmp_path / "log.jsonl", *["m"] * (len(names) + 4))
    result = panel.session.run()
    assert result.on == ()
    assert any("cannot carry" in line for line in panel.said)


def test_a_broken_log_names_its_line(tmp_path: Path) -> None:
    log = tmp_path / "log.jsonl"
    log.write_text('{"at": "2027-01-14T04:00:00+00:00", "event": "begin"}\nnot json\n')
    with pytest.raises(DataError, match="line 2"):
        readings_of(log)
