"""Pictures in the terminal and as SVG: readable narrow and wide, piped, and without blocks."""

from __future__ import annotations

import sys
import xml.etree.ElementTree as ET
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from loadlib import BillPeriod, Evidence, House, InputError, NotFound, Series
from loadlib.cli.pictures import Marks, duration_lines, energy_lines, map_lines, marks
from loadlib.cli.usage_pictures import pictures_of

Run = Callable[..., Any]

WIDTHS = (30, 45, 80, 120)
YEAR_WH = [1000e3, 890e3, 800e3, 740e3, 700e3, 690e3, 720e3, 740e3, 700e3, 800e3, 900e3, 990e3]
BILLS = tuple(
    BillPeriod(date(2025, m, 1), date(2025 + m // 12, m % 12 + 1, 1), wh)
    for m, wh in enumerate(YEAR_WH, 1)
)
ROWS = np.add.outer(np.linspace(0.0, 900.0, 12), np.linspace(100.0, 1500.0, 24))


def series(start: str, mean_w: list[float] | np.ndarray, step_s: int, zone: str) -> Series:
    begin = datetime.fromisoformat(start)
    assert begin.tzinfo is not None
    return Series(
        "meter", "whole", "import", int(begin.timestamp()), step_s, np.asarray(mean_w), zone
    )


class TestLines:
    @pytest.mark.parametrize("width", WIDTHS)
    def test_they_fit(self, width: int) -> None:
        parts = [[6e5] * 12, [y - 6e5 for y in YEAR_WH], [0.0] * 12]
        share = np.linspace(0.0, 1.0, 50)
        for lines in (
            duration_lines(share, 9e3 * (1.0 - share) ** 3, width),
            map_lines(ROWS, width),
            energy_lines([f"Jan {i}" for i in range(12)], YEAR_WH, parts, width),
        ):
            found = list(lines)
            # The map of one character an hour needs 42 columns whatever the terminal.
            assert max(map(len, found)) <= max(width, 42)
            assert not any("\x1b" in line for line in found)

    def test_a_bar_is_as_long_as_its_number(self) -> None:
        share = np.array([0.0, 0.5, 1.0])
        rows = list(duration_lines(share, np.array([4000.0, 2000.0, 0.0]), 80))[1:]
        lengths = {row.split()[0]: row.count(marks().bar) for row in rows}
        assert lengths["highest"] == 60
        assert lengths["50"] == 30
        assert lengths["100"] == 0
        assert rows[-1].endswith("0 W")
        assert next(row for row in rows if row.strip().startswith("20 %")).endswith("3.2 kW")

    def test_the_map_has_a_legend_that_holds_for_its_shades(self) -> None:
        text = "\n".join(map_lines(ROWS, 120))
        # 0 to 2400 W in five steps of 500 W: the highest cell is in the last, the lowest in
        # the first.
        assert "· 0 to 0.5" in text
        assert "█ 2 to 2.5" in text
        assert "Jan ·0.1" in text
        assert text.splitlines()[13].endswith("█2.4")

    def test_the_narrow_map_has_numbers_too(self) -> None:
        rows = list(map_lines(ROWS, 45))
        assert rows[2].split()[-4:] == ["800", "W", "1.5", "kW"]

    def test_gaps_are_blank(self) -> None:
        gaps = ROWS.copy()
        gaps[4] = np.nan
        gaps[5, :12] = np.nan
        rows = list(map_lines(gaps, 45))
        assert rows[6] == "May"
        assert rows[7].startswith("Jun " + " " * 12)
        assert list(map_lines(np.full((12, 24), np.nan), 120))[2] == "Jan"

    def test_parts_are_told_apart_by_character(self) -> None:
        rows = list(energy_lines(["Jan"], [3e6], [[1e6], [1e6], [1e6]], 80))
        assert rows[1] == "█ base  ▒ heating  ░ cooling"
        bar = rows[-1]
        counts = [bar.count(sign) for sign in "█▒░"]
        assert max(counts) - min(counts) <= 1
        assert bar.split()[-4:] == ["3,000", "1,000", "1,000", "1,000"]

    def test_without_a_split_there_is_one_kind_of_bar(self) -> None:
        rows = list(energy_lines(["Jan", "Feb"], [2e6, 1e6], (), 45))
        assert len(rows) == 3
        assert rows[1].count("█") == 2 * rows[2].count("█")

    def test_ascii_where_blocks_can_not_be_shown(self, monkeypatch: pytest.MonkeyPatch) -> None:
        class Plain:
            encoding = "ascii"

        monkeypatch.setattr(sys, "stdout", Plain())
        plain = marks()
        lines = [
            *duration_lines(np.array([0.0, 1.0]), np.array([10.0, 0.0]), 45),
            *map_lines(ROWS, 45),
            *energy_lines(["Jan"], [3e6], [[1e6], [1e6], [1e6]], 45),
        ]
        monkeypatch.undo()
        assert plain == Marks(("#", "+", "-"), ".:+*#")
        assert all(line.isascii() for line in lines)


class TestNumbers:
    def test_hours_are_those_of_the_clock(self) -> None:
        # One hour of 1 kW from 18:00 local, in winter time and in summer time of New York.
        zone = "America/New_York"
        for day, offset, month in (("2025-01-15", "-05:00", 0), ("2025-07-15", "-04:00", 6)):
            one = series(f"{day}T17:00:00{offset}", [0.0, 1000.0, 0.0], 3600, zone)
            found = pictures_of(Evidence(House("h"), series=(one,))).hours_w
            assert found is not None
            assert found[month, 17:20].tolist() == [0.0, 1000.0, 0.0]
            assert int(np.isfinite(found).sum()) == 3

    def test_the_zone_of_the_house_serves_where_the_file_has_none(self) -> None:
        one = series("2025-01-15T12:00:00+00:00", [500.0, 500.0], 3600, "")
        house = House("h", timezone="Asia/Kolkata")  # 5 h 30 min ahead
        found = pictures_of(Evidence(house, series=(one,))).hours_w
        assert found is not None
        assert np.flatnonzero(np.isfinite(found[0])).tolist() == [17, 18]

    def test_hours_and_curve_leave_gaps_out(self) -> None:
        mean_w = np.tile([100.0, np.nan, 300.0, 500.0], 24)
        found = pictures_of(
            Evidence(House("h"), series=(series("2025-03-01T00:00+00:00", mean_w, 900, "UTC"),))
        )
        assert found.hours_w is not None
        assert found.passed_w is not None
        assert found.hours_w[2].tolist() == pytest.approx([300.0] * 24)
        assert found.passed_w.size == 72
        assert found.passed_w[0] == 500.0
        assert np.all(np.diff(found.passed_w) <= 0.0)
        assert found.there() == ("hours", "duration")
        assert "24 missing and left out" in found.notes_on("duration")[0]

    def test_bills_are_split(self) -> None:
        found = pictures_of(Evidence(House("h"), bills=BILLS))
        assert found.periods is not None
        assert found.there() == ("months",)
        assert found.periods.labels[0] == "Jan 25"
        assert found.periods.energy_wh == pytest.approx(YEAR_WH)
        base, heating, cooling = found.periods.parts_wh
        assert heating[0] > 0.15e6
        assert heating[6] == 0.0
        assert cooling[0] == 0.0
        fitted = [sum(parts) for parts in zip(base, heating, cooling, strict=True)]
        assert fitted == pytest.approx(YEAR_WH, rel=0.12)

    def test_few_bills_are_shown_whole(self) -> None:
        found = pictures_of(Evidence(House("h"), bills=BILLS[:3]))
        assert found.periods is not None
        assert found.periods.parts_wh == ()
        assert "fewer than six" in found.notes_on("months")[0]

    def test_days_give_no_hours(self) -> None:
        one = series("2025-01-01T00:00+00:00", [400.0] * 40, 86400, "UTC")
        found = pictures_of(Evidence(House("h"), series=(one,)))
        assert found.hours_w is None
        with pytest.raises(InputError, match="an hour or finer"):
            found.svg("hours")

    def test_nothing_at_all(self) -> None:
        with pytest.raises(InputError, match="no bills and no usage file"):
            pictures_of(Evidence(House("h")))

    def test_what_is_fed_in_is_no_demand(self) -> None:
        out = Series("meter", "whole", "export", 0, 3600, np.array([1.0, 2.0]), "UTC")
        with pytest.raises(InputError):
            pictures_of(Evidence(House("h"), series=(out,)))

    @pytest.mark.parametrize("kind", ["months", "hours", "duration"])
    def test_each_as_svg(self, kind: str) -> None:
        start = datetime(2025, 1, 1, tzinfo=UTC).isoformat()
        one = series(start, 300.0 + np.arange(24 * 20) % 24 * 50.0, 3600, "UTC")
        found = pictures_of(Evidence(House("h"), series=(one,), bills=BILLS))
        root = ET.fromstring(found.svg(kind))
        assert root.get("role") == "img"
        assert found.svg(kind) == found.svg(kind)


class TestCommand:
    @pytest.fixture
    def ridge(self, run: Run) -> Run:
        assert run("house", "new", "ridge").code == 0
        for bill in BILLS:
            words = (str(bill.first_day), str(bill.day_after), str(bill.energy_wh / 1000))
            assert run("usage", "bill", *words).code == 0
        return run

    @pytest.mark.parametrize("columns", ["45", "120"])
    def test_it_shows_what_there_is(
        self, ridge: Run, columns: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setenv("COLUMNS", columns)
        done = ridge("usage", "picture")
        assert done.code == 0
        assert "Jan 25" in done.out
        assert "heating" in done.out
        assert "Load-duration" not in done.out
        assert max(map(len, done.out.splitlines())) <= int(columns)
        assert "\x1b" not in done.out

    def test_one_as_a_file(self, ridge: Run) -> None:
        assert ridge("usage", "picture", "--of", "months", "--svg", "m.svg").code == 0
        assert ET.fromstring(Path("m.svg").read_text("utf-8")).get("role") == "img"

    def test_mistakes(self, ridge: Run) -> None:
        assert ridge("usage", "picture", "--svg", "m.svg").code == 2
        done = ridge("usage", "picture", "--of", "weeks")
        assert done.code == 3
        assert "months" in done.err
        done = ridge("usage", "picture", "--of", "hours")
        assert done.code == 2
        assert "usage add" in done.err
        assert not Path("m.svg").exists()


def test_a_picture_that_does_not_exist() -> None:
    from loadlib.cli.usage_pictures import check_kind

    with pytest.raises(NotFound):
        check_kind("weeks")
