"""Source and case files: what they hold, and errors that name file, line and key."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib import DataError, InputError, LoadlibError
from loadlib_standby.case_file import read_case
from loadlib_standby.source import Battery, Generator, Outlet, Source
from loadlib_standby.source_file import read_source
from loadlib_standby.tests.farmhouse import EXAMPLES, example

GOOD = example("source_generator_7200").read_text(encoding="utf-8")


def source_of(tmp_path: Path, text: str) -> Source:
    path = tmp_path / "source.toml"
    path.write_text(text, encoding="utf-8")
    return read_source(path)


def test_every_example_can_be_read() -> None:
    for path in sorted(EXAMPLES.glob("source_*.toml")):
        assert read_source(path).name
    for path in sorted(EXAMPLES.glob("case_*.toml")):
        assert read_case(path).length_h > 0


def test_generator_example() -> None:
    source = read_source(example("source_generator_7200"))
    assert isinstance(source.carrier, Generator)
    assert (source.running_w, source.starting_w) == (7200.0, 9000.0)
    assert source.carrier.line is not None
    assert source.carrier.line.rate_per_h(7200) == pytest.approx(0.85)
    assert source.cord is not None
    assert (source.cord.gauge, source.cord.length_ft) == ("10", 40.0)


def test_metric_units(tmp_path: Path) -> None:
    text = (
        GOOD.replace("length_ft = 40", "length_m = 10")
        .replace("tank_gal = 6.6", "tank_l = 25")
        .replace("rate_gal_per_h", "rate_l_per_h")
        .replace("altitude_ft = 400", "altitude_m = 1000")
        .replace("outdoor_f = 20", "outdoor_c = -10")
    )
    source = source_of(tmp_path, text)
    assert source.cord is not None
    assert source.cord.length_ft == pytest.approx(32.808, abs=0.001)
    assert source.site.altitude_ft == pytest.approx(3280.8, abs=0.1)
    assert source.site.outdoor_f == pytest.approx(14.0)
    assert source.generator is not None
    assert (source.generator.tank, source.generator.tank_unit) == (25.0, "L")


def test_derating_lowers_both_ratings(tmp_path: Path) -> None:
    source = source_of(tmp_path, GOOD.replace("altitude_ft = 400", "altitude_ft = 5500"))
    assert source.running_w == pytest.approx(7200 * 0.85)
    assert source.starting_w == pytest.approx(9000 * 0.85)
    assert "textbook spark" in source.derating_words()


def test_a_set_rated_on_gasoline_loses_on_gas(tmp_path: Path) -> None:
    text = GOOD.replace('fuel = "gasoline"', 'fuel = "propane"\nrated_on = "gasoline"')
    assert source_of(tmp_path, text).running_w == pytest.approx(6480.0)


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ("running_w = 7200", "running_w = 0", 8, "running_w: 0 is not above 0"),
        ("running_w = 7200", "running_w = -7200", 8, "is not above 0"),
        ("running_w = 7200", 'running_w = "7200"', 8, "expected a number"),
        ("running_w = 7200", "running_w = nan", 8, "expected a number"),
        ("running_w = 7200", "running_w = true", 8, "expected a number"),
        ("starting_w = 9000", "starting_w = 900", 9, "below running_w"),
        ('supply = "120/240"', 'supply = "110"', 11, "'110' is unknown"),
        ('neutral = "floating"', 'neutral = "sometimes"', 14, "is unknown"),
        ('outlet = "L14-30"', 'outlet = "L14-31"', 13, "is unknown"),
        ("tank_gal = 6.6", "tank_gallons = 6.6", 16, "unknown key"),
        ('derating = "textbook spark"', 'derating = "mine"', 17, "is unknown"),
        ('gauge = "10"', 'gauge = "11"', 28, "is unknown"),
        ("length_ft = 40", "", 27, "length_ft: is missing"),
        ('connection = "interlock"', 'connection = "wall outlet"', 5, "backfeed"),
        ('format = "loadlib-source"', 'format = "loadlib-case"', 2, "expected"),
        ("version = 1", "version = 2", 3, "not known"),
        ("[inlet]", "[inlett]", 33, "unknown key"),
        ("load_w = 7200", "load_w = 1800", 19, "two different loads"),
    ],
)
def test_errors_name_line_and_key(
    tmp_path: Path, old: str, new: str, line: int, words: str
) -> None:
    assert old in GOOD
    with pytest.raises(DataError, match=words) as caught:
        source_of(tmp_path, GOOD.replace(old, new, 1))
    assert caught.value.line == line
    assert "source.toml" in str(caught.value)


def test_files_that_are_no_files(tmp_path: Path) -> None:
    with pytest.raises(DataError, match="cannot be read"):
        read_source(tmp_path / "none.toml")
    with pytest.raises(DataError, match="not TOML") as caught:
        source_of(tmp_path, 'format = "loadlib-source"\nname = = 3')
    assert caught.value.line == 2
    path = tmp_path / "binary.toml"
    path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(DataError, match="UTF-8"):
        read_source(path)
    path.write_bytes(b"#" * 1_000_001)
    with pytest.raises(DataError, match="too big"):
        read_source(path)


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=200))
def test_no_text_raises_anything_but_our_own_errors(
    tmp_path_factory: pytest.TempPathFactory, text: str
) -> None:
    path = tmp_path_factory.mktemp("fuzz") / "source.toml"
    path.write_text('format = "loadlib-source"\n' + text, encoding="utf-8", errors="replace")
    with pytest.raises(LoadlibError):
        read_source(path)


def test_a_source_needs_something_that_gives_power(tmp_path: Path) -> None:
    with pytest.raises(DataError, match="generator or a battery"):
        source_of(tmp_path, 'format = "loadlib-source"\n')
    with pytest.raises(DataError, match="list of its circuits"):
        source_of(tmp_path, GOOD.replace('"interlock"', '"fixed circuits"'))
    with pytest.raises(DataError, match="name the outlets"):
        source_of(tmp_path, GOOD.replace('"interlock"', '"cords"'))


def test_sources_made_in_code_are_checked_too() -> None:
    with pytest.raises(InputError, match="running rating 0"):
        Generator(running_w=0, starting_w=0)
    with pytest.raises(InputError, match="below running"):
        Generator(running_w=7200, starting_w=5000)
    with pytest.raises(InputError, match="supply"):
        Generator(running_w=7200, starting_w=9000, supply="12")
    with pytest.raises(InputError, match="neutral"):
        Generator(running_w=7200, starting_w=9000, neutral="both")
    with pytest.raises(InputError, match="capacity"):
        Battery(running_w=3000, starting_w=6000, capacity_kwh=0)
    generator = Generator(running_w=2000, starting_w=2000, supply="120")
    outlet = Outlet("one", 20.0, loads=("lamp",))
    with pytest.raises(InputError, match="One of"):
        Source(name="x", connection="magic", generator=generator, outlets=(outlet,))


def test_case_example() -> None:
    case = read_case(example("case_ice_storm"))
    assert case.length_h == 72.0
    assert case.hours.size == 73  # from 03:40, touches 73 clock hours
    assert int(case.hours[0]) == 3
    assert [int(h) for h in case.night_hours] == [22, 23, 0, 1, 2, 3, 4, 5]
    assert case.heating_factor() == pytest.approx(50 / 37, abs=0.01)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("start = 2027-01-14T03:40:00", 'start = "tomorrow"', "date and time"),
        ("start = 2027-01-14T03:40:00", "start = 2027-01-14", "date and time"),
        ("length_h = 72", "length_h = 0", "not above"),
        ("length_h = 72", "length_h = 9999", "above 1440"),
        ("off_h = 2", "off_h = -1", "below 0"),
        ("outdoor_f = 15", "outdoor_f = 15\noutdoor_c = -9", "both"),
        ("night = [22, 6]", "night = [22, 36]", "clock hours"),
        ("factor = 0.3", "factor = -1", "below 0"),
        ("factor = 0.3", "", "is missing"),
        ('loads = ["range"]', "", "is missing"),
        ('loads = ["range"]', "loads = [3]", "list of texts"),
        ('name = "ice storm"', "name = 3", "expected a text"),
        ("[[habit]]", "[habit]", "not TOML"),
    ],
)
def test_case_errors(tmp_path: Path, old: str, new: str, words: str) -> None:
    text = example("case_ice_storm").read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "case.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(DataError, match=words):
        read_case(path)
