"""Figures: what they say, how they are built, and that the bytes are the same each time."""

from __future__ import annotations

import hashlib
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from collections.abc import Callable

import numpy as np
import pytest

from loadlib import InputError, Range, figures

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = "</text><script>alert(1)</script>"

MONTH_WH = [Range(700e3, 900e3 + 10e3 * m, 1300e3) for m in range(12)]
GRID_W = np.add.outer(np.linspace(200.0, 900.0, 12), np.linspace(0.0, 1500.0, 24))
LIMITS_W = np.linspace(1e3, 12e3, 12)
FEWER = 40.0 * np.exp(-LIMITS_W / 1500.0)


def months(size: str = "wide") -> str:
    return figures.energy_by_month(MONTH_WH, size=size)


def split(size: str = "wide") -> str:
    parts = [[4e5] * 12, [3e5] * 3 + [0.0] * 9, [0.0] * 6 + [2e5] * 3 + [0.0] * 3]
    return figures.energy_by_month(MONTH_WH, parts, size=size)


def hours(size: str = "wide") -> str:
    return figures.month_hour_map(GRID_W, size=size)


def day(size: str = "wide") -> str:
    mean = GRID_W[0]
    return figures.day_curve(mean, mean / 2, 3 * mean, 4 * mean, top_w=8e3, size=size)


def clock(size: str = "wide") -> str:
    with_gap = GRID_W[3].copy()
    with_gap[5:9] = np.nan
    names = ["whole house (leg A + leg B)", HOSTILE, "مضخة", "circuit " + "long " * 20]
    return figures.clock_hours(names, [GRID_W[0], with_gap, -GRID_W[1], GRID_W[2]], size=size)


def duration(size: str = "wide") -> str:
    share = np.linspace(0.0, 1.0, 101)
    return figures.duration_curve(share, 300.0 + 8000.0 * (1.0 - share) ** 4, size=size)


def overloads(size: str = "wide") -> str:
    return figures.overload_curve(LIMITS_W, FEWER, 2 * FEWER, 3 * FEWER + 1.0, size=size)


def starts(size: str = "wide") -> str:
    names = ["deep-well pump", HOSTILE, "مضخة", "\x00\ud800 bell \x07"]
    ranges = [Range(9e3, 12e3, 15e3), *[Range(1e3, 2e3, 3e3)] * 3]
    return figures.start_ranges(names, ranges, [2e3, 500.0, 500.0, 500.0], size=size)


ALL = [months, split, hours, day, clock, duration, overloads, starts]


@pytest.mark.parametrize("size", ["wide", "narrow"])
@pytest.mark.parametrize("draw", ALL)
class TestEveryFigure:
    def test_it_has_a_title_and_says_its_numbers(
        self, draw: Callable[[str], str], size: str
    ) -> None:
        root = ET.fromstring(draw(size))
        assert root.get("role") == "img"
        assert [child.tag for child in root[:2]] == [SVG + "title", SVG + "desc"]
        assert root.get("aria-labelledby") == f"{root[0].get('id')} {root[1].get('id')}"
        assert re.search(r"\d", root[1].text or "")

    def test_it_reaches_nothing_outside_and_has_no_inline_style(
        self, draw: Callable[[str], str], size: str
    ) -> None:
        root = ET.fromstring(draw(size))
        tags = {element.tag.removeprefix(SVG) for element in root.iter()}
        assert tags <= {
            "svg", "title", "desc", "g", "defs", "path", "text", "use", "clipPath", "rect",
            "pattern",
        }  # fmt: skip
        for element in root.iter():
            assert "style" not in element.attrib
            assert not any(name.startswith("on") for name in element.attrib)
            assert element.get("href", "#").startswith("#")

    def test_every_reference_has_its_target(self, draw: Callable[[str], str], size: str) -> None:
        svg = draw(size)
        ids = re.findall(r'\bid="([^"]+)"', svg)
        assert len(ids) == len(set(ids))
        wanted = set(re.findall(r"url\(#([^)]+)\)", svg)) | set(re.findall(r'href="#([^"]+)"', svg))
        assert wanted <= set(ids)

    def test_every_colour_has_a_dark_one(self, draw: Callable[[str], str], size: str) -> None:
        for element in ET.fromstring(draw(size)).iter():
            for name, letter in (("fill", "f"), ("stroke", "s")):
                colour = element.get(name, "none")
                if colour.startswith("#"):
                    found = re.search(rf"ll-{letter}-[\w-]+", element.get("class", ""))
                    assert found is not None, (element.tag, colour)
                    assert f".{found[0]}{{" in figures.CSS

    def test_it_is_small(self, draw: Callable[[str], str], size: str) -> None:
        assert len(draw(size).encode()) < 64_000

    def test_no_letter_leaves_the_picture(self, draw: Callable[[str], str], size: str) -> None:
        root = ET.fromstring(draw(size))
        for text in root.iter(SVG + "text"):
            if "transform" not in text.attrib:
                assert 0.0 <= float(text.get("x", "nan")) <= float(root.get("width", "nan"))
                assert 0.0 <= float(text.get("y", "nan")) <= float(root.get("height", "nan"))


