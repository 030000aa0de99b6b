"""What a person types as a quantity on the command line, with its unit, as a checked number."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loadlib.errors import InputError, NotFound

if TYPE_CHECKING:
    from loadlib.core.ranges import Range

__all__ = ["amps", "area_ft2", "energy_wh", "span_s", "watts", "zone"]


def amps(text: str) -> float:
    """Amperes: ``100`` or ``100 A``. [A]"""
    from loadlib.units import parse

    return parse(text, "A")


def area_ft2(text: str) -> float:
    """A floor area, which must say its unit: ``1,800 ft2`` or ``170 m2``. [ft²]"""
    from loadlib.units import parse

    if not any(letter.isalpha() for letter in text):
        raise InputError(f"area {text!r} has no unit", hint=f"Write {text} ft2 or {text} m2.")
    return round(parse(text, "m2") / parse("1 ft2", "m2"), 3)


def energy_wh(text: str) -> float:
    """Energy of a bill, in kWh where no unit is said: ``900``, ``1,010 kWh``, ``0.9 MWh``. [Wh]"""
    from loadlib.units import parse

    has_unit = any(letter.isalpha() for letter in text)
    return parse(text if has_unit else f"{text} kWh", "Wh")


def span_s(text: str) -> float | None:
    """A length of time, which must say its unit: ``4h``, ``30 min``; None for no text. [s]"""
    from loadlib.units import parse

    if not text.strip():
        return None
    if not any(letter.isalpha() for letter in text):
        raise InputError(f"{text!r} is no length of time", hint="Write 30min, 4h or 2d.")
    return parse(text, "s")


def watts(text: str) -> Range | None:
    """Watts: one figure, or low, typical and high; None for no text. [W]"""
    from loadlib.core.ranges import Range
    from loadlib.units import parse

    if not text.strip():
        return None
    words = text.split()
    if len(words) == 3:
        return Range(*(parse(word, "W") for word in words))
    return Range.exact(parse(text, "W"))


def zone(name: str) -> str:
    """An IANA time zone that exists, with its usual capitals; empty stays empty."""
    from difflib import get_close_matches
    from zoneinfo import available_timezones

    if not name:
        return ""
    known = {one.casefold(): one for one in available_timezones()}
    found = known.get(name.casefold().replace(" ", "_"))
    if found is None:
        near = get_close_matches(name.casefold(), known, n=4, cutoff=0.4)
        raise NotFound(
            "time zone",
            name,
            near=tuple(known[one] for one in near),
            hint=None if near else "Use an IANA name such as America/New_York.",
        )
    return found
