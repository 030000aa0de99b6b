"""The one figure of a rating label that bounds what the appliance draws from the supply."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from loadlib.core.category import Category
from loadlib.core.household import Appliance
from loadlib.core.ranges import Range
from loadlib.errors import InputError
from loadlib.estimators.motors import full_load_va, rated_amps_of_plate
from loadlib.estimators.products import times

if TYPE_CHECKING:
    from loadlib import RatingLabel

__all__ = ["Rated", "label_of", "label_volts", "rated_of"]

_OUTPUT_TO_INPUT = Range(1.4, 1.55, 1.8)
"""A microwave oven's input over its cooking output: common practice, 55 to 70 % efficient."""

_SUPPLY_OUTPUT_TO_INPUT = Range(1.1, 1.25, 1.5)
"""Input over output of a small power supply: common practice, 67 to 90 % efficient."""


@dataclass(frozen=True, slots=True)
class Rated:
    """A label's figure: ``power`` in ``unit`` ("W" or "VA") and how it was reached, in words.

    ``bound`` is true where running cannot be above it (amps and VA of a whole appliance),
    false where it follows from a table or an assumed efficiency.
    """

    power: Range
    unit: str
    bound: bool
    words: str


def label_of(appliance: Appliance) -> RatingLabel | None:
    """What the typed label says, or None where there is none, or none that can be a load."""
    if not appliance.label.strip():
        return None
    from loadlib import read_label

    try:
        label = read_label(appliance.label)
    except InputError:
        return None
    return None if label.refused else label


def label_volts(label: RatingLabel | None, category: Category | None) -> float | None:
    """Volts of the appliance: the label's, else the category's. [V]"""
    if label is not None and label.volts:
        return float(label.volts)
    return category.voltage_v if category is not None and category.voltage_v > 0.0 else None


def rated_of(
    label: RatingLabel, category: Category | None, volts: float | None, text: str
) -> Rated | None:
    """The label's figure, from the surest to the least sure kind; None where it has none.

    Watts, VA, volts × amps, named motor currents, horsepower by the code's table, MCA and
    MOCP, cooling capacity over EER.
    """
    rule = category.label_rule if category is not None else ""
    if label.watts:
        return _of_watts(float(label.watts), rule, text)
    if label.va:
        return Rated(Range.exact(label.va), "VA", True, f"{label.va:g} VA")
    if label.btu_h and label.eer:
        words = f"{label.btu_h:g} BTU/h at EER {label.eer:g}"
        return Rated(Range.exact(label.btu_h / label.eer), "W", False, words)
    amps = _amps(label)
    if amps is not None and volts:
        current_a, name = amps
        words = f"{current_a:g} A{name} × {volts:g} V, an upper bound in VA"
        return Rated(Range.exact(current_a * volts), "VA", True, words)
    if label.hp:
        words = f"{label.hp:g} hp, full-load current by the code's table"
        return Rated(Range.exact(full_load_va(label.hp)), "VA", False, words)
    if label.mca and volts:
        low, high = rated_amps_of_plate(label.mca, label.mocp)
        power = Range(low, (low + high) / 2.0, high).scaled(volts)
        words = f"MCA {label.mca:g} A bounds the rated current to {low:.3g}–{high:.3g} A"
        return Rated(power, "VA", True, words)
    return None


def _amps(label: RatingLabel) -> tuple[float, str] | None:
    for value, name in (
        (label.amps, ""),
        (label.rla, " rated load"),
        (label.fla, " full load"),
        (label.sfa, " service factor"),
    ):
        if value:
            return float(value), name
    return None


def _of_watts(watts: float, rule: str, text: str) -> Rated:
    """Watts of a label: input, unless this kind is sold by its output and nothing says input."""
    spoken = text.casefold()
    if rule != "watts_output" or "input" in spoken or "consum" in spoken:
        return Rated(Range.exact(watts), "W", True, f"{watts:g} W")
    factor = _OUTPUT_TO_INPUT if watts > 300.0 else _SUPPLY_OUTPUT_TO_INPUT
    power = times(Range.exact(watts), factor)
    words = f"{watts:g} W taken as output, input {factor.low:g}–{factor.high:g} times that"
    return Rated(power, "W", False, words)
