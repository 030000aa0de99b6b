"""The hooks of this plugin."""

from __future__ import annotations

from collections.abc import Sequence

from loadlib.hooks import Estimator, hookimpl
from loadlib_heat_pump_log.estimator import HeatPumpLog

LOADLIB_HOOK_API = 1


@hookimpl
def loadlib_estimators() -> Sequence[Estimator]:
    """The heat-pump log estimator."""
    return [HeatPumpLog()]
