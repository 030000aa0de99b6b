"""Several claims about the same number: one belief, and how far each claim is from it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from loadlib.core.claims import LoadClaim
from loadlib.core.ranges import Z95, Range

__all__ = ["Combined", "combine", "sigmas_apart"]

_SHARES = ("duty_share", "power_factor")

_FAR_PRIOR = 2.5
"""A prior further than this many of its sigmas from the evidence is left out and named."""

_LEAST_DOUBT_SHARE = 0.001
"""An exact claim is taken as good to one in a thousand, so that it never weighs infinitely."""

_TOLD_FROM_ZERO = {"W": 1.0, "VA": 1.0, "Wh": 1.0, "s": 1.0, "1/h": 0.1, "share": 0.01}
"""What an exact zero may hide, by unit, as its 95 % point: displays and plug-in meters of homes
show whole watts, clamps lose less than a few; a start in ten hours and one hour on in a hundred
are missed in a day's log. A thousandth of zero would weigh infinitely. Judgements, no source."""


@dataclass(frozen=True, slots=True)
class Combined:
    """The belief that came out, the claims it rests on, and the shape of use if one was said."""

    value: Range
    used: tuple[LoadClaim, ...]
    shape: tuple[tuple[float, ...], ...] | None


def combine(claims: Sequence[LoadClaim]) -> Combined:
    """Join claims about one quantity of one load.

    Without evidence the first prior stands as it is. Evidence is weighted by precision on a
    log scale (linear where a claim reaches down to zero); a spread between evidence claims
    that is larger than their doubts widens the result by the Birge ratio √(χ²/(n − 1))
    (Birge R. T. 1932, Phys. Rev. 40, 207). The prior joins in as one more claim unless it
    contradicts the evidence or the evidence is zero. Evidence that holds only at a condition
    (outdoor temperature, month) is pooled into one range first: that it differs there is no
    contradiction. An exact zero is only as sure as what can be told from it, and no surer than
    the surest evidence beside it: written without a doubt, it would win against any reading.
    """
    priors = [claim for claim in claims if claim.standing == "prior"]
    evidence = [claim for claim in claims if claim.standing == "evidence"]
    shape = next((c.shape for c in (*evidence, *priors) if c.shape is not None), None)
    if not evidence:
        return Combined(priors[0].value, (priors[0],), shape)
    values = _pooled(evidence)
    unit = evidence[0].unit
    measured = _weighted(values, unit)
    used = tuple(evidence)
    if priors and measured.high > 0.0 and _near(priors[0].value, measured, unit):
        measured = _weighted([measured, priors[0].value], unit, widen=False)
        used = (priors[0], *used)
    if claims[0].quantity in _SHARES:
        measured = measured.clipped(0.0, 1.0)
    return Combined(measured, used, shape)


def _near(prior: Range, measured: Range, unit: str) -> bool:
    return abs(sigmas_apart(prior, measured, unit)) <= _FAR_PRIOR


def sigmas_apart(claim: Range, result: Range, unit: str) -> float:
    """How far ``result``'s typical lies from ``claim``'s, in the claim's own sigmas.

    Positive where the claim is higher than the result. The sigma is that of the claim's side
    towards the result, on a log scale where the claim is positive; that of an exact zero is
    what can be told from zero in ``unit``.
    """
    typical, found = claim.typical, result.typical
    if claim.low > 0.0 and found > 0.0:
        gap = math.log(typical / found)
        end = claim.high if found > typical else claim.low
        sigma = abs(math.log(end / typical)) / Z95
        return gap / max(sigma, _LEAST_DOUBT_SHARE)
    end = claim.high if found > typical else claim.low
    sigma = abs(end - typical) / Z95
    return (typical - found) / max(sigma, _least_sigma(claim, unit))


def _least_sigma(value: Range, unit: str) -> float:
    """Smallest sigma of a belief on the linear scale, in ``unit``."""
    if value.high <= 0.0:
        return _TOLD_FROM_ZERO[unit] / Z95
    return _LEAST_DOUBT_SHARE * value.high


def _pooled(evidence: Sequence[LoadClaim]) -> list[Range]:
    """Values of the evidence; what holds only at a condition as one range over all of it."""
    always = [claim.value for claim in evidence if not _conditional(claim)]
    at_times = sorted(
        (claim.value for claim in evidence if _conditional(claim)), key=lambda v: v.typical
    )
    if at_times:
        middle = at_times[(len(at_times) - 1) // 2].typical
        low = min(value.low for value in at_times)
        always.append(Range(low, middle, max(value.high for value in at_times)))
    return always


def _conditional(claim: LoadClaim) -> bool:
    when = claim.when
    return bool(when.months or when.hours or when.outdoor_c is not None)


def _weighted(values: Sequence[Range], unit: str, *, widen: bool = True) -> Range:
    """Mean by precision; ``widen`` applies the Birge ratio."""
    if len(values) == 1 or all(value.high <= 0.0 for value in values):
        return values[0]
    logs = all(value.low > 0.0 for value in values)
    points = [_log_point(value) for value in values] if logs else _points(values, unit)
    weight = sum(1.0 / sigma**2 for _, sigma in points)
    mean = sum(x / sigma**2 for x, sigma in points) / weight
    sigma = 1.0 / math.sqrt(weight)
    if widen:
        chi2 = sum(((x - mean) / s) ** 2 for x, s in points)
        sigma *= math.sqrt(max(1.0, chi2 / (len(points) - 1)))
    low, high = mean - Z95 * sigma, mean + Z95 * sigma
    if logs:
        return Range(math.exp(low), math.exp(mean), math.exp(high))
    return Range(max(low, 0.0), max(mean, 0.0), max(high, 0.0))


def _log_point(value: Range) -> tuple[float, float]:
    """Centre and sigma of a positive belief on the log scale."""
    sigma = math.log(value.high / value.low) / (2.0 * Z95)
    return math.log(value.typical), max(sigma, _LEAST_DOUBT_SHARE)


def _points(values: Sequence[Range], unit: str) -> list[tuple[float, float]]:
    """Centres and sigmas on the linear scale; an exact zero is no surer than the surest other."""
    sigmas = [
        max((value.high - value.low) / (2.0 * Z95), _least_sigma(value, unit)) for value in values
    ]
    surest = min(s for value, s in zip(values, sigmas, strict=True) if value.high > 0.0)
    return [
        (value.typical, sigma if value.high > 0.0 else max(sigma, surest))
        for value, sigma in zip(values, sigmas, strict=True)
    ]
