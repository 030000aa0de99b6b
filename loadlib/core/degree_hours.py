"""Degree-hours: how far below or above a balance temperature it is outdoors, hour by hour.

Heating and cooling take energy in proportion to them: variable-base degree-days (Fels, "PRISM:
An Introduction", Energy and Buildings 9, 1986), counted by the hour as in the bin method of the
ASHRAE Handbook, Fundamentals. A degree-day is 24 degree-hours at the day's mean.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loadlib.core.ranges import Range

__all__ = ["COOLING_BALANCE_C", "HEATING_BALANCE_C", "cooling_k", "heating_k"]

HEATING_BALANCE_C = Range(12.8, 18.3, 21.1)
"""Outdoor temperature below which a house is heated. Typical: 65 °F, the base of the United
States weather service and of ASHRAE. 55 to 65 °F is what practice chooses house by house (the
United Kingdom takes 15.5 °C); above 70 °F, what rooms are kept at, nobody heats. [°C]"""

COOLING_BALANCE_C = Range(15.6, 18.3, 23.9)
"""Outdoor temperature above which a house is cooled. Typical: 65 °F as above; the ends, 60 and
75 °F, are common practice, no source. [°C]"""


def heating_k(outdoor_c: ArrayLike, balance_c: float) -> NDArray[np.float64]:
    """Degrees below the balance temperature, zero above it; shape as given, NaN stays. [K]

    Examples
    --------
    A day with a mean of 50 °F has 15 °F heating degree-days to the base of 65 °F:

    >>> float(heating_k(10.0, 18.3333).round(2)) * 1.8
    14.994
    """
    return np.maximum(balance_c - np.asarray(outdoor_c, dtype=np.float64), 0.0)


def cooling_k(outdoor_c: ArrayLike, balance_c: float) -> NDArray[np.float64]:
    """Degrees above the balance temperature, zero below it; shape as given, NaN stays. [K]"""
    return np.maximum(np.asarray(outdoor_c, dtype=np.float64) - balance_c, 0.0)
