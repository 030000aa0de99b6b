"""Energy of bills split into base, heating and cooling by change-point regression.

The mean demand of a period is a base, plus a slope times its heating degree-days a day, plus
a slope times its cooling degree-days a day, each counted from a balance temperature of its
own: the three-parameter forms (heating or cooling), the four-parameter form (both from one
temperature) and the five-parameter form (both, from two). Without weather, the same with a
season's half-wave in the place of degree-days. Which form is taken is decided by the Bayesian
information criterion (BIC; Schwarz, Annals of Statistics 6, 1978): on synthetic years of twelve
bills it found the true form more often than the corrected Akaike criterion, which took four
parameters for five nearly always. A year of bills can leave two forms almost equal, with bases
far apart, so the ranges are drawn from all forms in proportion to exp(−BIC/2).

Method: ASHRAE Guideline 14, inverse modelling; Kissock, Haberl, Claridge, "Inverse Modeling
Toolkit: Numerical Algorithms", ASHRAE Transactions 109 (2), 2003; variable-base degree-days as
in Fels, "PRISM: An Introduction", Energy and Buildings 9, 1986.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from loadlib.core.ranges import Range
from loadlib.errors import InputError
from loadlib.peak.periods import Period, checked_periods

__all__ = ["FORMS", "LEAST_PERIODS", "EnergySplit", "Form", "covered", "split_energy"]

Array = NDArray[np.float64]
HEATING_C = np.arange(8.0, 22.01, 0.5)
COOLING_C = np.arange(12.0, 28.01, 0.5)
"""Balance temperatures tried. [°C]"""

LEAST_PERIODS = 6
COLDEST_DAY = 15  # of the year, in the northern half; the southern is half a year on
DRAWS = 400
LEAST_SHARE = 0.02  # forms less likely than that are left out of the ranges


@dataclass(frozen=True, slots=True)
class Form:
    """A form of the model: its parameters (with the error's size) and its two parts."""

    name: str
    parameters: int
    heating: bool
    cooling: bool


FORMS = (
    Form("constant", 2, False, False),
    Form("heating, three-parameter", 4, True, False),
    Form("cooling, three-parameter", 4, False, True),
    Form("heating and cooling, four-parameter", 5, True, True),
    Form("heating and cooling, five-parameter", 6, True, True),
)
SEASON_FORMS = (
    Form("constant", 2, False, False),
    Form("winter", 3, True, False),
    Form("summer", 3, False, True),
    Form("winter and summer", 4, True, True),
)


@dataclass(frozen=True, slots=True)
class EnergySplit:
    """Base, heating and cooling, with their doubt.

    ``base_w`` is the demand that is there whatever the weather; ``heating_wh`` and
    ``cooling_wh`` have one range for each period. ``heating_w_per_k`` and the balance
    temperatures are None where the form has none. ``bic`` gives the criterion of each form
    tried (the smallest was taken), ``cv_rmse`` the root mean square error over the mean.
    """

    form: str
    base_w: Range
    heating_wh: tuple[Range, ...]
    cooling_wh: tuple[Range, ...]
    heating_w_per_k: Range | None
    cooling_w_per_k: Range | None
    heating_from_c: Range | None
    cooling_from_c: Range | None
    r_squared: float
    cv_rmse: float
    bic: tuple[tuple[str, float], ...]
    notes: tuple[str, ...]


def covered(periods: Sequence[Period], daily_c: Mapping[date, float]) -> tuple[Period, ...]:
    """The periods of which every day has a mean outdoor temperature. [°C]"""
    return tuple(
        (first, after, kwh)
        for first, after, kwh in periods
        if all(
            math.isfinite(daily_c.get(first + timedelta(days=k), math.nan))
            for k in range((after - first).days)
        )
    )


def split_energy(
    periods: Sequence[Period],
    daily_c: Mapping[date, float] | None = None,
    *,
    southern: bool = False,
) -> EnergySplit:
    """Split the energy of bills into base, heating and cooling.

    Parameters
    ----------
    periods : sequence of (date, date, float)
        first day, day after the last, energy. [kWh] Six at least.
    daily_c : mapping
        mean outdoor temperature of each day; every day of the periods. [°C] None: by season.
    southern : bool
        south of the equator (matters by season only).

    Returns
    -------
    EnergySplit
        ranges from a residual bootstrap (some 400 draws, fixed seed) over the likely forms;
        slopes and balance temperatures with the chosen form held.

    Raises
    ------
    InputError
        too few periods, or a day without a temperature.
    """
    found = checked_periods(periods)
    if len(found) < LEAST_PERIODS:
        raise InputError(
            f"{len(found)} periods are too few to tell base, heating and cooling apart",
            hint="Give six at least, better twelve: a whole year.",
        )
    days = np.array([(after - first).days for first, after, _ in found], dtype=np.float64)
    mean_w = 1000.0 * np.array([kwh for *_, kwh in found]) / (24.0 * days)
    source = _Weather(found, daily_c) if daily_c is not None else _Season(found, southern)
    fits = [
        _Fit(form, _Design(list(source.columns(form)), mean_w), mean_w) for form in source.forms
    ]
    best = min(fits, key=lambda fit: fit.bic)
    total = sum(math.exp(0.5 * (best.bic - fit.bic)) for fit in fits)
    rng = np.random.default_rng(0)
    for fit in fits:
        share = math.exp(0.5 * (best.bic - fit.bic)) / total
        fit.draw(rng, math.ceil(DRAWS * share) if share >= LEAST_SHARE else 0)
    return _result(best, fits, days, weather=daily_c is not None)


class _Weather:
    """Degree-days a day of each period, for every balance temperature tried."""

    forms = FORMS

    def __init__(self, periods: Sequence[Period], daily_c: Mapping[date, float]) -> None:
        self._days = [_temperatures(first, after, daily_c) for first, after, _ in periods]

    def columns(self, form: Form) -> Iterator[_Columns]:
        heat = {t: self._excess(-1.0, t) for t in HEATING_C}
        cool = {t: self._excess(1.0, t) for t in COOLING_C}
        if form.name.startswith("constant"):
            yield _Columns(None, None, None, None)
        elif form.parameters == 4:
            for t, column in (heat if form.heating else cool).items():
                yield (
                    _Columns(column, None, t, None)
                    if form.heating
                    else _Columns(None, column, None, t)
                )
        elif form.parameters == 5:
            for t in HEATING_C:
                if t in cool:
                    yield _Columns(heat[t], cool[t], t, t)
        else:
            for low, column in heat.items():
                for high, other in cool.items():
                    if high > low:
                        yield _Columns(column, other, low, high)

    def _excess(self, sign: float, balance_c: float) -> Array:
        return np.array([float(np.maximum(sign * (t - balance_c), 0.0).mean()) for t in self._days])


class _Season:
    """Half-waves of the year in the place of degree-days: winter's and summer's."""

    forms = SEASON_FORMS

    def __init__(self, periods: Sequence[Period], southern: bool) -> None:
        coldest = COLDEST_DAY + (182 if southern else 0)
        self._waves = []
        for first, after, _ in periods:
            day = np.arange((after - first).days) + first.timetuple().tm_yday
            self._waves.append(np.cos(2.0 * np.pi * (day - coldest) / 365.25))

    def columns(self, form: Form) -> Iterator[_Columns]:
        heat = np.array([float(np.maximum(w, 0.0).mean()) for w in self._waves])
        cool = np.array([float(np.maximum(-w, 0.0).mean()) for w in self._waves])
        yield _Columns(heat if form.heating else None, cool if form.cooling else None, None, None)


@dataclass(frozen=True, slots=True, eq=False)
class _Columns:
    heating: Array | None
    cooling: Array | None
    heating_c: float | None
    cooling_c: float | None


def _temperatures(first: date, after: date, daily_c: Mapping[date, float]) -> Array:
    days = [first + timedelta(days=k) for k in range((after - first).days)]
    lost = [d for d in days if not math.isfinite(daily_c.get(d, math.nan))]
    if lost:
        raise InputError(
            f"no temperature for {lost[0]} ({len(lost)} of {len(days)} days of that period)",
            hint="Give every day of the bills a mean temperature, or leave the weather out.",
        )
    return np.array([daily_c[d] for d in days])


class _Design:
    """All candidates of a form, fitted together; slopes below zero are ruled out."""

    def __init__(self, columns: list[_Columns], y: Array) -> None:
        self.columns = columns
        one = np.ones_like(y)
        stacks = [
            np.column_stack([one, *(c for c in (k.heating, k.cooling) if c is not None)])
            for k in columns
        ]
        self.x = np.stack(stacks)  # (candidates, periods, coefficients)
        self.solve = np.linalg.pinv(self.x)
        self.best, self.line, self.rss = self.fit(y[:, None])

    def fit(self, y: Array) -> tuple[NDArray[np.intp], Array, Array]:
        """For each column of ``y`` (periods, draws): best candidate, coefficients, residual SS."""
        lines = self.solve @ y
        error = ((self.x @ lines - y) ** 2).sum(axis=1)
        ruled_out = (lines[:, 1:, :] < 0.0).any(axis=1) | (lines[:, 0, :] < 0.0)
        error[ruled_out] = np.inf
        best = error.argmin(axis=0)
        draw = np.arange(y.shape[1])
        return best, lines[best, :, draw], error[best, draw]


class _Fit:
    """One form fitted: its criterion, and bootstrap draws of its line and columns."""

    def __init__(self, form: Form, design: _Design, mean_w: Array) -> None:
        self.form, self.design, self.mean_w = form, design, mean_w
        self.point = design.columns[design.best[0]]
        self.line: Array = design.line[0]
        self.free = max(len(mean_w) - (form.parameters - 1), 1)
        self.residual: Array = mean_w - design.x[design.best[0]] @ self.line
        self.lines: Array = np.empty((0, self.line.size))
        self.chosen: list[_Columns] = []
        coefficients = range(1, self.line.size)
        self.heat_at = coefficients[0] if form.heating else None
        self.cool_at = coefficients[-1] if form.cooling else None

    @property
    def bic(self) -> float:
        """n ln(RSS / n) + k ln n; infinite where no candidate is allowed."""
        n, rss = len(self.mean_w), float(self.design.rss[0])
        if not math.isfinite(rss):
            return math.inf
        tiny = 1e-12 * n  # W²: an exact fit has no logarithm
        return float(n * math.log(max(rss, tiny) / n) + self.form.parameters * math.log(n))

    def draw(self, rng: np.random.Generator, count: int) -> None:
        """Residual bootstrap; balance temperatures are chosen anew in each draw."""
        if not count:
            return
        n = len(self.mean_w)
        noise = math.sqrt(n / self.free) * self.residual[rng.integers(0, n, (n, count))]
        best, lines, rss = self.design.fit((self.mean_w - self.residual)[:, None] + noise)
        good = np.isfinite(rss)
        self.lines = lines[good]
        self.chosen = [self.design.columns[k] for k in best[good]]

    def heating(self, days: Array) -> tuple[Array, Array]:
        """Energy of each period, (periods,), and its draws, (draws, periods). [Wh]"""
        columns = [k.heating for k in self.chosen]
        return _part(days, self.line, self.point.heating, self.lines, columns, self.heat_at)

    def cooling(self, days: Array) -> tuple[Array, Array]:
        """As ``heating``. [Wh]"""
        columns = [k.cooling for k in self.chosen]
        return _part(days, self.line, self.point.cooling, self.lines, columns, self.cool_at)

    def slope(self, at: int | None) -> Range | None:
        """A slope's range with the form held. [W/K]"""
        return None if at is None else _around(float(self.line[at]), self.lines[:, at])


def _result(best: _Fit, fits: Sequence[_Fit], days: Array, *, weather: bool) -> EnergySplit:
    def ranges(parts: list[tuple[Array, Array]]) -> tuple[Range, ...]:
        draws = np.vstack([drawn for _, drawn in parts])
        point = parts[list(fits).index(best)][0]
        return tuple(_around(float(p), d) for p, d in zip(point, draws.T, strict=True))

    mean_w = best.mean_w
    spread = float(((mean_w - mean_w.mean()) ** 2).sum())
    unexplained = float((best.residual**2).sum())
    base = np.concatenate([fit.lines[:, 0] for fit in fits])
    return EnergySplit(
        best.form.name,
        _around(float(best.line[0]), base),
        ranges([fit.heating(days) for fit in fits]),
        ranges([fit.cooling(days) for fit in fits]),
        best.slope(best.heat_at) if weather else None,
        best.slope(best.cool_at) if weather else None,
        _balance(best.point.heating_c, [k.heating_c for k in best.chosen]),
        _balance(best.point.cooling_c, [k.cooling_c for k in best.chosen]),
        1.0 - unexplained / spread if spread > 0.0 else 0.0,
        math.sqrt(unexplained / best.free) / float(mean_w.mean()) if mean_w.any() else 0.0,
        tuple((fit.form.name, fit.bic) for fit in fits),
        _notes(best, fits, weather=weather),
    )


def _part(
    days: Array,
    line: Array,
    column: Array | None,
    lines: Array,
    columns: Sequence[Array | None],
    at: int | None,
) -> tuple[Array, Array]:
    """Energy of one part in each period, and its draws; zero where the form has no such part."""
    if at is None or column is None:
        return np.zeros(days.size), np.zeros((len(lines), days.size))
    hours = 24.0 * days
    drawn = np.array([c for c in columns if c is not None]).reshape(-1, days.size)
    return line[at] * column * hours, drawn * lines[:, at, None] * hours


def _around(point: float, draws: Array) -> Range:
    low, high = np.quantile(draws, (0.05, 0.95)) if draws.size else (point, point)
    return Range(min(float(low), point), point, max(float(high), point))


def _balance(point: float | None, draws: list[float | None]) -> Range | None:
    if point is None:
        return None
    return _around(float(point), np.array([d for d in draws if d is not None]))


def _notes(best: _Fit, fits: Sequence[_Fit], *, weather: bool) -> tuple[str, ...]:
    n = len(best.mean_w)
    notes = [f"The form was chosen among {len(fits)} by BIC."]
    near = [f.form.name for f in fits if f is not best and f.bic < best.bic + 2.0]
    if near:
        notes.append(f"Hardly worse: {', '.join(near)}; the ranges cover it.")
    if not weather:
        notes.append(
            "Without temperatures, what follows the season is called heating and cooling: "
            "lighting and holidays follow it too."
        )
    if n < 12:
        notes.append(f"{n} periods are less than a year of monthly bills: take it as a hint.")
    return tuple(notes)
