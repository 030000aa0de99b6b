"""Days of the months, as the energy of a year is counted."""

from __future__ import annotations

import numpy as np

__all__ = ["DAYS_IN_MONTH"]

DAYS_IN_MONTH = np.array([31.0, 28.0, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0])
"""Days of the months of a common year."""
