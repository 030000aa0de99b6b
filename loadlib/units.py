"""Quantities as people write them -> floats in base units, and back to text.

The only module that imports pint, and only when a unit has to be converted. The registry
holds these definitions and nothing else, so the set of accepted units is explicit. Watts,
volt-amperes and vars have dimensions of their own: none is ever turned into another, since
that takes a power factor. Horsepower and BTU are left out on purpose: shaft power and
cooling capacity are no electrical input.

Factors: SI; international foot (0.3048 m) and US liquid gallon (3.785411784 L) as in NIST
Special Publication 811, Appendix B.
"""

from __future__ import annotations

import difflib
import functools
import math
import re
from typing import TYPE_CHECKING

from loadlib.errors import InputError, UnitUnknown

if TYPE_CHECKING:
    import pint

__all__ = ["BASE_UNITS", "parse", "to_text"]

_DEFINITIONS = """
kilo- = 1e3 = k-
mega- = 1e6 = M-
milli- = 1e-3 = m-
second = [time] = s
minute = 60 * second = min
hour = 3600 * second = h
day = 24 * hour = d
watt = [power] = W
watt_hour = watt * hour = Wh
volt_ampere = [apparent_power] = VA
var = [reactive_power]
volt = [voltage] = V
ampere = [current] = A
hertz = [frequency] = Hz
meter = [length] = m
foot = 0.3048 * meter = ft
square_meter = [area] = m2
square_foot = 0.09290304 * square_meter = ft2
liter = [volume] = L
gallon = 3.785411784 * liter = gal
kelvin = [temperature] = K
degree_Celsius = kelvin; offset: 273.15 = degC
degree_Fahrenheit = 5 / 9 * kelvin; offset: 233.15 + 200 / 9 = degF
"""

BASE_UNITS = {
    "W": "power",
    "Wh": "energy",
    "VA": "apparent power",
    "var": "reactive power",
    "V": "voltage",
    "A": "current",
    "Hz": "frequency",
    "s": "time",
    "m": "length",
    "m2": "area",
    "L": "volume",
    "degC": "temperature",
}
"""Base unit -> what it measures."""

_SPELLINGS = {
    "W": "W watt watts",
    "kW": "kW kilowatt kilowatts",
    "MW": "megawatt megawatts",
    "Wh": "Wh watt-hour watt-hours",
    "kWh": "kWh kilowatt-hour kilowatt-hours kwhr",
    "MWh": "MWh megawatt-hour megawatt-hours",
    "VA": "VA volt-ampere volt-amperes volt-amps",
    "kVA": "kVA",
    "var": "var vars",
    "kvar": "kvar",
    "V": "V volt volts",
    "kV": "kV kilovolt kilovolts",
    "A": "A amp amps ampere amperes",
    "mA": "mA milliamp milliamps",
    "Hz": "Hz hertz",
    "s": "s sec secs second seconds",
    "min": "min mins minute minutes",
    "h": "h hr hrs hour hours",
    "d": "d day days",
    "m": "m meter meters metre metres",
    "ft": "ft foot feet",
    "m2": "m2 m² sqm square-meter square-meters square-metre square-metres",
    "ft2": "ft2 ft² sqft sq-ft square-foot square-feet",
    "L": "L liter liters litre litres",
    "gal": "gal gallon gallons",
    "degC": "degC °C C celsius",
    "degF": "degF °F F fahrenheit",
}
_UNIT_OF = {word.casefold(): unit for unit, words in _SPELLINGS.items() for word in words.split()}
_EXACT = {"MW": "MW", "mW": "mW"}
"""Spellings that differ only by capitals."""
_QUANTITY = re.compile(r"([+-]?\d[\d.,]*|[+-]?\.\d+)\s*(\D.*)?")
_GROUPED = re.compile(r"[+-]?\d{1,3}(?:,\d{3})+(?:\.\d+)?")
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d{1,2}")


@functools.cache
def _registry() -> pint.UnitRegistry[float]:
    import pint

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(
        None, autoconvert_offset_to_baseunit=True
    )
    registry.load_definitions(_DEFINITIONS.strip().splitlines())
    return registry


@functools.cache
def _scale(unit: str, base: str) -> tuple[float, float]:
    """(factor, offset) with base value = factor × value + offset."""
    registry = _registry()
    zero = registry.Quantity(0.0, unit).to(base).magnitude
    one = registry.Quantity(1.0, unit).to(base).magnitude
    return float(one - zero), float(zero)


