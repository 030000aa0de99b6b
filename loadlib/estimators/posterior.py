"""The fit: loads that agree best with the claims about demand, and how sure that makes them.

Maximum a posteriori by Gauss-Newton in standard normal scores, with the mixture likelihood of
``robust``. Distances start wide and are narrowed step by step, so that a grossly wrong claim
drops out wherever it stands in the order. The covariance is Laplace's at the maximum.
Draws are by randomised maximum likelihood: prior scores and claims are perturbed within their
doubts and the fit is repeated from there, which is exact where everything is linear and normal
and, where it is not, still gives draws that agree with the claims (Oliver, He and Reynolds
1996, ECMOR V; Bardsley et al. 2014, SIAM J. Sci. Comput. 36, A1895).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from loadlib.core.ranges import Z95, Range
from loadlib.estimators.energy import DAYS_IN_MONTH
from loadlib.estimators.robust import (
    LEAST_BLUNDER,
    METER_WRONG_SHARE,
    WRONG_SHARE,
    blunder_ratio,
    loss,
    precision_factor,
    soundness,
)
from loadlib.estimators.rows import Rows
from loadlib.estimators.tails import Tail
from loadlib.estimators.unknowns import Laws, State, Unknowns

__all__ = ["DRAWS", "Posterior", "fit"]

Array = NDArray[np.float64]

DRAWS = 100
_CHUNK = 50
_STEPS = 60
_REFINE = 12
_SETTLED = 0.05
_REACHES = (1.0, 0.5, 0.25, 0.1)
_NARROWING = 0.5
_STILL = 1e-3
_INSIDE = 1e-3
_SLOPES_HOLD = 0.2


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """Where the fit came out.

    ``z`` (size,) the maximum and ``score_sigma`` (size,) its doubt; ``covariance`` gives more;
    ``predicted``, ``sigmas`` and ``weights`` (K,) one for each claim, rows first, then tails;
    ``draws`` (D, size) of the unknowns; ``predicted_draws`` (D, K). [W]
    """

    unknowns: Unknowns
    rows: Rows
    tails: tuple[Tail, ...]
    z: Array
    state: State
    jacobian: Array
    variance: Array
    prior_variance: Array
    score_sigma: Array
    predicted: Array
    sigmas: Array
    weights: Array
    draws: Array
    predicted_draws: Array

    @property
    def active(self) -> Array:
        """The household's activity as a factor on each load's use, shape (n,)."""
        u = self.unknowns
        factor: Array = np.exp(u.activity_sigma * self.z[u.activity])
        return factor

    def belief(self, laws: Laws, part: slice, i: int) -> Range:
        """Belief about one number of load ``i`` after the fit: its law at the fitted score."""
        sigma, centre = float(self.score_sigma[part][i]), float(self.z[part][i])
        scores = centre + sigma * np.array([[-Z95], [0.0], [Z95]])
        return Range(*(float(x) for x in laws.one(i).value(scores)[:, 0]))

    def load_draws_wh(self) -> Array:
        """Energy of a common year of each listed load in each draw, shape (D, n). [Wh]"""
        u = self.unknowns
        state = u.state(self.draws)
        mean_w = np.einsum("dim,im->di", state.rise, u.duty.mean(axis=2) * (DAYS_IN_MONTH / 365.0))
        energy: Array = (mean_w + u.count * state.standby) * 8760.0
        return energy

    def covariance(self, left: Array, right: Array) -> Array:
        """Covariance of linear functions of the unknowns, (a, size) × (b, size) → (a, b)."""
        prior = (left * self.prior_variance) @ right.T
        if not self.jacobian.size:
            return prior
        weighted = self.jacobian * self.prior_variance
        inner = weighted @ self.jacobian.T + np.diag(self.variance)
        result: Array = prior - (left @ weighted.T) @ np.linalg.solve(inner, weighted @ right.T)
        return result


def _score_sigma(jacobian: Array, variance: Array, prior: Array) -> Array:
    """Standard deviation of each unknown's score after the fit, shape (size,)."""
    weighted = jacobian * prior
    inner = weighted @ jacobian.T + np.diag(variance)
    cut = (weighted * np.linalg.solve(inner, weighted)).sum(axis=0)
    sigma: Array = np.sqrt(np.maximum(prior - cut, 0.0))
    return sigma


