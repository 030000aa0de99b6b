"""What a motor's label means in volt-amperes: table currents, code letters, MCA and MOCP."""

from __future__ import annotations

from loadlib.core.motor_tables import FULL_LOAD_A, KVA_PER_HP
from loadlib.core.ranges import Range

__all__ = ["code_letter_va", "full_load_va", "rated_amps_of_plate"]

_LEAST_TELLING_MOCP_A = 15.0
"""The smallest standard size: an MOCP of it may be rounded up and then bounds nothing."""


def full_load_va(hp: float) -> float:
    """Full-load VA of a single-phase motor by the code's table, between its rows linear. [VA]

    Below the first and above the last row in proportion to ``hp``.
    """
    sizes = sorted(FULL_LOAD_A)
    va = {size: FULL_LOAD_A[size][1] * 230.0 for size in sizes}
    if hp <= sizes[0] or hp >= sizes[-1]:
        nearest = sizes[0] if hp <= sizes[0] else sizes[-1]
        return va[nearest] * hp / nearest
    upper = next(size for size in sizes if size >= hp)
    lower = max(size for size in sizes if size <= hp)
    if upper == lower:
        return va[lower]
    part = (hp - lower) / (upper - lower)
    return va[lower] + part * (va[upper] - va[lower])


def code_letter_va(letter: str, hp: float) -> Range | None:
    """Locked-rotor VA of a motor with that code letter; None for V and unknown letters. [VA]"""
    low, high = KVA_PER_HP.get(letter.upper(), (0.0, None))
    if high is None:
        return None
    return Range(low, (low + high) / 2.0, high).scaled(1000.0 * hp)


def rated_amps_of_plate(mca_a: float, mocp_a: float | None) -> tuple[float, float]:
    """Bounds on the rated-load current of the whole unit from a plate's MCA and MOCP. [A]

    With a motor L and other loads R, MCA = 1.25 L + R and MOCP is at most 2.25 L + R
    (NFPA 70 (NEC) 440.22 and 440.33), or MCA = 1.25 (L + R) where electric heat shares the
    circuit. So the rated current lies between MCA / 1.25 and MCA − 0.25 (MOCP − MCA). An
    MOCP of 15 A or less may be a rounded-up size and is not used. It is an upper figure for
    running: a unit draws its rated current only at its rating point.
    """
    low = mca_a / 1.25
    if mocp_a is None or mocp_a <= _LEAST_TELLING_MOCP_A:
        return low, mca_a
    high = mca_a - 0.25 * max(mocp_a - mca_a, 0.0)
    return low, max(low, high)
