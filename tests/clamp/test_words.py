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
        (
            "2.84 kW, 1.91 with slot 7 off",
            "whole",
            {"watts": 2840.0, "watts_after": 1910.0, "off": ("kitchen left",), "digit": 10.0},
        ),
        (
            "2,84 kW, 1,91 kW with slot 7 off",
            "whole",
            {"watts": 2840.0, "watts_after": 1910.0, "off": ("kitchen left",), "digit": 10.0},
        ),
        ("2,84 kW, 1,91", "whole", {"watts": 2840.0, "watts_after": 1910.0}),
        (
            "2.84 kW then 1.9 kW off slot 2 with refrigerator and dryer on",
            "whole",
            {"off": ("well pump",), "on": ("refrigerator", "dryer"), "digit": 100.0},
        ),
        ("whole 3 kW with refrigerator with dryer", "whole", {"on": ("refrigerator", "dryer")}),
        ("slot 7 9.1 A", "circuit kitchen left", {"amps": 9.1}),
        (
            "dryer A 21.9 A 119 V B 25.6 A at 121 V",
            "appliance dryer",
            {"leg_amps": (21.9, 25.6), "leg_volts": (119.0, 121.0)},
        ),
        # The digit is that of the amps where there are any, and at least as fine as 0.1 A.
        ("refrigerator 1.2 A 122 W", "appliance refrigerator", {"amps": 1.2, "digit": 0.1}),
        ("refrigerator 0.45 A", "appliance refrigerator", {"amps": 0.45, "digit": 0.01}),
        ("leg A 23 A", "leg A", {"digit": 0.1}),
        ("refrigerator 1.6 kWh in 24 h", "appliance refrigerator", {"digit": 100.0}),
        ("whole 2.840 kW", "whole", {"watts": 2840.0}),
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
        ("whole 2,840 W", "2,840 W may be 2840 or 2.84"),
        ("refrigerator 1.200 W", "may be 1200 or 1.2"),
        ("2.84 kW then 1.91 kW off", "what was off?"),
        ("2.84 kW then 1.91 kW off slot 9", "slot '9'"),
        ("dryer A 21.9 A 119 V B 25.6", "volts of one leg only"),
        ("dryer A 21.9 A A 22.1 A", "stands twice"),
    ],
)
def test_what_is_not_understood_is_named(text: str, words: str) -> None:
    with pytest.raises(LoadlibError, match=words):
        read_words(text, HOUSE)
