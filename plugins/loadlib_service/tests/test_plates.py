"""Nameplates from label text."""

from __future__ import annotations

import pytest

from loadlib import InputError
from loadlib_service.dwelling import Dwelling
from loadlib_service.plates import item_from_label
from loadlib_service.standard import standard
from loadlib_service.supply import parse_supply


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


def test_the_largest_motor_of_an_air_conditioner_is_its_compressor() -> None:
    # NEC 440.33: 125 % of the largest motor-compressor plus the other motors. The plate's own
    # minimum circuit ampacity is that sum: 1.25 x 14.1 + 0.7 = 18.3 A.
    found, doubts = item_from_label("condenser", "230V LRA 73 RLA 14.1 FLA 0.7 MCA 18.3 MOCP 30")
    assert doubts == ()
    assert found.largest_motor_va == pytest.approx(14.1 * 230)
    sheet = standard(Dwelling(area_ft2=1000, cooling=(found,)), "2023")
    assert (sheet.va("cooling") + sheet.va("largest_motor")) / 230 == pytest.approx(18.3, abs=0.05)
    assert "(14.1 + 0.7) A × 230 V" in sheet.line("cooling").quantity
    nominal = found.at_nominal(parse_supply("120/240"))
    assert nominal.largest_motor_va == pytest.approx(14.1 * 240)


def test_an_ampacity_that_the_motors_do_not_give_is_told() -> None:
    # The same plate with one figure typed wrong.
    _, doubts = item_from_label("condenser", "230V LRA 73 RLA 14.1 FLA 0.7 MCA 13.3 MOCP 30")
    assert any("13.3 A" in doubt and "18.3" in doubt for doubt in doubts)
