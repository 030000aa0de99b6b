"""The one figure of a rating label that bounds what the appliance draws from the supply."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from loadlib.core.category import Category
from loadlib.core.electrical import System
from loadlib.core.household import Appliance
from loadlib.core.ranges import Range
from loadlib.errors import InputError
from loadlib.estimators.motors import full_load_va, rated_amps_of_plate
from loadlib.estimators.products import divided, times

if TYPE_CHECKING:
    from loadlib import RatingLabel

__all__ = ["Rated", "label_of", "label_remark", "rated_of", "volts_of"]

_LINE_TO_LINE_FROM_V = 190.0

_ANY_EER = Range(8.5, 10.5, 13.0)
"""EER of room and small central air conditioners: 10.5 to 13 are minimum efficiencies of
10 CFR 430.32 (2014 and later), 8.5 stands for old units (common practice)."""

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
    label = _read(appliance)
    return None if label is None or label.refused else label


def label_remark(appliance: Appliance) -> str:
    """What is wrong or doubtful about the typed label, in words; empty where nothing is."""
    if not appliance.label.strip():
        return ""
    label = _read(appliance)
    if label is None:
        return f"{appliance.name}: nothing could be read from the label {appliance.label!r}"
    if label.refused:
        return f"{appliance.name}: label not used, {label.refused}"
    if label.ask and label.doubts:
        return f"{appliance.name}: label in doubt, {'; '.join(label.doubts)}"
    return ""


def _read(appliance: Appliance) -> RatingLabel | None:
    if not appliance.label.strip():
        return None
    from loadlib import read_label

    try:
        return read_label(appliance.label)
    except InputError:
        return None


def volts_of(label: RatingLabel | None, category: Category | None, supply: System) -> float:
    """Volts of the appliance: the label's, else what its kind has on this supply. [V]

    Kinds that the catalog lists for 190 V or more are line to line where the supply's legs
    are 100 to 120 V; all others are leg to neutral.
    """
    if label is not None and label.volts:
        return float(label.volts)
    across = category is not None and category.voltage_v >= _LINE_TO_LINE_FROM_V
    return supply.line_v if across and supply.leg_v < _LINE_TO_LINE_FROM_V else supply.leg_v


def rated_of(
    label: RatingLabel, category: Category | None, volts: float, text: str
) -> Rated | None:
    """The label's figure, from the surest to the least sure kind; None where it has none.

    Watts, VA, volts × amps, motor currents by name, horsepower by the code's table, MCA and
    MOCP, cooling capacity over EER, output watts.
    """
    rule = category.label_rule if category is not None else ""
    if label.watts:
        return _of_watts(float(label.watts), rule, text)
    if label.va:
        return Rated(Range.exact(label.va), "VA", True, f"{label.va:g} VA")
    amps = _amps(label)
    if amps is not None:
        current_a, name = amps
        words = f"{current_a:g} A{name} × {volts:g} V, an upper bound in VA"
        return Rated(Range.exact(current_a * volts), "VA", True, words)
    if label.hp:
        words = f"{label.hp:g} hp, full-load current by the code's table"
        return Rated(Range.exact(full_load_va(label.hp)), "VA", False, words)
    if label.mca:
        low, high = rated_amps_of_plate(label.mca, label.mocp)
        power = Range(low, (low + high) / 2.0, high).scaled(volts)
        words = f"MCA {label.mca:g} A bounds the rated current to {low:.3g}–{high:.3g} A"
        return Rated(power, "VA", True, words)
    if label.btu_h and (label.eer or (category is not None and category.kind == "compressor")):
        return _of_cooling(label.btu_h, label.eer)
    output_w = max((p.watts for p in label.parts if p.role == "output" and p.watts), default=0.0)
    return _of_watts(output_w, "watts_output", "") if output_w else None


def _amps(label: RatingLabel) -> tuple[float, str] | None:
    if label.amps:
        return float(label.amps), ""
    if label.rla:
        # A condensing unit's plate: rated load of the compressor, full load of the fan.
        return label.rla + (label.fla or 0.0), " rated load" + (" with fan" if label.fla else "")
    for value, name in ((label.fla, " full load"), (label.sfa, " service factor")):
        if value:
            return float(value), name
    return None


def _of_cooling(btu_h: float, eer: float | None) -> Rated:
    """Cooling capacity over the energy efficiency ratio, which is assumed if not printed."""
    ratio = Range.exact(eer) if eer else _ANY_EER
    words = f"{btu_h:g} BTU/h at EER {ratio.typical:g}" + ("" if eer else " (assumed)")
    return Rated(divided(Range.exact(btu_h), ratio), "W", False, words)


def _of_watts(watts: float, rule: str, text: str) -> Rated:
    """Watts of a label: input, unless this kind is sold by its output and nothing says input."""
    spoken = text.casefold()
    if rule != "watts_output" or "input" in spoken or "consum" in spoken:
        return Rated(Range.exact(watts), "W", True, f"{watts:g} W")
    factor = _OUTPUT_TO_INPUT if watts > 300.0 else _SUPPLY_OUTPUT_TO_INPUT
    power = times(Range.exact(watts), factor)
    words = f"{watts:g} W taken as output, input {factor.low:g}–{factor.high:g} times that"
    return Rated(power, "W", False, words)
