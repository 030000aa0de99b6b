"""Quantities as people write them."""

from __future__ import annotations

import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.errors import InputError, UnitUnknown
from loadlib.units import BASE_UNITS, parse, to_text


@pytest.mark.parametrize(
    ("text", "base", "value"),
    [
        ("1500", "W", 1500.0),
        ("1.5 kW", "W", 1500.0),
        ("1,5 kW", "W", 1500.0),
        ("12,000 watts", "W", 12000.0),
        (".5kw", "W", 500.0),
        ("2 MW", "W", 2e6),
        ("500 mW", "W", 0.5),
        ("850 VA", "VA", 850.0),
        ("2.4 kVA", "VA", 2400.0),
        ("500 mA", "A", 0.5),
        ("6.5 amps", "A", 6.5),
        ("1 kWh", "Wh", 1000.0),
        ("2 kilowatt hours", "Wh", 2000.0),
        ("90 min", "s", 5400.0),
        ("1 day", "s", 86400.0),
        ("-3 °C", "degC", -3.0),
    ],
)
def test_parse(text: str, base: str, value: float) -> None:
    assert parse(text, base) == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "base", "value"),
    [
        ("1 gal", "L", 3.785411784),
        ("1 ft", "m", 0.3048),
        ("1 ft2", "m2", 0.09290304),
        ("1 square foot", "m2", 0.09290304),
        ("2 square feet", "m2", 0.18580608),
        ("32 °F", "degC", 0.0),
        ("212 F", "degC", 100.0),
    ],
)
def test_factors_of_nist_sp_811(text: str, base: str, value: float) -> None:
    """NIST Special Publication 811 (2008), Appendix B.8 and B.9."""
    assert parse(text, base) == pytest.approx(value, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "base"),
    [("850 VA", "W"), ("1.2 kW", "VA"), ("300 var", "W"), ("300 var", "VA"), ("2 kvar", "VA")],
)
def test_watts_va_and_var_are_never_turned_into_one_another(text: str, base: str) -> None:
    with pytest.raises(InputError, match="does not measure") as caught:
        parse(text, base)
    assert "power factor" in (caught.value.hint or "")


@pytest.mark.parametrize(("text", "base"), [("5 kWh", "W"), ("5 V", "A"), ("1 h", "degC")])
def test_another_dimension_is_refused(text: str, base: str) -> None:
    with pytest.raises(InputError, match="does not measure"):
        parse(text, base)


@pytest.mark.parametrize(
    ("text", "suggestion"), [("5 kilowats", "kW"), ("3 ampss", "A"), ("2 hourz", "h")]
)
def test_unknown_unit_names_the_nearest(text: str, suggestion: str) -> None:
    with pytest.raises(UnitUnknown) as caught:
        parse(text, "W")
    assert suggestion in caught.value.suggestions
    assert suggestion in (caught.value.hint or "")


@pytest.mark.parametrize("text", ["5 hp", "3 BTU", "2 qqqqqqq"])
def test_units_left_out_on_purpose(text: str) -> None:
    with pytest.raises(UnitUnknown):
        parse(text, "W")


@pytest.mark.parametrize("text", ["", "kW", "1.2.3 W", "1,2,3 W", "- W", "\x00", "9" * 400])
def test_no_number(text: str) -> None:
    with pytest.raises(InputError):
        parse(text, "W")


@pytest.mark.parametrize(
    ("value", "base", "text"),
    [
        (748.0, "VA", "748 VA"),
        (1236.0, "W", "1.24 kW"),
        (32430.0, "VA", "32.4 kVA"),
        (0.0, "W", "0 W"),
        (-1500.0, "W", "-1.5 kW"),
        (90.0, "s", "1.5 min"),
        (0.35, "A", "350 mA"),
        (21.0, "degC", "21 °C"),
        (12.5, "m2", "12.5 m²"),
        (2.5e9, "W", "2,500 MW"),
    ],
)
def test_to_text(value: float, base: str, text: str) -> None:
    assert to_text(value, base) == text


def test_to_text_wants_a_base_unit() -> None:
    with pytest.raises(UnitUnknown):
        to_text(1.0, "hp")


@given(st.floats(0.01, 1e6), st.sampled_from(sorted(set(BASE_UNITS) - {"degC"})))
@settings(max_examples=100, deadline=None)
def test_text_can_be_read_again(value: float, base: str) -> None:
    assert parse(to_text(value, base, digits=12), base) == pytest.approx(value, rel=1e-6)


@given(st.text(max_size=20))
@settings(max_examples=150, deadline=None)
def test_any_text_is_read_or_refused_plainly(text: str) -> None:
    try:
        value = parse(text, "W")
    except InputError:
        return
    assert isinstance(value, float)


def test_pint_is_imported_only_when_needed() -> None:
    code = (
        "import sys, loadlib.units as u; u.parse('12 W', 'W'); u.to_text(5.0, 'W');"
        "assert 'pint' not in sys.modules; u.parse('1 kW', 'W'); assert 'pint' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