def test_the_same_bytes_in_every_process() -> None:
    code = (
        "import hashlib, sys; sys.path.insert(0, sys.argv[1]); import test_figures as t;"
        "print(hashlib.sha256(''.join(d(s) for d in t.ALL for s in ('wide', 'narrow'))"
        ".encode()).hexdigest())"
    )
    folder = __file__.rpartition("/")[0]
    others = [
        subprocess.run(
            [sys.executable, "-c", code, folder],
            capture_output=True, text=True, check=True, timeout=300,
            env={"PYTHONHASHSEED": seed, "PATH": "", "SOURCE_DATE_EPOCH": seed},
        ).stdout.strip()
        for seed in ("1", "2")
    ]  # fmt: skip
    here = hashlib.sha256("".join(d(s) for d in ALL for s in ("wide", "narrow")).encode())
    assert others == [here.hexdigest()] * 2


def test_own_settings_of_matplotlib_change_nothing() -> None:
    import matplotlib

    before = months()
    with matplotlib.rc_context({"font.size": 30.0, "axes.facecolor": "red"}):
        assert months() == before
        assert matplotlib.rcParams["font.size"] == 30.0


def test_names_are_text() -> None:
    svg = starts()
    texts = [text.text or "" for text in ET.fromstring(svg).iter(SVG + "text")]
    assert "<script" not in svg
    assert "</text><script>alert(1)</scri…" in texts
    assert "مضخة" in texts
    assert "\ufffd\ufffd bell \ufffd" in texts


def test_descriptions_hold_the_numbers() -> None:
    def words(svg: str) -> str:
        return ET.fromstring(svg)[1].text or ""

    assert words(months()) == ("Most in Dec, 1,010 kWh (700 to 1,300); least in Jan, 900 kWh.")
    assert words(hours()) == "Highest in Dec from 23:00, 2.4 kW; lowest in Jan from 0:00, 0.2 kW."
    assert "Hardest: deep-well pump, 12 kVA (9 to 15)" in words(starts())
    # 300 + 8000 (1 − s)⁴ at s = 0.1 is 5549 W.
    assert "above 5.5 kW for 10 % of the time" in words(duration())
    # 80 exp(−L/1500) passes one a day at L = 1500 ln 80 = 6573 W: the next size is 7 kW.
    assert "at most 1 a day from 7 kVA" in words(overloads())


def test_the_map_shows_each_number_and_leaves_gaps_blank() -> None:
    def cells(grid: np.ndarray) -> int:
        root = ET.fromstring(figures.month_hour_map(grid))
        return sum(t.get("class") in ("ll-f-on-low", "ll-f-on-high") for t in root.iter())

    gaps = GRID_W.copy()
    gaps[3, :5] = np.nan
    assert cells(GRID_W) == 288
    assert cells(gaps) == 283
    nothing = figures.month_hour_map(np.full((12, 24), np.nan))
    assert "No hour is known." in nothing


@pytest.mark.parametrize("top_w", [0.0, 1e-3, 1.0, 7.3, 96.0, 1234.0, 9.99e4])
def test_map_steps_are_round_and_hold_all(top_w: float) -> None:
    from loadlib.figures.hours import heat_edges_w

    edges = heat_edges_w(np.array([0.0, top_w]))
    assert edges.size == 8
    assert edges[0] <= 0.0
    assert edges[-1] >= top_w
    assert np.allclose(np.diff(edges), edges[1] - edges[0])
    assert edges[-1] <= max(2.0 * top_w, 1e-6)


