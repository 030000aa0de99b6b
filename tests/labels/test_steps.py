"""The steps of the reader, one by one."""

from __future__ import annotations

import pytest

from loadlib.labels import read_label
from loadlib.labels.bind import Figure, bind
from loadlib.labels.groups import lay_out, system_of
from loadlib.labels.scan import Number, scan
from loadlib.labels.supply import find_supply
from loadlib.labels.text import clean


def numbers(text: str) -> list[float]:
    return [token.value for token in scan(clean(text)) if isinstance(token, Number)]


def figures(text: str) -> list[Figure]:
    return bind(lay_out(scan(clean(text))))


def dims(text: str) -> list[tuple[str, tuple[float, ...]]]:
    return [(figure.dim, figure.values) for figure in figures(text)]


@pytest.mark.parametrize(
    ("text", "upper"),
    [
        ("R.L.A. 9", "RLA 9"),
        ("１１５Ｖ", "115V"),
        ("115–230", "115-230"),
        ("1½ HP", "1.5 HP"),
        ("¾ HP", "0.75 HP"),
        ("12OV", "120V"),
        ("6.SA", "6.5A"),
        ("l/2 HP", "1/2 HP"),
        ("1\u202f500 W", "1500 W"),
        ("1'500 W", "1500 W"),
        ("0.9 kWh/24h", "0.9 KWH PER DAY "),
        ("three quarter hp", "0.75 HP"),
    ],
)
def test_cleaning(text: str, upper: str) -> None:
    assert clean(text).upper == upper


@pytest.mark.parametrize("text", ["MODEL SIO 5", "IS 3l", "SOLO", "R-410A", "SIS"])
def test_words_are_not_mended_into_numbers(text: str) -> None:
    assert clean(text).mended == ()


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("12,000 BTU", [12000.0]),
        ("1,234.5 W", [1234.5]),
        ("1.234,5 W", [1234.5]),
        ("1,5 kW", [1.5]),
        ("0,852 kWh", [0.852]),
        (".5HP", [0.5]),
        ("1-1/2hp", [1.5]),
        ("1 1/2 HP", [1.5]),
        ("HP 1/60", [1 / 60]),
        ("230/1 1/2 HP", [230.0, 1.0, 0.5]),
        ("115V60HZ6.5A", [115.0, 60.0, 6.5]),
        ("HB30 C13 IP44", []),
        ("9" * 400, []),
    ],
)
def test_numbers(text: str, values: list[float]) -> None:
    assert numbers(text) == pytest.approx(values)


def test_point_before_three_zeros_is_unclear() -> None:
    token = scan(clean("1.000 W"))[0]
    assert isinstance(token, Number)
    assert token.unclear


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("V 115 A 3.0 W 300 Hz 60", ["V", "A", "W", "HZ"]),
        ("115 V 3.0 A 300 W 60 Hz", ["V", "A", "W", "HZ"]),
        ("HP 1/4 V 115 A 4.8 PH 1 HZ 60", ["HP", "V", "A", "PH", "HZ"]),
        ("9.8 FLA LRA 46", ["A", "A"]),
        ("10A-5A", ["A"]),
        ("120V-60Hz-1Ph", ["V", "HZ", "PH"]),
        ("1~50Hz", ["PH", "HZ"]),
        ("3N~ 400V", ["PH", "V"]),
        ("3x400V", ["PH", "V"]),
    ],
)
def test_units_before_and_behind(text: str, wanted: list[str]) -> None:
    assert [dim for dim, _ in dims(text)] == wanted


def test_words_go_to_the_number_they_describe() -> None:
    heater, total = figures("180W HEATER 250W TOTAL")
    assert "heater" in heater.keys
    assert "total" in total.keys
    whole, motor = figures("12.5A MOTOR 2.4A")
    assert not whole.keys
    assert "motor" in motor.keys


@pytest.mark.parametrize(
    ("values", "system"),
    [
        ([208.0, 230.0, 1.0, 60.0], ([208.0, 230.0], [1.0], [60.0])),
        ([115.0, 60.0, 1.0], ([115.0], [1.0], [60.0])),
        ([208.0, 230.0], None),
        ([115.0, 60.0, 1.0, 7.0], None),
        ([1.0, 60.0], None),
    ],
)
def test_columns_volts_hertz_phase(
    values: list[float], system: tuple[list[float], list[float], list[float]] | None
) -> None:
    assert system_of(values) == system


@pytest.mark.parametrize(
    ("text", "counts", "volts"),
    [
        ("208/230V", set(), 230.0),
        ("110-120V", set(), 120.0),
        ("110-127V", set(), None),
        ("120/240V", set(), 240.0),
        ("240/120V", set(), 240.0),
        ("115/230V", {2}, 115.0),
        ("230/115V", {2}, 230.0),
        ("115/230V", set(), None),
        ("100-240V", {2}, None),
    ],
)
def test_supply(text: str, counts: set[int], volts: float | None) -> None:
    assert find_supply(figures(text), counts, None).volts == volts


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "empty"),
        ("no plate to be seen", "nothing electrical"),
        ("120V 60Hz", "supply voltage only"),
        ("120V 0A", "impossible"),
        ("-5 A", "impossible"),
        ("10 MW", "impossible"),
        ("0 V 3 A", "impossible"),
        ("SEER 16", "efficiency"),
        ("3000 kwh", "kWh without a period"),
        ("fridge 5A; freezer 3A", "two appliances"),
        ("T10A 250V", "fuse"),
        ("16AWG 13A 125V", "cord or wire"),
        ("use a 20 amp circuit", "circuit or breaker"),
        ("200A SERVICE", "service"),
        ("5 kW GENERATOR", "generator"),
        ("100Ah 12V", "battery"),
    ],
)
def test_reasons_of_refusal(text: str, reason: str) -> None:
    refused = read_label(text).refused
    assert refused is not None
    assert reason in refused


def test_a_source_word_beside_a_load_is_no_source() -> None:
    assert read_label("INVERTER AIR CONDITIONER 9000 BTU 115V 6A").refused is None
    assert read_label("STEAM GENERATOR IRON 120V 1500W").refused is None
    assert read_label("BATTERY CHARGER INPUT 120V 2A OUTPUT 12V 10A").refused is None


def test_doubts_speak_of_what_was_mended() -> None:
    label = read_label("12OV 5A")
    assert label.ask
    assert any("12OV" in doubt for doubt in label.doubts)
