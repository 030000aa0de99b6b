"""What loadlib reading does around a reading: fill in, ask, say what it is taken as."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

from loadlib.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from loadlib.clamp.mistakes import Target
    from loadlib.core.electrical import System
    from loadlib.core.evidence import Evidence
    from loadlib.core.readings import Reading

__all__ = [
    "INSTRUMENTS",
    "ask",
    "ask_legs",
    "caution",
    "check_legs",
    "complete",
    "expected_w",
    "odd_size",
    "one_leg_at_a_time",
    "spoken",
    "taken",
    "tool",
    "unnamed_change",
]

INSTRUMENTS = {
    "clamp": "clamp",
    "plug": "plug meter",
    "meter": "utility meter",
    "source": "source display",
}
_BANDS = {"clamp": (0.03, 5.0), "plug": (0.02, 1.0), "meter": (0.02, 1.0), "source": (0.05, 1.0)}
"""Usual accuracy: share of the reading and counts of the last digit; common figures of data
sheets, no source."""


_PLAIN = r"(\d+(?:[.,]\d+)?)"
_FIRST_YEAR = 1990
_OUTDOORS_C = (-90.0, 60.0)
"""Air temperatures measured on Earth lie between −89.2 and 56.7 °C (World Meteorological
Organization, Archive of Weather and Climate Extremes; from memory). [°C]"""

_LEAST_FACTOR = 0.5
"""Power factor of a motor that idles: from memory. Amps are watts at least times this."""

_MANY_TIMES, _LITTLE_OF = 4.0, 20.0
"""Beyond these a reading is asked about: single appliances differ by less from what is usual
for their kind, and one twentieth is standby. A judgement."""


def tool(by: str, fields: dict[str, Any]) -> str:
    """Short name of the instrument: as said, or a clamp where amps were read."""
    if by:
        if by not in INSTRUMENTS:
            raise InputError(f"--by {by!r}", hint="One of: " + ", ".join(INSTRUMENTS))
        return by
    if "amps" in fields or "leg_amps" in fields:
        return "clamp"
    raise InputError(
        "which instrument showed it?",
        hint="Say --by plug, --by meter, --by source or --by clamp.",
    )


def complete(
    fields: dict[str, Any],
    tool: str,
    *,
    kind: str,
    accuracy: str,
    at: str,
    outdoor: str,
    note: str,
) -> None:
    """Fill in what the options say, and what is usual for the instrument."""
    from datetime import UTC, datetime

    if kind:
        fields["kind"] = kind
    if "kind" not in fields:
        fields["kind"] = _ask_kind() if tool == "clamp" else "running"
    share, digits = _accuracy(accuracy) if accuracy else _BANDS[tool]
    fields |= {"band_share": share, "band_digits": digits, "note": note}
    fields["at"] = _moment(at) if at else datetime.now(UTC).replace(microsecond=0)
    if outdoor:
        fields["outdoor_c"] = _celsius(outdoor)


def _accuracy(text: str) -> tuple[float, float]:
    import re

    found = re.fullmatch(rf"\s*{_PLAIN}\s*%\s*(?:\+\s*{_PLAIN}(?:\s*\w+)?)?\s*", text)
    if found is None:
        raise InputError(f"accuracy {text!r}", hint='Write it as on the data sheet: "2% + 3".')
    return _float(found[1]) / 100.0, _float(found[2] or "0")


def _float(text: str) -> float:
    return float(text.replace(",", "."))


def _moment(text: str) -> datetime:
    from datetime import UTC, datetime, timedelta

    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise InputError(f"{text!r} is no time", hint="Write 2026-01-31T18:40-05:00.") from None
    if moment.tzinfo is None:
        raise InputError(f"{text!r} has no offset", hint=f"Write {text}-05:00, with your offset.")
    if moment.year < _FIRST_YEAR:
        raise InputError(f"{text!r} is before {_FIRST_YEAR}", hint="Is the year right?")
    if moment > datetime.now(UTC) + timedelta(hours=1):
        raise InputError(f"{text!r} is still to come", hint="Is the year or the offset right?")
    return moment


def _celsius(text: str) -> float:
    import re

    found = re.fullmatch(rf"\s*([-+]?){_PLAIN}\s*°?\s*([CF])\s*", text, re.I)
    if found is None:
        raise InputError(f"temperature {text!r}", hint='Write "-5 C" or "23 F".')
    value = _float(found[1] + found[2])
    celsius = value if found[3].upper() == "C" else (value - 32.0) / 1.8
    low, high = _OUTDOORS_C
    if not low <= celsius <= high:
        raise InputError(
            f"{text.strip()} is {celsius:.0f} °C, which is no outdoor temperature",
            hint='Is it °C or °F? Write "-5 C" or "23 F".',
        )
    return celsius


def _ask_kind() -> str:
    from loadlib.core.readings import KINDS

    if sys.stdin.isatty():
        answer = input(f"What did you catch: {', '.join(KINDS)}? ").strip()
        if answer in KINDS:
            return answer
    raise InputError(
        "what did the clamp catch?", hint="Add --kind running, cycling, 'peak hold' or inrush."
    )


def one_leg_at_a_time(reading: Reading, legs: Sequence[str]) -> None:
    """InputError for one current of a whole house that has several legs."""
    several = len(legs) > 1 and reading.place == "whole" and reading.instrument == "clamp"
    if several and reading.amps is not None and not reading.leg_amps:
        both = " ".join(f"{leg} {reading.amps:g}" for leg in legs)
        raise InputError(
            f"{reading.amps:g} A of the whole house: a clamp reads one of the legs "
            f"{' and '.join(legs)} at a time",
            hint=f'Say which: "leg A {reading.amps:g} A". With all of them read: "whole {both}".',
        )


def check_legs(reading: Reading, target: Target) -> None:
    """InputError where the legs that were clamped are not those of the place."""
    known = reading.place.startswith(("leg ", "circuit "))
    wrong = [leg for leg in reading.legs if leg not in target.legs] if known else []
    if wrong:
        raise InputError(
            f"leg {' and '.join(wrong)} was clamped, but {target.name or reading.place} lies on "
            f"{' and '.join(target.legs)}",
            hint="Correct the legs here, or those of the circuit: loadlib house circuit NAME "
            "--legs AB.",
        )


def unnamed_change(reading: Reading) -> list[str]:
    """A question about two displays of which nobody said what was switched off in between."""
    named = reading.off or reading.place.startswith(("circuit ", "appliance "))
    if reading.watts_after is None or named:
        return []
    return [
        "What was switched off in between? Without it the difference tells nothing: add "
        '"off sump" or "off slot 7".'
    ]


def odd_size(reading: Reading, usual_w: float | None, supply: System) -> list[str]:
    """Questions about amps, watts or energy far from what label or catalog say of the load. [W]

    Several times as much is another appliance, or another unit; next to nothing is one that
    was off.
    """
    if not usual_w or reading.kind not in ("running", "cycling"):
        return []
    told = f"its label or the catalog say about {usual_w:,.0f} W"
    if reading.energy_wh is not None and reading.period_s:
        mean_w = reading.energy_wh * 3600.0 / reading.period_s
        if mean_w > _MANY_TIMES * usual_w:
            return [
                f"{reading.energy_wh / 1000.0:g} kWh in that time is a mean of {mean_w:,.0f} W; "
                f"{told}. Are unit, time and appliance right?"
            ]
    if reading.watts_after is not None:
        return []
    if reading.watts is None:
        return _odd_amps(reading, usual_w, supply, told)
    if reading.watts > _MANY_TIMES * usual_w:
        return [f"{reading.watts:,.0f} W; {told}. Are unit and appliance right?"]
    if reading.kind == "running" and reading.watts < usual_w / _LITTLE_OF:
        return [f"{reading.watts:g} W while it was running? Then {told}. Was it off or idle?"]
    return []


def _odd_amps(reading: Reading, usual_w: float, supply: System, told: str) -> list[str]:
    shown = reading.leg_amps or (() if reading.amps is None else (reading.amps,))
    if not shown:
        return []
    amps = max(shown) / reading.turns
    if amps * supply.leg_v * _LEAST_FACTOR > _MANY_TIMES * usual_w:
        return [f"{amps:,.4g} A; {told}. Are unit, turns, kind and appliance right?"]
    if reading.kind == "running" and amps * supply.line_v < usual_w / _LITTLE_OF:
        return [f"{amps:.4g} A while it was running? Then {told}. Was it off or idle?"]
    return []


def ask_legs(reading: Reading, target: Target, *, sure: bool) -> Reading:
    """A load on several legs, read once: how many legs were clamped?"""
    from dataclasses import replace

    several = len(target.legs) > 1 and reading.place.startswith(("circuit ", "appliance "))
    if not several or reading.amps is None or reading.legs or sure:
        return reading
    question = f"{target.name} lies on legs {' and '.join(target.legs)}. How many did you clamp?"
    if not sys.stdin.isatty():
        raise InputError(
            question,
            hint='Add --legs A for one (a balanced load); give both as "A 21.9 B 25.6".',
        )
    answer = input(f"{question} [1/2] ").strip()
    if answer == "1":
        return replace(reading, legs=target.legs[:1])
    raise InputError("two legs need two values", hint='Write for example "dryer A 21.9 B 25.6".')


def ask(questions: list[str], *, sure: bool) -> None:
    """Questions that a person must answer with yes before the reading is stored."""
    if not questions or sure:
        return
    for question in questions:
        if not sys.stdin.isatty():
            raise InputError(question, hint="Nothing was stored. If it is right, add --sure.")
        if input(f"{question} Store it? [y/N] ").strip().casefold() not in ("y", "yes"):
            raise InputError("not stored")


def expected_w(place: str, evidence: Evidence) -> float | None:
    """What label or catalog say the load runs at: to tell one leg from both added. [W]"""
    from loadlib.estimators.nameplate import claims_about

    kind, _, name = place.partition(" ")
    house = evidence.house
    if kind == "appliance":
        appliances = [house.appliance(name)]
    else:
        appliances = [one for one in house.appliances if kind == "circuit" and one.circuit == name]
    if len(appliances) != 1:
        return None
    category = evidence.categories.get(appliances[0].category)
    claims = claims_about(appliances[0], category, house.supply)
    return next((c.value.typical for c in claims if c.quantity == "running_w"), None)


def taken(reading: Reading, evidence: Evidence) -> list[str]:
    """What the reading is taken to say, in words."""
    from dataclasses import replace

    from loadlib.cli.profile_text import span
    from loadlib.estimators.clamp import ClampEstimator, left_out

    alone = replace(evidence, readings=(reading,), series=(), bills=())
    lines = [f"- {line}" for line in left_out(alone)]
    for claim in ClampEstimator().claims(alone):
        about = claim.place if hasattr(claim, "place") else claim.load_id
        words = claim.quantity.rpartition("_")[0].replace("_", " ")
        value = claim.value
        unit = claim.unit
        told = (
            span(value, unit) if unit in ("W", "VA", "Wh") else f"{value.low:.2f}-{value.high:.2f}"
        )
        lines.append(f"  taken as: {about}, {words} {told}")
    return lines or ["  kept; no estimate is taken from it"]


def spoken(reading: Reading) -> str:
    """A reading in one line."""
    parts = [reading.place]
    if reading.amps is not None:
        parts.append(f"{reading.amps:g} A")
    parts += [f"{leg} {a:g} A" for leg, a in zip(reading.legs, reading.leg_amps, strict=False)]
    if reading.watts is not None:
        parts.append(f"{reading.watts:g} W")
    if reading.watts_after is not None:
        parts.append(f"then {reading.watts_after:g} W")
    if reading.energy_wh is not None:
        parts.append(f"{reading.energy_wh / 1000.0:g} kWh")
    parts.append(f"{reading.instrument}, {reading.kind}")
    return ", ".join(parts)


def caution(as_json: bool) -> None:
    """The caution that goes with every clamp reading."""
    from loadlib.cli.output import out
    from loadlib.core.cautions import CLAMP

    if as_json:
        out.warn(*CLAMP)
    else:
        out.cautions(CLAMP)
