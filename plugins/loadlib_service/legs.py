"""Amperes leg by leg where a person has said which leg a load lies on."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from loadlib_service.dwelling import Item
from loadlib_service.ratings import whole_a
from loadlib_service.supply import SPLIT, Supply
from loadlib_service.tables import constant
from loadlib_service.worksheet import LegLine, Piece

__all__ = ["LEG_CHOICES", "leg_lines"]

LEG_CHOICES = (
    "Leg by leg, plate amperes are added to the whole amperes of the balanced load, as in NEC "
    "Annex D, Example D1(b).",
    "Neutral: loads on opposite legs are taken in pairs, the larger of each pair (Example D1(b)); "
    "its addition for the largest motor is the smaller of the two legs' line-to-neutral "
    "additions. Publications differ: the example prints 2 A in the 2005 text and 3 A in 2002.",
)


def _pair(pieces: Sequence[Piece], supply: Supply) -> dict[Piece, float]:
    """Neutral amperes of line-to-neutral pieces: the larger of each pair on opposite legs."""
    single = [p for p in pieces if p.neutral]
    by_leg = [
        sorted((p for p in single if p.legs == leg), key=lambda p: -p.amps) for leg in supply.legs
    ]
    if supply.kind != SPLIT:
        heaviest = max(by_leg, key=lambda group: sum(p.amps for p in group))
        return {p: p.amps for p in heaviest}
    larger: dict[Piece, float] = {}
    for a, b in zip_longest(*by_leg):
        one = a if b is None or (a is not None and a.amps >= b.amps) else b
        larger[one] = one.amps
    return larger


def _motor_a(items: Sequence[Item], leg: str, supply: Supply, share: float, single: bool) -> float:
    """25 % of the largest motor on ``leg``; with ``single`` line-to-neutral motors only."""
    found = [
        i.amps * i.largest_motor_va / i.va
        for i in items
        if i.motor and leg in (i.legs or "".join(supply.legs)) and (i.neutral or not single)
    ]
    return share * max(found, default=0.0)


def leg_lines(
    base_a: float,
    base_neutral_a: float,
    assigned: Sequence[Piece],
    motors: Sequence[Item],
    supply: Supply,
    edition: str,
) -> tuple[LegLine, ...]:
    """Balanced load, each load with a known leg, and 25 % of the largest motor on each leg. [A]"""
    legs = supply.legs
    base = float(whole_a(base_a))
    lines = [LegLine("balanced load", (base,) * len(legs), float(whole_a(base_neutral_a)))]
    larger = _pair(assigned, supply)
    lines += [
        LegLine(
            p.text,
            tuple(p.amps if leg in p.legs else 0.0 for leg in legs),
            larger.get(p, 0.0),
        )
        for p in assigned
    ]
    share = constant("motor_extra_share", edition).amount
    extra = tuple(_motor_a(motors, leg, supply, share, single=False) for leg in legs)
    if any(extra):
        singles = [_motor_a(motors, leg, supply, share, single=True) for leg in legs]
        on_neutral = min((x for x in singles if x > 0.0), default=0.0)
        lines.append(LegLine("25 % of the largest motor", extra, on_neutral))
    return tuple(lines)
