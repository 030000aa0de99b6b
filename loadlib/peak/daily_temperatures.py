"""Outdoor temperatures of any step to the mean of each day by the house's clock."""

from __future__ import annotations

from collections import defaultdict
from datetime import UTC, date, datetime, tzinfo

import numpy as np

from loadlib.core.series import Temperatures

__all__ = ["daily_means_c"]

DAY_S = 86_400
LEAST_SHARE = 0.75
"""Share of a day's slots that must be there for its mean to count."""


def daily_means_c(temperatures: Temperatures, zone: tzinfo = UTC) -> dict[date, float]:
    """Mean outdoor temperature of each day that is there well enough. [°C]

    Daily values stand at midnight UTC of their date (see ``Temperatures`` of the readers) and
    keep it; shorter steps are averaged over the days of ``zone``.
    """
    step = temperatures.step_s
    where = UTC if step >= DAY_S else zone
    values: dict[date, list[float]] = defaultdict(list)
    for slot in np.flatnonzero(np.isfinite(temperatures.outdoor_c)).tolist():
        day = datetime.fromtimestamp(temperatures.start_s + slot * step, where).date()
        values[day].append(float(temperatures.outdoor_c[slot]))
    least = LEAST_SHARE * max(DAY_S // step, 1)
    return {day: sum(found) / len(found) for day, found in values.items() if len(found) >= least}
