"""Supplies of the calculation: nominal volts, legs, and volt-amperes to amperes."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from loadlib import InputError

__all__ = ["Supply", "parse_supply"]

SPLIT, WYE_LEGS, WYE = "split phase", "two legs of a wye", "three-phase wye"


@dataclass(frozen=True, slots=True)
class Supply:
    """Nominal supply: ``kind``, volts line to line and line to neutral, names of the legs."""

    name: str
    kind: str
    line_v: float
    leg_v: float
    legs: tuple[str, ...]

    def amps(self, neutral_va: float, line_va: float) -> float:
        """Amperes in each leg of balanced load. [A]

        ``neutral_va`` is connected line to neutral, ``line_va`` line to line. On two legs of
        a wye the first divides by 2 × leg volts and the second by line volts (NEC Annex D,
        Example D5(b)); elsewhere the two divide alike.
        """
        if self.kind == WYE:
            return (neutral_va + line_va) / (self.line_v * math.sqrt(3.0))
        return neutral_va / (2.0 * self.leg_v) + line_va / self.line_v

    def capacity_va(self, rating_a: float) -> float:
        """What ``rating_a`` could carry at nominal volts: a limit, never a load. [VA]"""
        return rating_a * self.line_v * (math.sqrt(3.0) if self.kind == WYE else 1.0)


def parse_supply(text: str) -> Supply:
    """Supply from ``"120/240"``, ``"115/230"``, ``"120/208"`` (two legs) or ``"208Y/120"``."""
    cleaned = text.strip().upper().replace(" ", "").removesuffix("V")
    wye = re.fullmatch(r"(\d{3})Y/(\d{3})", cleaned)
    if wye:
        line_v, leg_v = float(wye[1]), float(wye[2])
        if abs(line_v / leg_v - math.sqrt(3.0)) < 0.02:
            return Supply(text.strip(), WYE, line_v, leg_v, ("A", "B", "C"))
    pair = re.fullmatch(r"(\d{3})/(\d{3})", cleaned)
    if pair:
        leg_v, line_v = float(pair[1]), float(pair[2])
        if line_v == 2.0 * leg_v:
            return Supply(text.strip(), SPLIT, line_v, leg_v, ("A", "B"))
        if abs(line_v / leg_v - math.sqrt(3.0)) < 0.02:
            return Supply(text.strip(), WYE_LEGS, line_v, leg_v, ("A", "B"))
    raise InputError(
        f"supply {text!r} is not understood",
        hint='Write "120/240" (split phase), "120/208" (two legs of a wye) or "208Y/120".',
    )
