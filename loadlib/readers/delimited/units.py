"""kW or kWh: by heading, by what a person stated, and whether a house can draw it."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import InputError
from loadlib.readers.unsure import Unsure

__all__ = ["UNITS", "power_in", "power_of"]

Floats = NDArray[np.float64]
UNITS: Final = ("kWh", "Wh", "kW", "W")
"""Units that a person may state."""

#: Watts of one unit: energy over an interval of one hour, or power.
_ENERGY_WH: Final = {"Wh": 1.0, "kWh": 1e3, "MWh": 1e6}
_POWER_W: Final = {"W": 1.0, "kW": 1e3}

# What a home's mean and highest demand may be for a unit to be believable; wide on purpose:
# 30 W is an empty house, 8 kW the mean of a large one heated by electricity, 60 kW above a
# 200 A service at 240 V (48 kW). Common practice, no source.
_MEAN_W: Final = (30.0, 8_000.0)
_PEAK_W: Final = 60_000.0


def power_of(values: Floats, step_s: int, unit: str) -> Floats:
    """Mean power of values in a unit over intervals of ``step_s``. [W]"""
    if unit in _POWER_W:
        return values * _POWER_W[unit]
    return values * (_ENERGY_WH[unit] * 3600.0 / step_s)


def power_in(
    values: Floats, step_s: int, *, stated: str, heading: str, whole: bool, path: str
) -> tuple[Floats, str]:
    """Mean power [W] and a remark on how the unit was found.

    Parameters
    ----------
    values : NDArray
        as in the file, shape (n,).
    step_s : int
        length of the interval. [s]
    stated : str
        the unit that a person stated, or ``""``.
    heading : str
        the unit that the file names, or ``""``.
    whole : bool
        whether this is a whole house, for which a unit can be judged by its size.

    Raises
    ------
    Unsure
        when the unit can't be told, or what the file says can't be a house while another
        unit could.
    InputError
        when the stated unit is none of ``UNITS`` or MWh.
    """
    if stated and stated not in (*_ENERGY_WH, *_POWER_W):
        raise InputError(f"unit {stated!r}", hint="One of: " + ", ".join(UNITS))
    size = np.abs(values[np.isfinite(values)])
    if stated:
        return power_of(values, step_s, stated), f"unit {stated}, as stated"
    if heading and not whole:
        return power_of(values, step_s, heading), f"unit {heading}, as the file says"
    # Over an hour, kWh and kW are the same number.
    units = ("kWh", "Wh") if step_s == 3600 else ("kWh", "Wh", "kW", "W")
    plausible = [unit for unit in units if _believable(size, step_s, unit)]
    if not size.any():
        unit = heading or "kWh"
        return power_of(values, step_s, unit), "every number is zero"
    means = {u: float(np.mean(power_of(size, step_s, u))) / 1000.0 for u in ("kWh", "kW")}
    same = {"kW": "kWh", "W": "Wh"}.get(heading, "") if step_s == 3600 else ""
    if heading and (heading in plausible or same in plausible or not plausible):
        return power_of(values, step_s, heading), _by_heading(heading, means, step_s)
    if heading:
        raise _ask(f"the file says {heading}, which no house draws", plausible, means, path)
    if whole and len(plausible) == 1:
        told = f"no unit in the file: {plausible[0]} is the only one that fits a house"
        return power_of(values, step_s, plausible[0]), told
    raise _ask("no unit in the file", plausible, means, path)


def _believable(size: Floats, step_s: int, unit: str) -> bool:
    if size.size == 0:
        return False
    mean_w = float(np.mean(power_of(size, step_s, unit)))
    peak_w = float(np.max(power_of(size, step_s, unit)))
    return _MEAN_W[0] <= mean_w <= _MEAN_W[1] and peak_w <= _PEAK_W


def _by_heading(unit: str, means: dict[str, float], step_s: int) -> str:
    told = f"unit {unit}, as the file says"
    if unit == "kW" and step_s != 3600:
        told += (
            f": mean {means['kW']:.3g} kW (were the numbers kWh an interval, "
            f"{means['kWh']:.3g} kW; state the unit if so)"
        )
    return told


def _ask(what: str, plausible: list[str], means: dict[str, float], path: str) -> Unsure:
    could = " or ".join(plausible) or "none of kWh, Wh, kW, W"
    return Unsure(
        f"{what}; believable: {could} (as kWh the mean is {means['kWh']:.3g} kW, "
        f"as kW {means['kW']:.3g} kW)",
        option="unit",
        choices=tuple(plausible) or UNITS,
        path=path,
        hint="State the unit: kWh, Wh, kW or W (command line: --unit).",
    )
