"""From the fit to loads: duty by month and hour, and what nobody listed.

Where interval data show the hours of the day, what the listed loads do not explain goes to
each of them by how unsure its hours of use are, and the rest to what is not listed, which is
never negative (Gaussian conditioning month-hour by month-hour, cut at zero and at full use).
The energy of each month, which the fit has found, is kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loadlib.core.load import UNLISTED, Load, grid
from loadlib.core.ranges import Range
from loadlib.core.series import Series
from loadlib.estimators.clockhours import CELLS, cells_of
from loadlib.estimators.loads import spread_duty
from loadlib.estimators.posterior import Posterior
from loadlib.estimators.products import times
from loadlib.estimators.unknowns import log_normal

__all__ = ["Hours", "hours_measured", "posterior_loads", "rest_load"]

Array = NDArray[np.float64]

_HOUR_SIGMA, _STEADY_HOUR_SIGMA = 0.5, 0.15
"""Doubt of the hours of use, log scale: of loads that people switch, and of loads that the
catalog has on alike at all hours."""

_STEADY_SWING = 0.2
_REST_SIGMA = 1.0
_CELL_SIGMA = 0.5
"""Spread of an hour's demand from day to day, as a share of its mean."""

_ROUNDS = 4
_LEAST_DAYS = 4.0

_UNITS = 10
"""What is not listed is shown as this many small loads, half of them on in the busiest hour."""

_UNIT_ON_S = 1800.0
_LEAST_W = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Hours:
    """Measured mean demand by month-hour and the days behind it, shape (12, 24) each. [W]"""

    mean_w: Array
    days: Array

    @property
    def months(self) -> NDArray[np.bool_]:
        """Months in which every hour was measured on a few days, shape (12,)."""
        return np.asarray((self.days >= _LEAST_DAYS).all(axis=1))


def hours_measured(series: Sequence[Series], timezone: str) -> Hours:
    """Mean demand of the whole house by month-hour from interval data of an hour or less."""
    total, count = np.zeros(CELLS), np.zeros(CELLS)
    for one in series:
        if one.place != "whole" or one.flow not in ("import", "load") or one.step_s > 3600:
            continue
        there = np.flatnonzero(~np.isnan(one.mean_w))
        cells = cells_of(one.times_s()[there], one.timezone or timezone)
        total += np.bincount(cells, weights=one.mean_w[there] * one.step_s, minlength=CELLS)
        count += np.bincount(cells, minlength=CELLS) * float(one.step_s)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = total / count
    return Hours(mean.reshape(12, 24), count.reshape(12, 24) / 3600.0)


def posterior_loads(posterior: Posterior, measured: Hours) -> tuple[tuple[Load, ...], Array]:
    """The listed loads after the fit, and the rest by month-hour, shape (12, 24). [W]"""
    u, state = posterior.unknowns, posterior.state
    unit_w = np.maximum(state.running - state.standby, 0.0)
    mean_duty = u.duty.mean(axis=2) * state.season * state.factor[:, None]
    spread = [_spread(mean_duty[i], u.duty[i]) for i in range(len(u.loads))]
    duty = np.array(spread).reshape(len(u.loads), 12, 24)
    rest = np.repeat(state.rest[:, None], 24, axis=1)
    steady = float((u.count * state.standby).sum())
    if measured.months.any():
        duty, rest = _by_hours(u.duty, duty, u.count * unit_w, rest, steady, measured)
    sigma = posterior.score_sigma
    loads = tuple(_load(posterior, i, duty[i], sigma) for i in range(len(u.loads)))
    return loads, rest


def _spread(month_duty: Array, shape: Array) -> Array:
    """Duty by hour of each month with the hours of ``shape``, never above 1, (12, 24)."""
    result = np.zeros((12, 24))
    for month in range(12):
        mean = shape[month].mean()
        if mean > 0.0:
            result[month] = spread_duty(min(float(month_duty[month]), 1.0), shape[month] / mean)
    return result


