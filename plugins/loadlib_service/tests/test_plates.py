"""Nameplates from label text."""

from __future__ import annotations

import pytest

from loadlib import InputError
from loadlib_service.plates import item_from_label


@pytest.mark.parametrize(
    ("text", "va", "volts", "motor"),
    [
        ("240V 4500W", 4500, 240, False),
        ("120V 60Hz 10A", 1200, 120, False),
        ("208/230V LRA 73 RLA 14.1 FLA 0.7", 14.8 * 230, 230, True),
        ("1/2 HP 115V", 9.8 * 115, 115, True),  # NEC Table 430.248
    ],
)
def test_labels(text: str, va: float, volts: float, motor: bool) -> None:
    found, _ = item_from_label("x", text)
    assert found.va == pytest.approx(va)
    assert found.volts == volts
    assert found.motor is motor


def test_volts_given_stand_above_the_label() -> None:
    found, _ = item_from_label("x", "115V 10A", volts=120)
    assert found.va == 1200
    assert item_from_label("x", "1500W", count=2)[0].total_va == 3000


@pytest.mark.parametrize("text", ["230V MCA 21 MOCP 35", "50A breaker", "5A"])
def test_texts_that_are_no_load(text: str) -> None:
    with pytest.raises(InputError):
        item_from_label("x", text)
