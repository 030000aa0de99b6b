"""The built-in estimators, brought through the same hook as a stranger's."""

from __future__ import annotations

from collections.abc import Sequence

from loadlib.hooks import Estimator, hookimpl

LOADLIB_HOOK_API = 1


@hookimpl
def loadlib_estimators() -> Sequence[Estimator]:
    """What the appliances say of themselves, and what bills and meters say."""
    from loadlib.estimators.bill import BillEstimator
    from loadlib.estimators.clamp import ClampEstimator
    from loadlib.estimators.nameplate import NameplateEstimator

    return [NameplateEstimator(), BillEstimator(), ClampEstimator()]
