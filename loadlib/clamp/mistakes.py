"""What people get wrong with a clamp, caught before a reading is stored.

Each doubt says in words what looks wrong and what to do. ``stop`` means that the reading says
nothing as it stands; ``ask`` that a person must decide; ``note`` that it is used with a remark.
The list of mistakes is common practice: public questions of people who measured.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loadlib.core.electrical import System
from loadlib.core.household import House
from loadlib.core.readings import Reading
from loadlib.errors import NotFound

__all__ = [
    "INRUSH_TIMES",
    "OVER_BREAKER_SHARE",
    "Doubt",
    "Target",
    "check_reading",
    "target_of",
]

_NEAR_ZERO_A = 0.15
"""A clamp around a whole cable shows a few hundredths of an ampere of leakage and offset."""

OVER_BREAKER_SHARE = 1.25
"""A breaker carries a little more than its rating for a while; a quarter more is a mistake of
reading, of unit or of conductor."""

INRUSH_TIMES = 12.0
_MILLIAMPERE_TIMES = 3.0
_LOW_POWER_FACTOR = 0.3
_HALF_POWER_FACTOR = (0.4, 0.6)
_TWICE = (1.7, 2.3)
_LEG_VOLTS_SHARE = (0.85, 1.15)


@dataclass(frozen=True, slots=True)
class Doubt:
    """What looks wrong: ``weight`` is ``"stop"``, ``"ask"`` or ``"note"``."""

    weight: str
    words: str


@dataclass(frozen=True, slots=True)
class Target:
    """What a reading's place means in a house: its legs, its breaker, what it may run at. [W]"""

    legs: tuple[str, ...]
    breaker_a: float | None = None
    expected_w: float | None = None
    name: str = ""


def target_of(
    place: str,
    house: House,
    legs: Sequence[str] = (),
    expected_w: float | None = None,
    volts: float | None = None,
) -> Target:
    """Resolve ``"whole"``, ``"leg A"``, ``"neutral"``, ``"circuit NAME"``, ``"appliance ID"``.

    ``legs`` of the load go before those of house and circuit; ``volts`` of a label that reach
    the line voltage mean all legs. [V]

    Raises
    ------
    NotFound
        for a circuit or appliance that the house does not list.
    """
    supply = house.supply
    kind, _, name = place.partition(" ")
    if place in ("whole", "neutral"):
        return Target(tuple(legs) or supply.legs, house.service_a, expected_w, place)
    if kind == "leg":
        return Target(supply.legs_of(name), house.service_a, expected_w, place)
    if kind == "circuit":
        circuit = house.circuit(name)
        return Target(
            tuple(legs) or supply.legs_of(circuit.legs), circuit.breaker_a, expected_w, name
        )
    if kind != "appliance":
        raise NotFound("place", place, near=("whole", "leg A", "circuit NAME", "appliance ID"))
    appliance = house.appliance(name)
    breaker = house.circuit(appliance.circuit).breaker_a if appliance.circuit else None
    known = tuple(legs)
    if not known and appliance.legs:
        known = supply.legs_of(appliance.legs)
    if not known and appliance.circuit:
        known = supply.legs_of(house.circuit(appliance.circuit).legs)
    if not known and volts is not None and len(supply.legs) > 1:
        known = supply.legs if volts >= _LEG_VOLTS_SHARE[0] * supply.line_v else ()
    return Target(known or supply.legs[:1], breaker, expected_w, appliance.name)


def check_reading(
    reading: Reading, house: House, target: Target, *, exports: bool = False
) -> tuple[Doubt, ...]:
    """Doubts about a reading, the heaviest first; empty when nothing looks wrong.

    ``exports`` is true for a house with generation of its own.
    """
    found = [
        *_signs(reading, exports=exports),
        *_neutral(reading, house),
        *_near_zero(reading),
        *_legs(reading, house.supply, target),
        *_too_much(reading, target),
        *_power_factor(reading, house.supply, target),
        *_voltage(reading, house.supply),
    ]
    order = ("stop", "ask", "note")
    return tuple(sorted(found, key=lambda doubt: order.index(doubt.weight)))


def _shown_amps(reading: Reading) -> list[float]:
    shown = list(reading.leg_amps)
    return shown if reading.amps is None else [*shown, reading.amps]


def _signs(reading: Reading, *, exports: bool) -> list[Doubt]:
    found = []
    if not _shown_amps(reading) and reading.watts is None and reading.energy_wh is None:
        found.append(Doubt("stop", "Nothing was read: give amps, watts or energy."))
    if any(amps < 0.0 for amps in _shown_amps(reading)):
        found.append(
            Doubt("stop", "Negative amps: the clamp is reversed, or this is a direct current.")
        )
    if reading.watts is not None and reading.watts < 0.0:
        found.append(
            Doubt(
                "stop",
                "Negative watts: the clamp is reversed, or a solar inverter feeds back. Turn the "
                "clamp, or read again with the solar off.",
            )
        )
    after = reading.watts_after
    if reading.watts is not None and after is not None and after > reading.watts:
        found.append(
            Doubt(
                "stop",
                f"The display went up, from {reading.watts:g} to {after:g} W, when something was "
                "switched off: something else came on. Read both again.",
            )
        )
    if exports and reading.instrument in ("clamp", "utility meter"):
        found.append(
            Doubt("ask", "This house feeds energy back at times: was the solar off while reading?")
        )
    return found