class _Problem:
    """Claims, unknowns and the function that the fit minimises."""

    def __init__(
        self, unknowns: Unknowns, rows: Rows, tails: tuple[Tail, ...], doubtful: Array
    ) -> None:
        self.unknowns, self.rows, self.tails, self.doubtful = unknowns, rows, tails, doubtful
        self._slopes_at: Array | None = None
        self._slopes = np.empty((0, unknowns.size))
        values = [tail.claim.value for tail in tails]
        self.typical = np.concatenate((self.rows.typical, [v.typical for v in values]))
        low = np.array([max(v.typical - v.low, 1e-3 * v.typical, 1e-6) / Z95 for v in values])
        high = np.array([max(v.high - v.typical, 1e-3 * v.typical, 1e-6) / Z95 for v in values])
        counted = [claim.quantity in ("energy_wh", "mean_w") for claim in self.rows.claims]
        self.wrong = np.where([*counted, *(True for _ in tails)], METER_WRONG_SHARE, WRONG_SHARE)
        self.lower = np.concatenate((self.rows.lower, low))
        self.upper = np.concatenate((self.rows.upper, high))
        # How far off a mistake may be: by what is claimed, or by what is there in truth.
        at_first = np.abs(self.predict(unknowns.state(np.zeros(unknowns.size))))
        self.size_w = np.maximum(np.abs(self.typical), at_first)

    def predict(self, state: State) -> Array:
        tails = [tail.predict(self.unknowns, state) for tail in self.tails]
        return np.concatenate((self.rows.predict(state), tails))

    def jacobian(self, state: State, z: Array, *, fresh: bool = True) -> Array:
        """Slopes of all claims; those of quantiles, which cost most, may be a step old."""
        if fresh or self._slopes_at is None or np.abs(z - self._slopes_at).max() > _SLOPES_HOLD:
            tails = [tail.jacobian(self.unknowns, z) for tail in self.tails]
            self._slopes = np.array(tails).reshape(len(tails), z.size)
            self._slopes_at = z
        return np.concatenate((self.rows.jacobian(state, z), self._slopes))

    def variance(self, state: State, predicted: Array) -> Array:
        """Of each claim about the prediction: its own doubt and what it leaves open. [W²]"""
        own = np.where(predicted > self.typical, self.upper, self.lower) ** 2
        tails = [
            tail.spread(self.unknowns, state, float(value))
            for tail, value in zip(self.tails, predicted[len(self.rows) :], strict=True)
        ]
        total: Array = own + np.concatenate((self.rows.spread(state), tails))
        return total

    def prior_variance(self, z: Array, width: float = 1.0) -> Array:
        """1, or more for a measurement that the claims about demand do not believe."""
        heavy = self.doubtful > 0.0
        blunder = np.where(heavy, self.doubtful, LEAST_BLUNDER)
        return np.where(heavy, width**2 / precision_factor(z / width, blunder), 1.0)

    def objective(self, z: Array, sigma: Array, width: float) -> float:
        """Minus the log posterior, with claims and measurements ``width`` times as wide."""
        r = (self.typical - self.predict(self.unknowns.state(z))) / (sigma * width)
        heavy = self.doubtful > 0.0
        blunder = np.where(heavy, self.doubtful, LEAST_BLUNDER)
        prior = np.where(heavy, loss(z / width, blunder), 0.5 * z**2)
        own = blunder_ratio(self.size_w, sigma)
        return float(prior.sum() + loss(r, own, self.wrong).sum())

    def objective_at(self, z: Array) -> float:
        """The objective with the sigmas that hold at ``z``, their normalisation included."""
        state = self.unknowns.state(z)
        sigma = np.sqrt(self.variance(state, self.predict(state)))
        return self.objective(z, sigma, 1.0) + float(np.log(sigma).sum())

    def residual(self, z: Array) -> Array:
        """Distance of each claim in its sigmas, shape (K,)."""
        state = self.unknowns.state(z)
        predicted = self.predict(state)
        off: Array = (self.typical - predicted) / np.sqrt(self.variance(state, predicted))
        return off

    def soundness(self, residual: Array) -> Array:
        """Chance that each claim is no mistake, shape (K,)."""
        sigma = np.maximum(self.lower, self.upper)
        return soundness(residual, blunder_ratio(self.size_w, sigma), self.wrong)


