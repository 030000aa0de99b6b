"""Code numbers of ESPI (NAESB REQ.21, schema 4.0) that decide what a reading is.

Source of every number: the enumerations UnitSymbolKind, ServiceKind, CommodityKind,
FlowDirectionKind, AccumulationKind, DataQualifierKind and QualityOfReading of espi.xsd,
version 4.0.20231213.
"""

from __future__ import annotations

from typing import Final

__all__ = [
    "ESTIMATED",
    "FLOW",
    "GOOD_QUALITY",
    "MULTIPLIERS",
    "NOT_A_MEAN",
    "PROJECTED",
    "QUALITY",
    "REGISTER",
    "SERVICE",
    "UNIT",
    "is_electric",
]

UNIT: Final = {
    5: "A",
    29: "V",
    31: "J",
    38: "W",
    42: "m³",
    61: "VA",
    63: "var",
    71: "VAh",
    72: "Wh",
    73: "varh",
    80: "money",
    119: "ft³",
    128: "US gal",
    132: "Btu",
    134: "l",
    169: "therm",
}
SERVICE: Final = {
    0: "electricity",
    1: "gas",
    2: "water",
    3: "time",
    4: "heat",
    5: "refuse",
    6: "sewerage",
    7: "rates",
    8: "television licence",
    9: "internet",
}
_ELECTRIC_COMMODITIES: Final = {1, 2, 26}
_COMMODITY: Final = {
    3: "communication",
    7: "gas",
    8: "propane",
    9: "water",
    10: "steam",
    11: "waste water",
    12: "heat",
    13: "cooling",
    14: "water",
    25: "refuse",
}

#: Forward and q1 + q4 are energy taken from the network, reverse and q2 + q3 given to it.
FLOW: Final = {1: "import", 8: "import", 10: "export", 19: "export", 4: "net"}

#: Values that stand on a dial; the energy is the difference of two of them.
REGISTER: Final = {1, 2, 3, 9}

#: Data qualifiers of values that are not the energy or mean of their interval.
NOT_A_MEAN: Final = {
    4: "excess over a threshold",
    5: "high threshold",
    7: "low threshold",
    8: "maximum",
    9: "minimum",
    11: "nominal",
    16: "second maximum",
    17: "second minimum",
    23: "third maximum",
    24: "fourth maximum",
    25: "fifth maximum",
}

QUALITY: Final = {
    0: "valid",
    7: "manually edited",
    8: "estimated from a reference day",
    9: "estimated by linear interpolation",
    10: "questionable",
    11: "derived",
    12: "projected",
    13: "mixed quality",
    14: "raw",
    15: "normalized for weather",
    16: "other quality",
    17: "validated",
    18: "verified",
    19: "revenue quality",
}
GOOD_QUALITY: Final = frozenset({0, 14, 17, 18, 19})
ESTIMATED: Final = frozenset({8, 9})
PROJECTED: Final = 12

#: UnitMultiplierKind: powers of ten that the schema names (pico to tera).
MULTIPLIERS: Final = frozenset({-12, -9, -6, -3, -2, -1, 0, 1, 2, 3, 6, 9, 12})


def is_electric(service: int | None, commodity: int | None) -> tuple[bool, str]:
    """Whether this is electricity, and the name of what it is instead.

    The commodity of the reading type says more than the service of the usage point; either
    of them naming another service is enough to keep it apart.
    """
    if commodity not in (None, 0) and commodity not in _ELECTRIC_COMMODITIES:
        return False, _COMMODITY.get(commodity or 0, f"commodity {commodity}")
    if service not in (None, 0):
        return False, SERVICE.get(service or 0, f"service {service}")
    return True, "electricity"