def parse(text: str, base: str) -> float:
    """The quantity in ``text`` as a number in the base unit.

    Parameters
    ----------
    text : a number, with or without a unit; without one the base unit is meant.
    base : one of BASE_UNITS.

    Returns
    -------
    Value in ``base``.

    Raises
    ------
    UnitUnknown when the unit is none of those accepted, with the nearest ones.
    InputError when there is no number, or the unit measures something else.

    Examples
    --------
    >>> parse("1.5 kW", "W"), parse("2 h", "s"), parse("41 °F", "degC")
    (1500.0, 7200.0, 5.0)
    """
    match = _QUANTITY.fullmatch(text.strip())
    if match is None:
        raise InputError(
            f"{text!r} is not a number with a unit", hint=f"Write it like this: 12 {base}"
        )
    number = _number(match.group(1), text)
    unit = base if match.group(2) is None else _unit(match.group(2).strip())
    if unit == base:
        return number
    factor, offset = _convertible(unit, base, text)
    return round(factor * number + offset, 12)


def _number(written: str, text: str) -> float:
    """A comma before three digits groups thousands, before one or two it is the decimal mark."""
    plain = written
    if _GROUPED.fullmatch(written):
        plain = written.replace(",", "")
    elif _DECIMAL_COMMA.fullmatch(written):
        plain = written.replace(",", ".")
    try:
        number = float(plain)
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        raise InputError(f"{written!r} in {text!r} is not a number")
    return number


def _unit(written: str) -> str:
    unit = _EXACT.get(written) or _UNIT_OF.get(written.casefold().replace(" ", "-"))
    if unit is not None:
        return unit
    near = difflib.get_close_matches(written.casefold(), _UNIT_OF, n=3, cutoff=0.5)
    suggestions = tuple(dict.fromkeys(_UNIT_OF[word] for word in near))
    raise UnitUnknown(
        f"unknown unit {written!r}",
        unit=written,
        suggestions=suggestions,
        hint=f"Known near it: {', '.join(suggestions)}" if suggestions else None,
    )


def _convertible(unit: str, base: str, text: str) -> tuple[float, float]:
    registry = _registry()
    if registry.Unit(unit).dimensionality == registry.Unit(base).dimensionality:
        return _scale(unit, base)
    hint = f"Give {BASE_UNITS[base]} in {base}."
    if {unit.lstrip("k"), base} <= {"W", "VA", "var"}:
        hint = f"{unit} and {base} differ by the power factor. {hint}"
    raise InputError(f"{text!r} does not measure {BASE_UNITS[base]}", hint=hint)


_STEPS = {
    "W": ((1e6, "MW"), (1e3, "kW"), (1.0, "W")),
    "Wh": ((1e6, "MWh"), (1e3, "kWh"), (1.0, "Wh")),
    "VA": ((1e3, "kVA"), (1.0, "VA")),
    "var": ((1e3, "kvar"), (1.0, "var")),
    "s": ((86400.0, "d"), (3600.0, "h"), (60.0, "min"), (1.0, "s")),
    "A": ((1.0, "A"), (1e-3, "mA")),
}
_SYMBOLS = {"degC": "°C", "m2": "m²"}


def to_text(value: float, base: str, *, digits: int = 3) -> str:
    """A number in the base unit as people read it, in the largest unit that is at least 1.

    Parameters
    ----------
    value : in ``base``.
    base : one of BASE_UNITS.
    digits : significant digits kept.

    Examples
    --------
    >>> to_text(1236.0, "W"), to_text(748.0, "VA"), to_text(5400.0, "s")
    ('1.24 kW', '748 VA', '1.5 h')
    """
    if base not in BASE_UNITS:
        raise UnitUnknown(f"{base!r} is no base unit", unit=base, suggestions=tuple(BASE_UNITS))
    steps = _STEPS.get(base, ((1.0, base),))
    size, unit = next((step for step in steps if abs(value) >= step[0]), steps[-1])
    if value == 0.0:
        size, unit = 1.0, base
    scaled = value / size
    whole = f"{scaled:,.0f}"
    text = whole if abs(scaled) >= 10 ** (digits - 1) else f"{scaled:.{digits}g}"
    return f"{text} {_SYMBOLS.get(unit, unit)}"
