"""Locked-rotor code letters: kVA per horsepower with the rotor locked.

Source: NEC Table 430.7(B), as two web reproductions of the table agree on it
(engineeringtoolbox.com/locked-rotor-code-d_917.html and a solved examination page).
"""

from __future__ import annotations

from types import MappingProxyType

__all__ = ["KVA_PER_HP"]

KVA_PER_HP: MappingProxyType[str, tuple[float, float | None]] = MappingProxyType(
    {
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
        "V": (22.4, None),
    }
)
"""Letter -> least and greatest kVA per hp; V has no greatest. [kVA/hp]"""