def fit(
    unknowns: Unknowns, rows: Rows, tails: Sequence[Tail], doubtful: Array, seed: int
) -> Posterior:
    """Fit the unknowns to the claims.

    Parameters
    ----------
    unknowns : Unknowns
        layout and prior.
    rows, tails
        claims about demand, linear and not.
    doubtful : NDArray
        shape (size,): 0 for an unknown whose prior stands; the blunder ratio where its range
        is itself a measurement, which the claims about demand may overrule.
    seed : int
        of the draws.
    """
    problem = _Problem(unknowns, rows, tuple(tails), doubtful)
    z = _maximum(problem)
    state = unknowns.state(z)
    predicted = problem.predict(state)
    variance = problem.variance(state, predicted)
    sigma = np.sqrt(variance)
    residual = (problem.typical - predicted) / sigma
    blunder = blunder_ratio(problem.size_w, sigma)
    effective = variance / precision_factor(residual, blunder, problem.wrong)
    jacobian = problem.jacobian(state, z)
    prior = problem.prior_variance(z)
    draws = _draws(problem, z, jacobian, effective, prior, seed)
    return Posterior(
        unknowns,
        rows,
        problem.tails,
        z,
        state,
        jacobian,
        effective,
        prior,
        _score_sigma(jacobian, effective, prior),
        predicted,
        residual,
        soundness(residual, blunder, problem.wrong),
        draws,
        _predicted_draws(problem, draws, z, predicted, jacobian),
    )


def _maximum(problem: _Problem) -> Array:
    """The best fit: started from what most claims say and, if it then rules any out, once more
    from a compromise between all; the better of the two."""
    z = np.zeros(problem.unknowns.size)
    if problem.typical.size == 0:
        return z
    apart = np.abs(problem.residual(z))
    found = _narrowed(problem, z, max(1.0, float(np.median(apart))))
    off = problem.residual(found)
    if problem.soundness(off).min() > 0.5:
        return found
    again = _narrowed(problem, found, max(1.0, float(np.abs(off).max()) / 3.0))
    first, second = (problem.objective_at(point) for point in (found, again))
    return again if second < first else found


def _narrowed(problem: _Problem, z: Array, width: float) -> Array:
    """Fit with all distances ``width`` times as wide, narrowing to 1 step by step."""
    rounds = 0
    for _ in range(_STEPS):
        z, moved = _step(problem, z, width)
        rounds += 1
        if width > 1.0 and (rounds >= 2 or moved < 0.1):
            width, rounds = max(1.0, width * _NARROWING), 0
        elif width == 1.0 and moved < _STILL:
            break
    return z


def _step(problem: _Problem, z: Array, width: float) -> tuple[Array, float]:
    """One Gauss-Newton step, halved until the objective falls; and how far it went."""
    state = problem.unknowns.state(z)
    predicted = problem.predict(state)
    variance = problem.variance(state, predicted)
    sigma = np.sqrt(variance)
    residual = (problem.typical - predicted) / (sigma * width)
    factor = precision_factor(residual, blunder_ratio(problem.size_w, sigma), problem.wrong)
    jacobian = problem.jacobian(state, z, fresh=False)
    prior = problem.prior_variance(z, width)
    goal = _gauss_newton(
        z,
        np.zeros_like(z),
        problem.typical - predicted,
        jacobian,
        prior,
        width**2 * variance / factor,
    )
    now = problem.objective(z, sigma, width)
    reach = 1.0
    for _ in range(6):
        trial = z + reach * (goal - z)
        if problem.objective(trial, sigma, width) < now:
            return trial, reach * float(np.abs(goal - z).max())
        reach *= 0.5
    return z, 0.0


def _gauss_newton(
    z: Array, mean: Array, gap: Array, jacobian: Array, prior: Array, variance: Array
) -> Array:
    """Minimum of the quadratic about ``z``; leading axes are solved apart."""
    weighted = jacobian * prior
    inner = weighted @ np.swapaxes(jacobian, -1, -2)
    diagonal = np.arange(variance.size)
    inner[..., diagonal, diagonal] += variance
    ahead = gap + (jacobian @ (z - mean)[..., None])[..., 0]
    solved = np.linalg.solve(inner, ahead[..., None])
    goal: Array = mean + (np.swapaxes(weighted, -1, -2) @ solved)[..., 0]
    return goal


