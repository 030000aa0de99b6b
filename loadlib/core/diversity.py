"""Factors that compare peaks with each other and with means: the utility engineer's ratios.

Definitions as in Gönen T., Electric Power Distribution Engineering, chapter 2 (load
characteristics), and Kersting W. H., Distribution System Modeling and Analysis, chapter 2.
"""

from __future__ import annotations

from collections.abc import Sequence

from loadlib.errors import InputError

__all__ = [
    "coincidence_factor",
    "diversified_demand_w",
    "diversity_factor",
    "load_diversity_w",
    "load_factor",
    "loss_factor",
]


def diversity_factor(peaks_w: Sequence[float], group_peak_w: float) -> float:
    """Sum of the single peaks over the peak of the sum; at least 1. ``peaks_w`` [W]"""
    _positive("group_peak_w", group_peak_w)
    return sum(peaks_w) / group_peak_w


def coincidence_factor(peaks_w: Sequence[float], group_peak_w: float) -> float:
    """Peak of the sum over the sum of the single peaks: 1 / diversity factor. [W]"""
    total = sum(peaks_w)
    _positive("sum of peaks_w", total)
    return group_peak_w / total


def load_diversity_w(peaks_w: Sequence[float], group_peak_w: float) -> float:
    """Sum of the single peaks less the peak of the sum. [W]"""
    return sum(peaks_w) - group_peak_w


def load_factor(energy_wh: float, peak_w: float, hours: float) -> float:
    """Mean demand over peak demand of a period. ``energy_wh`` [Wh], ``peak_w`` [W]"""
    _positive("peak_w", peak_w)
    _positive("hours", hours)
    return energy_wh / (peak_w * hours)


def loss_factor(load_share: float, linear_share: float = 0.3) -> float:
    """Mean loss over loss at peak, from the load factor F: c·F + (1 − c)·F².

    ``linear_share`` c is 0.3 for distribution systems (Buller and Woodrow, quoted by Gönen).
    """
    if not 0.0 <= load_share <= 1.0:
        raise InputError(f"load factor {load_share:g} is not between 0 and 1")
    return linear_share * load_share + (1.0 - linear_share) * load_share**2


def diversified_demand_w(peaks_w: Sequence[float], houses: int) -> float:
    """Maximum diversified demand of ``houses`` alike: for each appliance its mean maximum
    demand per house in a group of that size, times the houses (Arvidson's method). [W]"""
    if houses < 1:
        raise InputError(f"{houses} houses")
    return houses * sum(peaks_w)


def _positive(name: str, value: float) -> None:
    if not value > 0.0:
        raise InputError(f"{name} is {value:g}, expected more than zero")
