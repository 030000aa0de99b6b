"""What negative numbers say about a flow."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from loadlib.readers.remarks import counted

__all__ = ["settled_flow"]

Floats = NDArray[np.float64]

#: Fewer negative values than this are faults of a meter without export; common practice.
_NET_SHARE: Final = 0.005


def settled_flow(flow: str, mean_w: Floats, notes: list[str]) -> tuple[str, Floats]:
    """The flow and mean power, shape (n,), once negative values are explained. [W]

    Many negative values in import mean that the meter counts import less export; a few are
    faults, and left blank. In export and load they stand, and are counted in the notes.
    """
    with np.errstate(invalid="ignore"):
        below = mean_w < 0
    negative = int(below.sum())
    if not negative or flow == "net":
        return flow, mean_w
    told = counted(negative, "negative value")
    if flow != "import":
        notes.append(f"{told} in {flow}: kept as they stand")
        return flow, mean_w
    if negative > _NET_SHARE * mean_w.size:
        notes.append(f"{told}: taken as net (import minus export)")
        return "net", mean_w
    notes.append(f"{told} in import, which no meter counts: left blank")
    return flow, np.where(below, np.nan, mean_w)
