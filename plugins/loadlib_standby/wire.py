"""Cords and wires: resistance with its temperature, voltage drop, ampacity.

Resistance is that of NFPA 70 (NEC) Chapter 9 Table 8 at 75 °C unless another temperature is
asked for; a cold wire has less. The 3 % and 5 % often called for are recommendations
(informational notes to 210.19(A) and 215.2(A)), not rules.
"""

from __future__ import annotations

from dataclasses import dataclass

from loadlib_standby.engine import InputError, NotFound
from loadlib_standby.tables import find, number, table

__all__ = [
    "KFT_PER_M",
    "Drop",
    "at_temperature",
    "cord_ampacity_a",
    "drop_by_k",
    "effective_impedance",
    "generator_conductor_a",
    "longest_run_ft",
    "ohm_per_kft",
    "overcurrent_cap_a",
    "run_ohm",
    "smallest_for_drop",
    "smallest_wire",
    "voltage_drop",
    "wire_ampacity_a",
]

KFT_PER_M = 1.0 / 304.8
_ALPHA_75 = {"copper": 0.00323, "coated_copper": 0.00323, "aluminium": 0.00330}
"""Temperature coefficient at 75 °C, note 2 to Chapter 9 Table 8 (from memory). [1/°C]"""


def ohm_per_kft(
    awg: str, *, material: str = "copper", stranded: bool = True, temperature_c: float = 75.0
) -> float:
    """Resistance of one conductor. [ohm/kft]

    Parameters
    ----------
    awg : str
        gauge, ``"10"`` or ``"1/0"``.
    material : str
        ``"copper"`` (uncoated), ``"coated_copper"`` or ``"aluminium"``.
    stranded : bool
        cords are stranded; sizes above 8 AWG are tabled stranded only.
    temperature_c : float
        conductor temperature. [°C]

    Examples
    --------
    >>> ohm_per_kft("10"), round(ohm_per_kft("12", temperature_c=20), 3)
    (1.24, 1.628)
    """
    if material not in _ALPHA_75:
        raise NotFound("conductor material", material, near=tuple(_ALPHA_75))
    gauge = _gauge(awg)
    rows = [row for row in table("conductors") if row["awg"] == gauge]
    if not rows:
        raise NotFound(
            "gauge", awg, near=tuple(dict.fromkeys(r["awg"] for r in table("conductors")))
        )
    row = max(rows, key=lambda r: (int(r["strands"]) > 1) == stranded)
    at_75c = float(row[f"{material}_ohm_per_kft"])
    return at_temperature(at_75c, temperature_c, material=material)


def at_temperature(
    ohm_per_kft_75c: float, temperature_c: float, *, material: str = "copper"
) -> float:
    """Table 8 resistance at another temperature: R [1 + α (T − 75)]. [ohm/kft]

    ``ohm_per_kft_75c`` [ohm/kft], ``temperature_c`` [°C].
    """
    return ohm_per_kft_75c * (1.0 + _ALPHA_75[material] * (temperature_c - 75.0))


def run_ohm(ohm_per_kft: float, length_ft: float) -> float:
    """Resistance of a length of one conductor: ``ohm_per_kft`` [ohm/kft], ``length_ft`` [ft].

    [ohm]
    """
    return ohm_per_kft * length_ft / 1000.0


@dataclass(frozen=True, slots=True)
class Drop:
    """Voltage lost on a run: volts, share of the supply, volts left at the end."""

    drop_v: float
    share: float
    end_v: float

    def within(self, share: float = 0.03) -> bool:
        """True when no more than ``share`` is lost (3 % is a recommendation)."""
        return self.share <= share


def voltage_drop(
    ohm_per_kft: float, one_way_ft: float, amps_a: float, volts_v: float, *, phases: int = 1
) -> Drop:
    """Drop over there and back: 2 R I L / 1000 (√3 in place of 2 for three phases).

    Parameters
    ----------
    ohm_per_kft : float
        resistance (or effective impedance) of one conductor. [ohm/kft]
    one_way_ft : float
        length of the run, one way. [ft]
    amps_a : float
        current. [A]
    volts_v : float
        volts at the near end, between the two conductors of the load. [V]

    Ohms per kilometre with metres give the same volts.

    Examples
    --------
    >>> round(voltage_drop(1.24, 50, 24, 240).drop_v, 3)
    2.976
    """
    if volts_v <= 0.0 or one_way_ft < 0.0 or amps_a < 0.0 or ohm_per_kft < 0.0:
        raise InputError("voltage drop: volts must be positive, length and amps not negative")
    way = 3.0**0.5 if phases == 3 else 2.0
    drop_v = way * run_ohm(ohm_per_kft, one_way_ft) * amps_a
    return Drop(drop_v, drop_v / volts_v, volts_v - drop_v)