def test_negative_means_of_a_home_that_exports_are_drawn() -> None:
    assert "lowest in Jan from 0:00, -3 kW" in figures.month_hour_map(GRID_W - 3200.0)


def test_a_month_without_a_number_leaves_a_gap() -> None:
    some = figures.energy_by_month([None, Range.exact(5e5), None], labels=("Nov", "Dec", "Jan 26"))
    assert "Jan 26" in some
    assert "least in Dec, 500 kWh" in some
    assert "No month is known." in figures.energy_by_month([None] * 12)


def test_hours_say_where_each_line_is_highest_and_lowest() -> None:
    row = np.full(24, 400.0)
    row[18], row[3] = 2400.0, 100.0
    root = ET.fromstring(figures.clock_hours(["leg A", "nothing"], [row, np.full(24, np.nan)]))
    told = root[1].text or ""
    assert "leg A: highest from 18:00, 2.4 kW; lowest from 3:00, 0.1 kW." in told
    assert "nothing: no hour is known." in told


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: figures.energy_by_month(MONTH_WH[:3]),
        lambda: figures.month_hour_map([[1.0] * 24] * 11),
        lambda: figures.day_curve([1.0] * 23, [0.0] * 24, [2.0] * 24, [3.0] * 24),
        lambda: figures.duration_curve([0.0], [1.0]),
        lambda: figures.duration_curve([0.5, 0.1], [1.0, 1.0]),
        lambda: figures.overload_curve([1e3, 2e3], [1.0], [1.0, 1.0]),
        lambda: figures.start_ranges(["a"], [], []),
        lambda: figures.start_ranges([], [], []),
        lambda: figures.month_hour_map(GRID_W, size="huge"),
        lambda: figures.clock_hours([], []),
        lambda: figures.clock_hours(["a"], [[1.0] * 23]),
        lambda: figures.clock_hours(["a"] * 5, [[1.0] * 24] * 5),
    ],
)
def test_wrong_shapes_are_refused(wrong: Callable[[], str]) -> None:
    with pytest.raises(InputError):
        wrong()


def test_standalone_is_a_file_of_its_own() -> None:
    text = figures.standalone(months())
    root = ET.fromstring(text)
    assert text.startswith("<?xml")
    assert root[0].tag == SVG + "title"
    assert "prefers-color-scheme:dark" in (root.find(SVG + "style").text or "")  # type: ignore[union-attr]


class TestContrast:
    """WCAG 2.2, success criteria 1.4.3 (letters, 4.5) and 1.4.11 (marks, 3)."""

    @staticmethod
    def ratio(a: str, b: str) -> float:
        def luminance(colour: str) -> float:
            channels = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
            linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
            return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

        high, low = sorted((luminance(a), luminance(b)), reverse=True)
        return (high + 0.05) / (low + 0.05)

    def test_known_ratio(self) -> None:
        # WCAG's own extreme: black on white is 21.
        assert self.ratio("#000000", "#ffffff") == pytest.approx(21.0)

    @pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
    def test_letters_and_marks_on_paper(self, scheme: int) -> None:
        from loadlib.figures.theme import PAPER, ROLES

        for role in ("ink", "muted"):
            assert self.ratio(ROLES[role][scheme], PAPER[scheme]) >= 4.5
        for role in ("main", "accent"):
            assert self.ratio(ROLES[role][scheme], PAPER[scheme]) >= 3.0
            assert self.ratio(ROLES[role][scheme], ROLES["band"][scheme]) >= 3.0
        for role in ("band", "second", "third"):
            assert self.ratio(ROLES["ink"][scheme], ROLES[role][scheme]) >= 3.0

    @pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
    def test_numbers_in_the_cells(self, scheme: int) -> None:
        from loadlib.figures.theme import HEAT, ROLES

        for step, role in enumerate(HEAT):
            letters = ROLES["on-high" if step >= len(HEAT) - 2 else "on-low"][scheme]
            assert self.ratio(letters, ROLES[role][scheme]) >= 4.5, role

    @pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
    def test_steps_differ_in_lightness_alone(self, scheme: int) -> None:
        from loadlib.figures.theme import HEAT, ROLES

        white = [self.ratio(ROLES[role][scheme], "#000000") for role in HEAT]
        assert white == sorted(white, reverse=scheme == 0)
