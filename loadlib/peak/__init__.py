"""Peak demand from bills and interval data, calibrated over homes; formulas; weather.

``peak_from_bills`` and ``peak_from_series`` give ranges whose 5 and 95 % points hold nine
unseen homes in ten. ``formulas`` has the published ones, labelled; ``weather`` splits energy
into base, heating and cooling.
"""

from __future__ import annotations

from loadlib.peak.bills import peak_from_bills
from loadlib.peak.estimate import PeakEstimate, Sharper
from loadlib.peak.measured import Highest
from loadlib.peak.periods import Interval
from loadlib.peak.series import peak_from_series
from loadlib.peak.words import in_words

__all__ = [
    "Highest",
    "Interval",
    "PeakEstimate",
    "Sharper",
    "in_words",
    "peak_from_bills",
    "peak_from_series",
]
