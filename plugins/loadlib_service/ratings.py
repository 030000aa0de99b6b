"""Amperes to ratings and conductors: 220.5(B), 240.6(A), 230.79(C), the 83 % rule."""

from __future__ import annotations

import math
from dataclasses import dataclass

from loadlib import InputError
from loadlib_service.tables import Value, constant, row_value, rows, standard_ratings_a

__all__ = [
    "Conductor",
    "dwelling_conductor",
    "lighting_circuits",
    "next_rating_a",
    "service_rating_a",
    "whole_a",
]


def whole_a(amps: float) -> int:
    """Amperes with a fraction below 0.5 dropped and 0.5 or more counted up, 220.5(B). [A]"""
    return math.floor(amps + 0.5 + 1e-9)


def next_rating_a(amps: float) -> float:
    """Next standard rating not below ``amps``, after 220.5(B). [A]

    Raises InputError above the largest standard rating.
    """
    needed = whole_a(amps)
    for rating in standard_ratings_a():
        if rating >= needed:
            return rating
    raise InputError(f"{amps:,.0f} A is above the largest standard rating")


def service_rating_a(amps: float, edition: str, *, one_family: bool) -> float:
    """Next standard rating, and for a one-family service not below 100 A. [A]"""
    rating = next_rating_a(amps)
    return max(rating, constant("service_least_a", edition).amount) if one_family else rating


def lighting_circuits(lighting_va: float, volts: float, rating_a: float) -> int:
    """Least number of lighting branch circuits of ``rating_a``, 210.11(A)."""
    return math.ceil(lighting_va / volts / rating_a - 1e-9)


@dataclass(frozen=True, slots=True)
class Conductor:
    """Smallest conductor for a rating: size, material, the ampacity asked for and its own."""

    size: str
    material: str
    least_a: float
    ampacity_a: float
    value: Value


def dwelling_conductor(rating_a: float, material: str, edition: str) -> Conductor:
    """Smallest service conductor of a dwelling at 83 % of the rating, 75 °C column.

    For conductors that carry the whole load of one dwelling unit, 100 to 400 A, without
    correction or adjustment. ``material`` is ``"Cu"`` or ``"Al"``. Raises InputError outside
    that. References: NFPA 70 (NEC) 310.15(B)(7) (2017), 310.12 (2020, 2023); Table 310.16.
    """
    least, most = constant("conductor_least_a", edition), constant("conductor_most_a", edition)
    if not least.amount <= rating_a <= most.amount:
        raise InputError(
            f"the 83 % rule does not cover {rating_a:g} A",
            hint=f"It covers {least.amount:g} to {most.amount:g} A; use the ampacity table.",
        )
    needed = rating_a * constant("conductor_share", edition).amount
    for row in rows("conductors"):
        if row["material"] == material and float(row["ampacity_75c_a"]) >= needed:
            ampacity = float(row["ampacity_75c_a"])
            return Conductor(row["size"], material, needed, ampacity, row_value(row, ampacity))
    raise InputError(f"conductor material {material!r}", hint='Use "Cu" or "Al".')