def _scores(draws: int, size: int, rng: np.random.Generator) -> Array:
    """Stratified standard normal scores, each column in an order of its own: (draws, size)."""
    inverse = NormalDist().inv_cdf
    column = np.array([inverse((k + 0.5) / draws) for k in range(draws)])
    return rng.permuted(np.broadcast_to(column[:, None], (draws, size)), axis=0)


def _draws(
    problem: _Problem, z: Array, jacobian: Array, variance: Array, prior: Array, seed: int
) -> Array:
    rng = np.random.default_rng(seed)
    centre = _scores(DRAWS, z.size, rng) * np.sqrt(prior)
    # Nothing is on for more than all of the time: beyond that a score says nothing.
    use = problem.unknowns.use
    centre[:, use] = np.minimum(centre[:, use], problem.unknowns.most_score - _INSIDE)
    if problem.typical.size == 0:
        return centre
    claimed = problem.typical + _scores(DRAWS, variance.size, rng) * np.sqrt(variance)
    at = problem.predict(problem.unknowns.state(z))
    found = np.empty_like(centre)
    for first in range(0, DRAWS, _CHUNK):
        part = slice(first, first + _CHUNK)
        mean, goal = centre[part], claimed[part]
        found[part] = _refined(problem, mean, goal, prior, variance, z, at, jacobian)
    return found


def _refined(
    problem: _Problem,
    mean: Array,
    goal: Array,
    prior: Array,
    variance: Array,
    z: Array,
    at: Array,
    jacobian: Array,
) -> Array:
    """Fit each draw until its objective falls no more, or ``_REFINE`` times."""
    point = np.repeat(z[None, :], len(mean), axis=0)
    moving = np.arange(len(mean))
    for _ in range(_REFINE):
        fits = _Perturbed(problem, mean[moving], goal[moving], prior, variance, z, at, jacobian)
        before = fits.objective(point[moving])
        point[moving] = fits.step(point[moving])
        moving = moving[before - fits.objective(point[moving]) > _SETTLED]
        if moving.size == 0:
            break
    return point


@dataclass(slots=True, eq=False)
class _Perturbed:
    """Perturbed fits side by side: each draw has its own prior centre and its own claims.

    Quantiles and maxima keep their slope at the maximum.
    """

    problem: _Problem
    mean: Array
    goal: Array
    prior: Array
    variance: Array
    z: Array
    at: Array
    jacobian: Array

    def step(self, point: Array) -> Array:
        """One Gauss-Newton step of each draw, as long as lowers its objective most."""
        linear = len(self.problem.rows)
        state = self.problem.unknowns.state(point)
        slope = np.empty((len(point), *self.jacobian.shape))
        slope[:, linear:] = self.jacobian[linear:]
        slope[:, :linear] = self.problem.rows.jacobian(state, point)
        gap = self.gap(point, state)
        goal = _gauss_newton(point, self.mean, gap, slope, self.prior, self.variance)
        best, least = point, self.objective(point)
        for reach in _REACHES:
            trial = point + reach * (goal - point)
            now = self.objective(trial)
            better = now < least
            best = np.where(better[:, None], trial, best)
            least = np.minimum(now, least)
        return best

    def gap(self, point: Array, state: State) -> Array:
        linear = len(self.problem.rows)
        gap = np.empty_like(self.goal)
        gap[:, :linear] = self.goal[:, :linear] - self.problem.rows.predict(state)
        moved = (point - self.z) @ self.jacobian[linear:].T
        gap[:, linear:] = self.goal[:, linear:] - self.at[linear:] - moved
        return gap

    def objective(self, point: Array) -> Array:
        gap = self.gap(point, self.problem.unknowns.state(point))
        prior = ((point - self.mean) ** 2 / self.prior).sum(axis=1)
        total: Array = prior + (gap**2 / self.variance).sum(axis=1)
        return total


def _predicted_draws(
    problem: _Problem, draws: Array, z: Array, predicted: Array, jacobian: Array
) -> Array:
    linear = len(problem.rows)
    rows = problem.rows.predict(problem.unknowns.state(draws))
    tails = predicted[linear:] + (draws - z) @ jacobian[linear:].T
    return np.concatenate((rows, tails), axis=1)
