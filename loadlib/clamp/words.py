"""A reading in plain words: "leg A 23.4 A", "dryer A 21.9 B 25.6", "2.84 kW then 1.91 kW off sump".

A place comes first (whole, leg A, neutral, slot 7, or the name of a circuit or appliance), numbers
with their units follow in any order, then words for the kind and for what was on or switched off.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

from loadlib.core.household import House
from loadlib.errors import InputError, NotFound

__all__ = ["Said", "read_words"]

_NUMBER = r"(-?\d+(?:[.,]\d+)?)"
_QUANTITY = re.compile(rf"{_NUMBER}\s*(mA|kWh|Wh|kW|kVA|VA|W|V|A|amps?|watts?|volts?)\b", re.I)
_PERIOD = re.compile(
    rf"\b(?:over|in|for|during)\s+{_NUMBER}\s*(d|days?|h|hours?|min|weeks?)\b", re.I
)
_TURNS = re.compile(r"\b(?:turns?\s*(\d+)|(\d+)\s*turns?|x\s*(\d+))\b", re.I)
_KIND = re.compile(r"\b(running|cycling|peak hold|inrush|start)\b", re.I)
_STATES = re.compile(r"\b(off|without|with|on)\b\s*(.*?)(?=\b(?:off|without|with)\b|$)", re.I)
_WITH = re.compile(r"\bwith\s+((?:(?!\bwith\b).)+?)\s+(off|on)(?=\s*(?:$|[,;]))", re.I)
_SECOND = re.compile(
    rf"({_NUMBER}\s*(kW|W))\s*(?:,|;|\bthen\b|\bto\b)\s*{_NUMBER}"
    r"(?=\s*(?:[,;](?!\d)|$|\b(?:with|without|off|after|when)\b))",
    re.I,
)
_SLOT = re.compile(r"slots?\s+(\d+)\b", re.I)
_THOUSANDS = re.compile(r"-?[1-9]\d{0,2}([.,])\d{3}")
_MAY_HAVE_THREE_DECIMALS = ("kw", "kwh", "a", "amp", "amps")
_BOTH = re.compile(r"\b(both|two)\s+legs\b", re.I)
_ONE = re.compile(r"\b(one|single)\s+leg\b", re.I)
_PERIOD_S = {"d": 86_400.0, "h": 3600.0, "m": 60.0, "w": 7 * 86_400.0}
_USUAL_DIGIT_A = 0.1
"""Amps are often noted without their decimals; a clamp's last digit is no coarser. [A]"""

_UNIT = {
    "ma": ("amps", 1e-3),
    "a": ("amps", 1.0),
    "amp": ("amps", 1.0),
    "amps": ("amps", 1.0),
    "v": ("volts", 1.0),
    "volt": ("volts", 1.0),
    "volts": ("volts", 1.0),
    "w": ("watts", 1.0),
    "watt": ("watts", 1.0),
    "watts": ("watts", 1.0),
    "kw": ("watts", 1e3),
    "wh": ("energy_wh", 1.0),
    "kwh": ("energy_wh", 1e3),
}


@dataclass(slots=True)
class Said:
    """What was understood: ``place`` and fields of a Reading; ``legs_said`` when legs were."""

    place: str
    fields: dict[str, Any] = field(default_factory=dict)
    legs_said: bool = False


def read_words(text: str, house: House) -> Said:
    """Understand a reading.

    Raises
    ------
    InputError
        when there is no number with a unit, a unit is a volt-ampere, or words are left over.
    NotFound
        for a place that the house does not list.
    """
    rest = _WITH.sub(_before, " ".join(text.split()))
    rest = _SECOND.sub(r"\1 then \4 \3", rest)  # "2.84 kW, 1.91": the unit is that of the first
    if not rest:
        raise InputError("no reading was given", hint='For example: "leg A 23.4 A running".')
    said, rest = _place(rest, house)
    rest = _states(said, rest, house)
    rest = _leg_values(said, rest, house)
    rest = _simple(said, rest, house)
    rest = _numbers(said, rest)
    left = re.sub(
        r"\b(then|to|at|and|after|before|now|draws|reads|read)\b|[,;=:]", " ", rest, flags=re.I
    )
    if left.strip():
        raise InputError(
            f"not understood: {left.strip()!r}", hint='For example: "leg A 23.4 A running".'
        )
    return said