def longest_run_ft(
    ohm_per_kft: float, amps_a: float, volts_v: float, share: float = 0.03, *, phases: int = 1
) -> float:
    """One-way length at which ``share`` of the volts is lost. [ft]

    ``ohm_per_kft`` [ohm/kft], ``amps_a`` [A], ``volts_v`` [V].
    """
    per_ft = voltage_drop(ohm_per_kft, 1.0, amps_a, volts_v, phases=phases).share
    if per_ft <= 0.0:
        raise InputError("no current, no drop: any length will do")
    return share / per_ft


def smallest_for_drop(
    one_way_ft: float,
    amps_a: float,
    volts_v: float,
    share: float = 0.03,
    *,
    phases: int = 1,
    temperature_c: float = 75.0,
) -> str:
    """Smallest copper gauge that carries ``amps_a`` [A] as a cord and loses no more than
    ``share`` of ``volts_v`` [V] over ``one_way_ft`` [ft], at ``temperature_c`` [°C].

    >>> smallest_for_drop(100, 15, 120), smallest_for_drop(25, 15, 120)
    ('8', '14')
    """
    column = "three_carrying_a" if phases == 3 else "two_carrying_a"
    resistances = {row["awg"] for row in table("conductors")}
    for row in table("cord_ampacity"):
        carries = row[column] != "" and float(row[column]) >= amps_a
        if not carries or row["awg"] not in resistances:
            continue
        ohms = ohm_per_kft(row["awg"], temperature_c=temperature_c)
        drop = voltage_drop(ohms, one_way_ft, amps_a, volts_v, phases=phases)
        if drop.within(share):
            return row["awg"]
    raise NotFound("cord gauge", f"{amps_a:g} A over {one_way_ft:g} ft", hint="Shorten the run.")


def drop_by_k(
    k: float, one_way_ft: float, amps_a: float, circular_mils: float, volts_v: float
) -> Drop:
    """Drop by 2 K I L / CM; say which K: 12.9 is copper at 75 °C, 12 a cooler wire.

    ``one_way_ft`` [ft], ``amps_a`` [A], ``volts_v`` [V].
    """
    return voltage_drop(1000.0 * k / circular_mils, one_way_ft, amps_a, volts_v)


def effective_impedance(ohm_per_kft: float, reactance_per_kft: float, power_factor: float) -> float:
    """R cos φ + X sin φ, note 2 to Chapter 9 Table 9. ``ohm_per_kft`` [ohm/kft]. [ohm/kft]"""
    sine: float = (1.0 - power_factor**2) ** 0.5
    return ohm_per_kft * power_factor + reactance_per_kft * sine


def cord_ampacity_a(awg: str, *, carrying: int = 2) -> float:
    """Ampacity of a flexible cord at 30 °C, NFPA 70 (NEC) Table 400.5(A)(1). [A]

    ``carrying`` is the number of current-carrying conductors, 2 or 3. The neutral of a
    120/240 V cord carries the unbalance only and is not counted; that of a 120/208 V or
    three-phase cord is.
    """
    row = find("cord_ampacity", "cord gauge", "awg", _gauge(awg))
    column = "two_carrying_a" if carrying <= 2 else "three_carrying_a"
    return number(row, column, "cord ampacity")


def wire_ampacity_a(awg: str, *, material: str = "copper", terminals_c: int = 75) -> float:
    """Ampacity of building wire, NFPA 70 (NEC) Table 310.16. ``terminals_c`` [°C]. [A]"""
    row = find("wire_ampacity", "gauge", "awg", _gauge(awg), material=material)
    return number(row, f"at_{terminals_c}c_a", "ampacity")


def overcurrent_cap_a(awg: str, *, material: str = "copper") -> float:
    """Largest ordinary breaker on a small conductor, NEC 240.4(D). [A]"""
    row = find("wire_ampacity", "gauge", "awg", _gauge(awg), material=material)
    return number(row, "overcurrent_cap_a", "overcurrent cap")


def generator_conductor_a(rated_w: float, volts_v: float, power_factor: float = 1.0) -> float:
    """Least ampacity of a generator's output conductors: 115 %, NEC 445.13. [A]

    ``rated_w`` [W], ``volts_v`` [V]. 100 % is enough where the set prevents overload itself;
    the rule ends at the first breaker.
    """
    return 1.15 * rated_w / (volts_v * power_factor)


def smallest_wire(amps_a: float, *, material: str = "copper", terminals_c: int = 75) -> str:
    """Smallest gauge whose Table 310.16 ampacity is at least ``amps_a``. ``terminals_c`` [°C]

    ``amps_a`` [A]. By ampacity alone: breakers, ambient and bundling may ask for more.
    """
    column = f"at_{terminals_c}c_a"
    for row in table("wire_ampacity"):
        if row["material"] == material and row[column] and float(row[column]) >= amps_a:
            return row["awg"]
    raise NotFound("wire size", f"{amps_a:g} A", hint="Larger than the table.")


def _gauge(awg: str) -> str:
    text = str(awg).strip().upper().removesuffix("AWG").strip().lstrip("#")
    if not text:
        raise InputError(f"gauge {awg!r}", hint='For example "10" or "1/0".')
    return text