def _by_hours(
    expected: Array, duty: Array, full_w: Array, rest: Array, steady_w: float, measured: Hours
) -> tuple[Array, Array]:
    """Give the gap between measured and modelled hours to the loads and to the rest."""
    swing = expected.std(axis=2) / np.maximum(expected.mean(axis=2), 1e-12)
    unsure = np.where(swing > _STEADY_SWING, _HOUR_SIGMA, _STEADY_HOUR_SIGMA)
    unsure = np.where((expected >= 1.0).all(axis=2), 0.0, unsure)
    months = np.flatnonzero(measured.months)
    listed = duty * full_w[:, None, None]
    target = np.nan_to_num(measured.mean_w)
    level = steady_w + listed.sum(axis=0).mean(axis=1) + rest.mean(axis=1)
    for month in months:
        wanted = target[month] * level[month] / max(float(target[month].mean()), 1e-9)
        noise = (_CELL_SIGMA * wanted) ** 2 / np.maximum(measured.days[month], 1.0)
        doubt = (unsure[:, month, None] * listed[:, month]) ** 2
        rest_doubt = (_REST_SIGMA * max(float(rest[month].mean()), _LEAST_W)) ** 2
        for _ in range(_ROUNDS):
            gap = wanted - steady_w - listed[:, month].sum(axis=0) - rest[month]
            share = gap / (doubt.sum(axis=0) + rest_doubt + noise)
            listed[:, month] = np.clip(listed[:, month] + doubt * share, 0.0, full_w[:, None])
            rest[month] = np.maximum(rest[month] + rest_doubt * share, 0.0)
        _keep_month(listed[:, month], rest[month], level[month] - steady_w, full_w)
    shape = rest[months].sum(axis=0)
    shape = shape / shape.mean() if shape.mean() > 0.0 else np.ones(24)
    for month in np.flatnonzero(~measured.months):
        rest[month] = rest[month].mean() * shape
    safe = np.where(full_w > 0.0, full_w, 1.0)
    return np.where(full_w[:, None, None] > 0.0, listed / safe[:, None, None], duty), rest


def _keep_month(listed: Array, rest: Array, level_w: float, full_w: Array) -> None:
    """Scale a month's hours so that cuts at zero and at full use leave its energy alone."""
    for _ in range(_ROUNDS):
        now = float(listed.sum(axis=0).mean() + rest.mean())
        if now <= 0.0:
            return
        np.minimum(listed * (level_w / now), full_w[:, None], out=listed)
        rest *= level_w / now


def _load(posterior: Posterior, i: int, duty: Array, sigma: Array) -> Load:
    u = posterior.unknowns
    load = u.loads[i]
    factor = posterior.belief(u.factor_laws, u.use, i)
    mean = float(duty.mean())
    most = max(1.0 / mean, 1.0) if mean > 0.0 else 1.0
    relative = factor.scaled(1.0 / factor.typical) if factor.typical > 0.0 else Range.exact(1.0)
    doubt = float(u.activity_sigma[i] * sigma[u.activity][0])
    relative = times(relative, log_normal(doubt))
    return load.with_(
        running_w=posterior.belief(u.running_laws, u.run, i),
        standby_w=posterior.belief(u.standby_laws, u.off, i),
        duty=grid(duty),
        duty_belief=relative.clipped(0.0, most),
        starts_per_h=grid(_starts(load, duty)),
    )


def _starts(load: Load, duty: Array) -> Array:
    """Starts that follow the new duty, so that a time on keeps its length."""
    before, starts = load.duty_array(), load.starts_array()
    mean = before.mean()
    usual = starts.sum() / before.sum() if mean > 0.0 else 0.0
    per_duty = np.where(before > 0.0, starts / np.where(before > 0.0, before, 1.0), usual)
    return np.where(duty >= 1.0, 0.0, duty * per_duty)


def rest_load(
    posterior: Posterior, rest: Array, legs: Sequence[str], sources: tuple[str, ...]
) -> Load | None:
    """What is not listed, as a load of several small units; None when it is nothing at all."""
    if float(rest.mean()) < _LEAST_W:
        return None
    u, state = posterior.unknowns, posterior.state
    unit_w = 2.0 * float(rest.max()) / _UNITS
    duty = rest / (unit_w * _UNITS)
    draws = u.state(posterior.draws).rest.mean(axis=1)
    belief = Range.of_samples(draws / max(float(state.rest.mean()), 1e-9))
    typical = min(max(1.0, belief.low), belief.high)
    return Load(
        id=UNLISTED,
        name="Not listed",
        category="",
        kind="mixed",
        leg_share=tuple(float(share) for share in state.split),
        line_to_line=False,
        running_w=Range.around(unit_w, 1.2),
        power_factor=Range(0.8, 0.95, 1.0),
        start_va=None,
        start_s=Range.exact(0.0),
        standby_w=Range.exact(0.0),
        duty=grid(duty),
        duty_belief=Range(belief.low, typical, belief.high).clipped(0.0, 2.0),
        starts_per_h=grid(duty * 3600.0 / _UNIT_ON_S),
        count=_UNITS,
        known="measured",
        sources=tuple(f"duty_share: measured less listed loads, {text}" for text in sources),
        notes=(
            f"shown as {_UNITS} small loads, half of them on in the busiest hour; its size and "
            "number of units and its power factor are assumptions",
        ),
    )