def _before(match: re.Match[str]) -> str:
    """ "with sump off" as "off sump", "with sump on" as "with sump"."""
    return f"{'off' if match[2].casefold() == 'off' else 'with'} {match[1]}"


def _place(text: str, house: House) -> tuple[Said, str]:
    lowered = text.casefold()
    for word in ("whole house", "whole", "utility meter", "meter", "main"):
        if lowered.startswith(word + " "):
            return Said("whole"), text[len(word) :]
    if lowered.startswith("neutral"):
        return Said("neutral"), text[len("neutral") :]
    leg = re.match(r"leg\s+([a-c])\b", text, re.I)
    if leg is not None:
        name = house.supply.legs_of(leg[1])[0]
        said = Said(f"leg {name}", {"legs": (name,)}, legs_said=True)
        return said, text[leg.end() :]
    named = _named(re.sub(r"^(circuit|appliance)\s+", "", text, flags=re.I), house)
    if named is not None:
        place, rest = named
        return Said(place), rest
    if _QUANTITY.match(text):
        return Said("whole"), text
    head = re.split(rf"\s+(?={_NUMBER}|[A-C]\s+{_NUMBER})", text)[0]
    known = tuple(c.name for c in house.circuits) + tuple(a.id for a in house.appliances)
    raise NotFound("circuit or appliance", head, near=_near(head, known))


def _named(text: str, house: House) -> tuple[str, str] | None:
    """The longest name of an appliance or circuit that the text starts with, or a slot."""
    names = [(one.id, f"appliance {one.id}") for one in house.appliances]
    names += [(one.name, f"appliance {one.id}") for one in house.appliances]
    names += [(one.name, f"circuit {one.name}") for one in house.circuits]
    best: tuple[int, str] | None = None
    for name, place in names:
        if re.match(rf"{re.escape(name)}(?![\w-])", text, re.I) and (
            best is None or len(name) > best[0]
        ):
            best = (len(name), place)
    if best is not None:
        return best[1], text[best[0] :]
    slot = _SLOT.match(text)
    if slot is None:
        return None
    return f"circuit {_in_slot(int(slot[1]), house)}", text[slot.end() :]


def _in_slot(slot: int, house: House) -> str:
    found = [one.name for one in house.circuits if slot in one.slots]
    if len(found) != 1:
        known = sorted({one for circuit in house.circuits for one in circuit.slots})
        raise NotFound("circuit in slot", str(slot), near=tuple(map(str, known)))
    return found[0]


def _near(head: str, known: tuple[str, ...]) -> tuple[str, ...]:
    from difflib import get_close_matches

    names = tuple(dict.fromkeys(known))
    return tuple(get_close_matches(head, names, n=4, cutoff=0.4)) or names[:6]


def _states(said: Said, text: str, house: House) -> str:
    """What was on, and what was switched off."""
    for match in _STATES.finditer(text):
        key = "off" if match[1].casefold() in ("off", "without") else "on"
        names = [part.strip() for part in re.split(r",|\band\b", match[2]) if part.strip()]
        if not names:
            raise InputError(f"what was {key}?", hint=f'Name it: "… {key} sump", "… {key} slot 7".')
        found = []
        for name in names:
            named = _named(re.sub(r"^(circuit|appliance)\s+", "", name, flags=re.I), house)
            if named is None or named[1].strip():
                known = tuple(c.name for c in house.circuits)
                known += tuple(a.id for a in house.appliances)
                raise NotFound("circuit or appliance", name, near=_near(name, known))
            found.append(named[0].partition(" ")[2])
        said.fields[key] = (*said.fields.get(key, ()), *found)
    return _STATES.sub(" ", text)