def _neutral(reading: Reading, house: House) -> list[Doubt]:
    if reading.place != "neutral":
        return []
    if len(house.supply.legs) < 2:
        return [Doubt("note", "On a single leg the neutral carries the same current as the leg.")]
    return [
        Doubt(
            "note",
            "The neutral is no load: it carries the difference of the legs. It is kept as a "
            "check on the legs and counted nowhere.",
        )
    ]


def _near_zero(reading: Reading) -> list[Doubt]:
    shown = _shown_amps(reading)
    if not shown or reading.kind != "running" or reading.place == "neutral":
        return []
    if max(abs(amps) for amps in shown) / reading.turns > _NEAR_ZERO_A:
        return []
    return [
        Doubt(
            "stop",
            f"{max(shown):g} A on a running load: around a whole cable the currents there and "
            "back cancel. Clamp one conductor only, or use a cord splitter.",
        )
    ]


def _legs(reading: Reading, supply: System, target: Target) -> list[Doubt]:
    if len(target.legs) < 2 or reading.instrument != "clamp" or reading.place == "neutral":
        return []
    if reading.amps is None or reading.place == "whole":
        return []
    clamped = len(reading.legs)
    if clamped == 0:
        return [
            Doubt(
                "ask",
                f"{target.name} lies on legs {' and '.join(target.legs)}: how many legs did you "
                "clamp? One is enough for a balanced load (its current is the same in both); a "
                "dryer or range needs both, as two readings.",
            )
        ]
    if clamped > 1 and _is_twice(reading, supply, target):
        return [
            Doubt(
                "stop",
                f"{reading.amps:g} A is about twice what {target.name} should draw: the currents "
                "of both legs were added. On a balanced 240 V load give the current of one leg; "
                "power counts the volts twice, never the amps.",
            )
        ]
    if clamped > 1:
        return [
            Doubt(
                "ask",
                "One current for two legs: is it the current of each leg, or both added? Give "
                "both legs apart.",
            )
        ]
    return [
        Doubt(
            "note",
            f"One leg of {target.name} was clamped: taken as balanced, so the power is amps × "
            f"{supply.volts(target.legs):g} V and the current stays {reading.amps:g} A.",
        )
    ]


def _is_twice(reading: Reading, supply: System, target: Target) -> bool:
    if not target.expected_w or reading.amps is None:
        return False
    expected_a = target.expected_w / supply.volts(target.legs)
    return _TWICE[0] <= reading.amps / reading.turns / expected_a <= _TWICE[1]


def _too_much(reading: Reading, target: Target) -> list[Doubt]:
    if target.breaker_a is None:
        return []
    times = INRUSH_TIMES if reading.kind in ("inrush", "peak hold") else OVER_BREAKER_SHARE
    amps = max((abs(a) / reading.turns for a in _shown_amps(reading)), default=0.0)
    if amps <= times * target.breaker_a:
        return []
    if amps > 1000.0 / _MILLIAMPERE_TIMES:
        return [Doubt("stop", f"{amps:g} A can't be: is it {amps:g} mA, {amps / 1000.0:g} A?")]
    return [
        Doubt(
            "stop",
            f"{amps:g} A is more than a {target.breaker_a:g} A breaker would carry: check the "
            "unit (mA?), the number of turns, the conductor and the kind of reading (a start?).",
        )
    ]


def _power_factor(reading: Reading, supply: System, target: Target) -> list[Doubt]:
    """Watts beside amps: reversed or wrong phase, or one leg's watts over two legs' VA."""
    if reading.watts is None or reading.watts_after is not None or reading.watts <= 0.0:
        return []
    if reading.amps is None or abs(reading.amps) < 1.0:
        return []
    amps = abs(reading.amps) / reading.turns
    volts = reading.volts or supply.volts(target.legs)
    two_legs = len(target.legs) > 1
    if two_legs and reading.volts is not None and reading.volts < 0.7 * supply.line_v:
        volts = reading.volts * supply.line_v / supply.leg_v
    factor = reading.watts / (amps * volts)
    if two_legs and _HALF_POWER_FACTOR[0] <= factor <= _HALF_POWER_FACTOR[1]:
        return [
            Doubt(
                "stop",
                f"{reading.watts:g} W over {amps:g} A × {volts:g} V gives a power factor of "
                f"{factor:.2f}: these look like the watts of one leg over the volt-amperes of "
                "both. Give the watts of both legs, or say that one leg was read.",
            )
        ]
    if factor < _LOW_POWER_FACTOR:
        return [
            Doubt(
                "stop",
                f"{reading.watts:g} W at {amps:g} A × {volts:g} V is a power factor of "
                f"{factor:.2f}: the clamp is reversed, or the voltage lead is on another leg.",
            )
        ]
    if factor > 1.1:
        return [
            Doubt(
                "ask",
                f"{reading.watts:g} W is more than {amps:g} A × {volts:g} V: were amps of one "
                "conductor and watts of both read?",
            )
        ]
    return []


def _voltage(reading: Reading, supply: System) -> list[Doubt]:
    found = []
    low, high = _LEG_VOLTS_SHARE
    for volts in (reading.volts, *reading.leg_volts):
        if volts is None:
            continue
        close = any(low * v <= volts <= high * v for v in (supply.leg_v, supply.line_v))
        if not close:
            found.append(
                Doubt(
                    "ask",
                    f"{volts:g} V fits neither {supply.leg_v:g} nor {supply.line_v:g} V: on an "
                    "open neutral one leg rises while the other falls, which is a fault for an "
                    "electrician now.",
                )
            )
    return found
