"""What a motor's label means in volt-amperes: table currents, code letters, MCA and MOCP."""

from __future__ import annotations

from loadlib.core.ranges import Range

__all__ = ["code_letter_va", "full_load_va", "rated_amps_of_plate"]

_FULL_LOAD_A: dict[float, tuple[float, float]] = {
    1 / 6: (4.4, 2.2),
    1 / 4: (5.8, 2.9),
    1 / 3: (7.2, 3.6),
    1 / 2: (9.8, 4.9),
    3 / 4: (13.8, 6.9),
    1.0: (16.0, 8.0),
    1.5: (20.0, 10.0),
    2.0: (24.0, 12.0),
    3.0: (34.0, 17.0),
    5.0: (56.0, 28.0),
    7.5: (80.0, 40.0),
    10.0: (100.0, 50.0),
}
"""Full-load amps of single-phase motors at 115 and 230 V: NFPA 70 (NEC) Table 430.248."""

_CODE_KVA_PER_HP: dict[str, tuple[float, float]] = {
    "A": (0.0, 3.14),
    "B": (3.15, 3.54),
    "C": (3.55, 3.99),
    "D": (4.0, 4.49),
    "E": (4.5, 4.99),
    "F": (5.0, 5.59),
    "G": (5.6, 6.29),
    "H": (6.3, 7.09),
    "J": (7.1, 7.99),
    "K": (8.0, 8.99),
    "L": (9.0, 9.99),
    "M": (10.0, 11.19),
    "N": (11.2, 12.49),
    "P": (12.5, 13.99),
    "R": (14.0, 15.99),
    "S": (16.0, 17.99),
    "T": (18.0, 19.99),
    "U": (20.0, 22.39),
}
"""Locked-rotor kVA per horsepower: NFPA 70 (NEC) Table 430.7(B). V has no upper end."""

_LEAST_TELLING_MOCP_A = 15.0
"""The smallest standard size: an MOCP of it may be rounded up and then bounds nothing."""


def full_load_va(hp: float) -> float:
    """Full-load VA of a single-phase motor by the code's table, between its rows linear. [VA]

    Below the first and above the last row in proportion to ``hp``.
    """
    sizes = sorted(_FULL_LOAD_A)
    va = {size: _FULL_LOAD_A[size][1] * 230.0 for size in sizes}
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
    band = _CODE_KVA_PER_HP.get(letter.upper())
    if band is None:
        return None
    low, high = band
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