def _leg_values(said: Said, text: str, house: House) -> str:
    """Legs read apart: "A 21.9 B 25.6", "A 21.9 A 119 V B 25.6 A 121 V"."""
    volts = rf"(?:,?\s+(?:at\s+)?{_NUMBER}\s*(?:V|volts?)\b)?"
    pattern = re.compile(rf"\b([A-C])\s+{_NUMBER}(?:\s*A\b)?{volts}", re.I)
    found = list(pattern.finditer(text))
    if len(found) < 2:
        return text
    legs = tuple(match[1].upper() for match in found)
    for leg in legs:
        house.supply.legs_of(leg)
    if len(set(legs)) < len(legs):
        raise InputError(f"a leg stands twice: {', '.join(legs)}", hint="One value for each leg.")
    said.fields |= {"legs": legs, "leg_amps": tuple(_value(match[2], "a") for match in found)}
    said.fields["digit"] = min(_USUAL_DIGIT_A, *(_digit(match[2], 1.0) for match in found))
    read_v = tuple(_value(match[3], "v") for match in found if match[3])
    if 0 < len(read_v) < len(legs):
        raise InputError("volts of one leg only", hint="Give them for each leg, or for none.")
    if read_v:
        said.fields["leg_volts"] = read_v
    said.legs_said = True
    return pattern.sub(" ", text)


def _simple(said: Said, text: str, house: House) -> str:
    """Kind, turns, period and how many legs."""
    kind = _KIND.search(text)
    if kind is not None:
        said.fields["kind"] = "inrush" if kind[1].casefold() == "start" else kind[1].casefold()
        text = _KIND.sub(" ", text, count=1)
    turns = _TURNS.search(text)
    if turns is not None:
        said.fields["turns"] = int(next(group for group in turns.groups() if group))
        text = _TURNS.sub(" ", text, count=1)
    period = _PERIOD.search(text)
    if period is not None:
        said.fields["period_s"] = (
            float(period[1].replace(",", ".")) * _PERIOD_S[period[2][0].lower()]
        )
        text = _PERIOD.sub(" ", text, count=1)
    if _BOTH.search(text):
        said.fields["legs"], said.legs_said = house.supply.legs, True
        text = _BOTH.sub(" ", text, count=1)
    if _ONE.search(text):
        said.fields["legs"], said.legs_said = house.supply.legs[:1], True
        text = _ONE.sub(" ", text, count=1)
    return text


def _numbers(said: Said, text: str) -> str:
    digits: dict[str, list[float]] = {}
    for match in _QUANTITY.finditer(text):
        unit = match[2].casefold()
        if unit in ("va", "kva"):
            raise InputError(
                f"{match[0]}: a clamp reads amps or watts, not volt-amperes", hint="Give amps."
            )
        name, scale = _UNIT[unit]
        value = _value(match[1], match[2]) * scale
        digits.setdefault(name, []).append(_digit(match[1], scale))
        if name == "watts" and "watts" in said.fields:
            name = "watts_after"
        if name in said.fields:
            raise InputError(
                f"two values of {name}: {match[0]} is the second",
                hint='Two legs are written "dryer A 21.9 B 25.6"; else note them one by one.',
            )
        said.fields[name] = value
    found = {"amps", "watts", "energy_wh", "leg_amps"} & said.fields.keys()
    if not found:
        raise InputError(
            "no amps, watts or watt-hours in it", hint="Write the unit: 23.4 A, 122 W, 9.2 kWh."
        )
    _note_digit(said, digits)
    return _QUANTITY.sub(" ", text)


def _note_digit(said: Said, digits: dict[str, list[float]]) -> None:
    """The last digit of what was read: of the amps if there are any, of watts, of energy."""
    if "amps" in digits:
        said.fields["digit"] = min(_USUAL_DIGIT_A, *digits["amps"])
    elif "leg_amps" not in said.fields:
        said.fields["digit"] = max(digits.get("watts") or digits["energy_wh"])


def _value(number: str, unit: str) -> float:
    """A number as written; InputError where three digits may be decimals or thousands."""
    grouped = _THOUSANDS.fullmatch(number)
    if grouped and not (grouped[1] == "." and unit.casefold() in _MAY_HAVE_THREE_DECIMALS):
        plain = re.sub(r"[.,]", "", number)
        decimal = number.replace(",", ".")
        raise InputError(
            f"{number} {unit} may be {plain} or {float(decimal):g}",
            hint=f"Write {plain} or {float(decimal):g}.",
        )
    return float(number.replace(",", "."))


def _digit(number: str, scale: float) -> float:
    """Value of the last digit shown. "2.84" kW has a digit of 10 W."""
    decimals = len(re.split(r"[.,]", number)[1]) if re.search(r"[.,]", number) else 0
    return float(10.0**-decimals * scale)
