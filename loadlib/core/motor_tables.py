"""Motor tables of the code, as constants: the same figures stand in the seed tables.

NFPA 70 (NEC) Table 430.248 (full-load current of single-phase motors) and Table 430.7(B)
(code letters), each cross-checked on two reproductions. A test holds them equal to the
seed tables, which carry the source of each row.
"""

from __future__ import annotations

from types import MappingProxyType

__all__ = ["FULL_LOAD_A", "KVA_PER_HP"]

FULL_LOAD_A: MappingProxyType[float, tuple[float, float]] = MappingProxyType(
    {
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
)
"""Horsepower -> full-load amps at 115 and at 230 V. [A]"""

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
