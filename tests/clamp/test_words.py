"""Readings in plain words."""

from __future__ import annotations

import pytest

from loadlib.clamp.words import read_words
from loadlib.core.household import Appliance, Circuit, House
from loadlib.errors import LoadlibError

HOUSE = House(
    "h",
    circuits=(Circuit("well pump", (2, 4), "AB", 20.0), Circuit("kitchen left", (7,), "B", 20.0)),
    appliances=(
        Appliance("refrigerator", "refrigerator", "refrigerator", circuit="kitchen left"),
        Appliance("dryer", "clothes dryer", "clothes_dryer_electric"),
    ),
)


@pytest.mark.parametrize(
    ("text", "place", "fields"),
    [
        ("leg A 23.4 A running", "leg A", {"legs": ("A",), "amps": 23.4, "kind": "running"}),
        ("well pump 8,9 A inrush", "circuit well pump", {"amps": 8.9, "kind": "inrush"}),
        (
            "dryer A 21.9 B 25.6",
            "appliance dryer",
            {"legs": ("A", "B"), "leg_amps": (21.9, 25.6)},
        ),
        (
            "2.84 kW then 1.91 kW off kitchen left",
            "whole",
            {"watts": 2840.0, "watts_after": 1910.0, "off": ("kitchen left",), "digit": 10.0},
        ),
        (
            "refrigerator 9.2 kWh over 7 days",
            "appliance refrigerator",
            {"energy_wh": 9200.0, "period_s": 604_800.0},
        ),
        ("refrigerator 122 W", "appliance refrigerator", {"watts": 122.0, "digit": 1.0}),
        (
            "leg B 12 A 119.5 V peak hold with refrigerator, dryer",
            "leg B",
            {
                "amps": 12.0,
                "volts": 119.5,
                "kind": "peak hold",
                "on": ("refrigerator", "dryer"),
                "legs": ("B",),
            },
        ),
        ("refrigerator 12.4 A 10 turns", "appliance refrigerator", {"amps": 12.4, "turns": 10}),
        ("refrigerator 940 mA", "appliance refrigerator", {"amps": 0.94}),
        ("well pump 9 A one leg", "circuit well pump", {"amps": 9.0, "legs": ("A",)}),
        ("neutral 3.7 A", "neutral", {"amps": 3.7}),
        ("leg A -3 A", "leg A", {"amps": -3.0, "legs": ("A",)}),
    ],
)
def test_readings_are_understood(text: str, place: str, fields: dict[str, object]) -> None:
    said = read_words(text, HOUSE)
    assert said.place == place
    wanted = {key: pytest.approx(v) if isinstance(v, float) else v for key, v in fields.items()}
    assert {key: said.fields.get(key) for key in fields} == wanted


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no reading"),
        ("cellar pump 3 A", "cellar pump"),
        ("leg C 3 A", "leg 'C'"),
        ("leg A", "no amps, watts"),
        ("leg A 3 kVA", "not volt-amperes"),
        ("leg A 3 A 4 A", "two values of amps"),
        ("leg A 3 A sideways", "'sideways'"),
        ("leg A 3 A with sauna", "sauna"),
    ],
)
def test_what_is_not_understood_is_named(text: str, words: str) -> None:
    with pytest.raises(LoadlibError, match=words):
        read_words(text, HOUSE)
