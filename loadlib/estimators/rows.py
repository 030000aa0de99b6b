"""Claims about demand as rows: what each says, and how it follows from the loads.

A row's prediction is linear in the numbers of a ``State``: so much of each load's running
power and standby, so much of its rise in each month, so much of what is not listed. Claims
about a maximum or another quantile are not linear; they are in ``tails``.

What a row leaves open is kept apart from the claim's own doubt: a week is not the month it
stands for, an instant finds loads on or off, hours of use are guesses. Those spreads are
worked out at the numbers that the fit has reached (``Rows.spread``).

A claim at an outdoor temperature speaks of the hours of ``outdoor.Spell``; in them loads that
follow the weather do more or less than their month's mean (``bonds.Use``).
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from loadlib.core.claims import DemandClaim
from loadlib.core.household import House
from loadlib.core.load import Load
from loadlib.core.ranges import Z95, Range
from loadlib.estimators.bonds import Bond, Use
from loadlib.estimators.clockhours import CELLS, cells_of, hours_by_cell, when_mask
from loadlib.estimators.energy import DAYS_IN_MONTH
from loadlib.estimators.outdoor import Outdoor, Spell
from loadlib.estimators.unknowns import (
    ACTIVITY_MONTH_SIGMA,
    ALWAYS_ON,
    REST_LEG_SIGMA,
    REST_LEVEL_SIGMA,
    REST_MONTH_SIGMA,
    State,
    Unknowns,
)

__all__ = ["DAY_SIGMA", "Rows", "day_sigma", "linear_rows", "members", "spell_of", "value_w"]

Array = NDArray[np.float64]

DAY_SIGMA = 0.35
"""Spread of a day's energy about its month's mean, as a share, such that √(1/n − 1/N) of it is
the error of n days standing for N. From the spread of weeks within months: 0.39 in the median
of 58 London homes of 2013 and 0.30 in the AMPds house (Makonin 2013)."""

_ONE_USE_SIGMA = 1.2
"""Spread of a single use's energy and of the gaps between uses, over that of chance alone."""

_THERMOSTAT_DAY_SIGMA = 0.2

YEAR_SIGMA = 0.08
"""Spread of the same month between years, where claims of more than one year are joined: two
years of the AMPds house differ by 8 % in the median month."""

HOUR_SIGMA = 0.5
"""Doubt of a load's share in a block of hours, log scale: hours of use are the catalog's."""

COMMON_HOUR_SIGMA = 0.3
"""On top of that the household's own hours, all of its loads together. Both are judgements:
measured hours are weak evidence about single loads, and are matched afterwards."""

REST_HOUR_SIGMA = 0.5
REST_INSTANT_SIGMA = 0.7
"""What is not listed: doubt of its share in a block of hours; its spread at an instant."""

CIRCUIT_REST_SHARE = 0.1
"""A circuit may carry this share of what is not listed (a fifth at most)."""

MOST_STATES = 10
"""Loads of a circuit whose on or off is tried out, 2 to that power at most."""

LEAST_SIGMA_SHARE = 0.001


@dataclass(slots=True, eq=False)
class _Row:
    claim: DemandClaim
    value: Range
    run: Array
    off: Array
    rise: Array
    rest: Array
    leg: int = -1
    sample: float = 0.0
    year: float = 0.0
    block: float = 0.0
    moment: _Moment | None = None
    place: Array = field(default_factory=lambda: np.zeros(0))
    weather: _Open | None = None


@dataclass(frozen=True, slots=True, eq=False)
class _Moment:
    """When an instant may have been: weights of the month-hours, sum 1, shape (288,); and what
    each load does then relative to usual: ``time`` (n, 288) its share of time on, ``watts``
    (n,) its running power, ``power`` (n, 288) its mean power."""

    cells: Array
    time: Array
    watts: Array
    power: Array
    use: Use | None


@dataclass(frozen=True, slots=True, eq=False)
class _Open:
    """What the weather leaves open in a row, as standard deviations of its coefficients.

    ``follow`` (n, 12) on the rise of loads that follow the weather, wrong together; ``rise``
    (n, 12) on that of each of the others, ``run`` (n,) on running power, ``rest`` (12,) on what
    is not listed.
    """

    follow: Array
    rise: Array
    run: Array
    rest: Array

    def variance(self, state: State, leg_share: float) -> float:
        """Of the row's prediction. [W²]"""
        together = float((self.follow * state.rise).sum())
        apart = (self.rise * state.rise).sum(axis=1) ** 2 + (self.run * state.running) ** 2
        rest = float(self.rest @ state.rest) * leg_share
        return together**2 + float(apart.sum()) + rest**2


class Rows:
    """K linear rows over n loads.

    ``typical`` (K,) is what the claims say in W; ``lower`` and ``upper`` (K,) their sigmas on
    either side; ``at_temperature`` (K,) whether they hold in some of the hours only, by the
    outdoor temperature. [W]
    """

    def __init__(self, rows: Sequence[_Row], unknowns: Unknowns, guessed: NDArray[np.bool_]):
        n, k = len(unknowns.loads), len(rows)
        self.claims = tuple(row.claim for row in rows)
        self.run = np.array([row.run for row in rows]).reshape(k, n)
        self.off = np.array([row.off for row in rows]).reshape(k, n)
        self.rise = np.array([row.rise for row in rows]).reshape(k, n, 12)
        self.rest = np.array([row.rest for row in rows]).reshape(k, 12)
        self.leg = np.array([row.leg for row in rows], dtype=np.intp)
        self.typical = np.array([row.value.typical for row in rows])
        floor = np.maximum(LEAST_SIGMA_SHARE * np.abs(self.typical), 1e-6)
        low = np.array([row.value.low for row in rows])
        high = np.array([row.value.high for row in rows])
        self.lower = np.maximum((self.typical - low) / Z95, floor)
        self.upper = np.maximum((high - self.typical) / Z95, floor)
        self._sample = np.array([row.sample for row in rows])
        self._year = np.array([row.year for row in rows])
        self._block = np.array([row.block for row in rows])
        self._place = np.array([row.place for row in rows]).reshape(k, n)
        self._on_leg = np.array([row.claim.place.startswith("leg ") for row in rows], dtype=bool)
        self._on_circuit = np.array(
            [row.claim.place.startswith("circuit ") for row in rows], dtype=bool
        )
        self._single = self._on_circuit | np.array(
            [row.claim.place.startswith("appliance ") for row in rows], dtype=bool
        )
        self._day_sigma = day_sigma(unknowns)
        self._moments = [(j, row.moment) for j, row in enumerate(rows) if row.moment is not None]
        self.at_temperature = np.array([row.weather is not None for row in rows], dtype=bool)
        self._weather = [(j, row.weather) for j, row in enumerate(rows) if row.weather is not None]
        self._guessed = guessed
        self._unknowns = unknowns
        plain = np.ones(n, dtype=bool)
        plain[unknowns.shaped] = False
        self._plain_season = np.where(plain, unknowns.season_sigma, 0.0)

    def __len__(self) -> int:
        return len(self.claims)

    def predict(self, state: State) -> Array:
        """Prediction at each point, shape (..., K). [W]"""
        flat = state.rise.reshape(*state.rise.shape[:-2], 12 * self.run.shape[1])
        total: Array = (
            (state.running) @ self.run.T
            + state.standby @ self.off.T
            + flat @ self.rise.reshape(len(self), 12 * self.run.shape[1]).T
            + (state.rest @ self.rest.T) * self._leg_share(state)
        )
        return total

    def _leg_share(self, state: State) -> Array:
        share: Array = np.where(self.leg < 0, 1.0, state.split[..., np.maximum(self.leg, 0)])
        return share

    def jacobian(self, state: State, z: Array) -> Array:
        """Derivatives by the unknowns, shape (..., K, size)."""
        u = self._unknowns
        lead = z.shape[:-1]
        result = np.zeros((*lead, len(self), u.size))
        gap = np.maximum(state.running - state.standby, 0.0)
        per_month = np.einsum("...im,kim->...ki", state.season, self.rise)
        each = per_month * (u.count * state.factor)[..., None, :]
        above = (gap > 0.0)[..., None, :]
        run_slope = u.running_laws.slope(z[..., u.run])[..., None, :]
        result[..., u.run] = (self.run + each * above) * run_slope
        off_slope = u.standby_laws.slope(z[..., u.off])[..., None, :]
        result[..., u.off] = (self.off - each * above) * off_slope
        law = u.factor_laws.value(z[..., u.use])
        relative = u.factor_laws.slope(z[..., u.use]) / np.where(law > 0.0, law, 1.0)
        moved = state.factor * state.room
        result[..., u.use] = per_month * (u.count * gap * moved * relative)[..., None, :]
        all_slope = moved * u.activity_sigma
        part = np.einsum("kim,...im->...km", self.rise, state.rise * u.switched[:, None])
        result[..., u.active_month] = ACTIVITY_MONTH_SIGMA * part
        result[..., u.activity] = per_month @ (u.count * gap * all_slope)[..., None]
        self._rest_jacobian(result, state)
        if len(u.shaped):
            part = (
                self.rise[:, u.shaped]
                * (state.rise[..., u.shaped, :] * u.season_sigma[u.shaped][:, None])[
                    ..., None, :, :
                ]
            )
            result[..., u.shape] = (part @ u.season_root).reshape(
                *lead, len(self), 12 * len(u.shaped)
            )
        return result

    def _rest_jacobian(self, result: Array, state: State) -> None:
        u = self._unknowns
        part = self.rest * state.rest[..., None, :] * self._leg_share(state)[..., None]
        total = part.sum(axis=-1)
        result[..., u.level] = REST_LEVEL_SIGMA * total[..., None]
        result[..., u.month] = REST_MONTH_SIGMA * (part @ u.season_root)
        own = np.arange(u.legs) == self.leg[:, None]
        turn = np.where((self.leg < 0)[:, None], 0.0, own - state.split[..., None, :])
        result[..., u.leg] = REST_LEG_SIGMA * total[..., None] * turn

    def spread(self, state: State) -> Array:
        """Variance that the rows leave open, at one point, shape (K,). [W²]"""
        predicted = self.predict(state)
        part = self.rise * state.rise
        means = part.sum(axis=2)
        rest = (self.rest * state.rest).sum(axis=1) * self._leg_share(state)
        days = np.where(self._single[:, None], self._day_sigma, 0.0)
        variance: Array = ((days * means) ** 2).sum(axis=1) * self._sample
        variance += np.where(self._single, 0.0, (DAY_SIGMA * predicted) ** 2 * self._sample)
        variance += (self._year * predicted) ** 2
        variance += ((part**2).sum(axis=2) * self._plain_season**2).sum(axis=1)
        blocks = ((HOUR_SIGMA * means) ** 2).sum(axis=1) + (REST_HOUR_SIGMA * rest) ** 2
        variance += self._block * (blocks + (COMMON_HOUR_SIGMA * predicted) ** 2)
        variance += np.where(self._on_leg, ((0.5 * means) ** 2 * self._guessed).sum(axis=1), 0.0)
        rest_w = float(state.rest.mean())
        variance += np.where(self._on_circuit, (CIRCUIT_REST_SHARE * rest_w) ** 2, 0.0)
        for j, moment in self._moments:
            variance[j] += self._instant_variance(state, j, moment)
            variance[j] += (REST_INSTANT_SIGMA * rest[j]) ** 2
        for j, left in self._weather:
            variance[j] += left.variance(state, float(self._leg_share(state)[j]))
        return variance

    def _instant_variance(self, state: State, j: int, moment: _Moment) -> float:
        """Spread of the sum of the loads whose state is not known, at a random instant."""
        u = self._unknowns
        share, cells = self._place[j], moment.cells
        on = np.minimum(
            u.duty.reshape(-1, CELLS)
            * np.repeat(state.season, 24, axis=1)
            * state.factor[:, None]
            * moment.time,
            1.0,
        )
        step = share * np.maximum(moment.watts * state.running - state.standby, 0.0)
        # A load whose state is known has no rise in the row.
        step = np.where(self.rise[j].any(axis=1), step, 0.0)
        within = float((u.count * step**2) @ ((on * (1.0 - on)) @ cells))
        means = (u.count * step) @ on
        middle = float(means @ cells)
        return within + float((means - middle) ** 2 @ cells)


def day_sigma(unknowns: Unknowns) -> Array:
    """Day-to-day spread of each load's own energy, as a share, shape (n,).

    What is used now and then varies as the number of uses does (Poisson), on top of the
    household's own spread; thermostats vary with the weather only.
    """
    starts = 24.0 * unknowns.count * unknowns.starts_per_h
    chance = _ONE_USE_SIGMA**2 / np.maximum(starts, 0.02)
    steady = np.array([load.thermostatic for load in unknowns.loads], dtype=bool)
    always = unknowns.duty.mean(axis=(1, 2)) >= ALWAYS_ON
    spread = np.where(steady, _THERMOSTAT_DAY_SIGMA, np.sqrt(DAY_SIGMA**2 + chance))
    return np.where(always, 0.0, spread)


def members(claim_place: str, unknowns: Unknowns, house: House) -> Array | None:
    """How much of each load counts at a place, shape (n,); None for a place nobody knows."""
    loads = unknowns.loads
    kind, _, name = claim_place.partition(" ")
    if claim_place == "whole":
        return np.ones(len(loads))
    if kind == "leg" and name in house.supply.legs:
        return np.asarray(unknowns.share[:, house.supply.legs.index(name)])
    if kind == "circuit":
        found = [float(load.circuit.casefold() == name.casefold()) for load in loads]
    else:
        found = [float(_is(load, name)) for load in loads]
    return np.array(found) if any(found) else None


def _is(load: Load, name: str) -> bool:
    return load.id == name or load.id.startswith(f"{name}/")


def value_w(claim: DemandClaim, counted_h: float | None = None) -> Range:
    """What a claim says as mean power, over the ``counted_h`` hours of its condition. [W]"""
    if claim.quantity != "energy_wh" or claim.start_s is None or claim.end_s is None:
        return claim.value
    if counted_h is not None:
        return claim.value.scaled(1.0 / counted_h)
    return claim.value.scaled(3600.0 / (claim.end_s - claim.start_s))


def linear_rows(
    claims: Sequence[DemandClaim],
    unknowns: Unknowns,
    house: House,
    outdoor: Outdoor | None = None,
) -> tuple[Rows, tuple[DemandClaim, ...]]:
    """Rows of the claims about energy, means, instants and changes; and claims of no use.

    Claims at an outdoor temperature need ``outdoor``, which also says what is wrong with them.
    """
    rows_of = _RowsOf(unknowns, house, outdoor, _years(claims, house.timezone))
    rows, unused = [], []
    for claim in claims:
        if claim.quantity in ("max_w", "quantile_w"):
            continue
        row = rows_of.row(claim)
        rows.append(row) if row is not None else unused.append(claim)
    guessed = np.array([any("leg " in note for note in load.notes) for load in unknowns.loads])
    return Rows(rows, unknowns, guessed), tuple(unused)


def _years(claims: Sequence[DemandClaim], timezone: str) -> Array:
    """In how many different years each month is claimed, at most, shape (12,)."""
    seen: set[tuple[int, int]] = set()
    for claim in claims:
        if claim.quantity in ("energy_wh", "mean_w") and claim.start_s and claim.end_s:
            # From noon to noon, so that a zone's midnight does not touch another month.
            days = np.arange(claim.start_s + 43_200, claim.end_s, 86_400, dtype=np.int64)
            months = np.unique(days.astype("datetime64[s]").astype("datetime64[M]").astype(int))
            seen |= {(int(month) % 12, int(month) // 12) for month in months}
    return np.array([float(sum(m == month for m, _ in seen)) for month in range(12)])


def _place_legs(claim: DemandClaim, house: House) -> tuple[int, float]:
    """Index of the leg (−1 for none) and whether what is not listed counts at the place."""
    if claim.place == "whole":
        return -1, 1.0
    if claim.place.startswith("leg "):
        return house.supply.legs.index(claim.place.removeprefix("leg ")), 1.0
    return -1, 0.0


@dataclass(frozen=True, slots=True, eq=False)
class _RowsOf:
    """Makes rows; None for a claim that says nothing about this house."""

    unknowns: Unknowns
    house: House
    outdoor: Outdoor | None
    years: Array

    def row(self, claim: DemandClaim) -> _Row | None:
        share = members(claim.place, self.unknowns, self.house)
        spell = spell_of(claim, self.outdoor)
        if share is None or isinstance(spell, str):
            return None
        if claim.quantity in ("energy_wh", "mean_w"):
            return self._mean(claim, share, spell)
        moment = self._moment(claim, spell)
        if claim.quantity == "at_w":
            return self._instant(claim, share, spell, moment)
        return _change_row(claim, share, self.unknowns, moment)

    def _mean(self, claim: DemandClaim, share: Array, spell: Spell | None) -> _Row | None:
        unknowns, years = self.unknowns, self.years
        hours = hours_by_cell(int(claim.start_s or 0), int(claim.end_s or 0), self.house.timezone)
        asked = hours * when_mask(claim.when) if spell is None else spell.hours
        total = float(asked.sum())
        if total <= 0.0:
            return None
        weight = (asked / total).reshape(12, 24)
        by_month = weight.sum(axis=1)
        leg, rest = _place_legs(claim, self.house)
        days = hours.reshape(12, 24).sum(axis=1) / 24.0 if spell is None else spell.days
        whole = DAYS_IN_MONTH * np.maximum(years, 1.0)
        with np.errstate(divide="ignore", invalid="ignore"):
            lack = np.where(days > 0.0, 1.0 / days - 1.0 / np.maximum(whole, days), 0.0)
        several = years[by_month > 0.0].max(initial=1.0) > 1.0
        use = self._use(spell)
        duty = unknowns.duty if use is None else unknowns.duty * use.power.reshape(-1, 12, 24)
        return _Row(
            claim,
            value_w(claim, total if total < hours.sum() else None),
            run=np.zeros(share.size),
            off=share * unknowns.count,
            rise=share[:, None] * np.einsum("imh,mh->im", duty, weight),
            rest=rest * by_month,
            leg=leg,
            sample=float(by_month**2 @ lack),
            year=YEAR_SIGMA if several else 0.0,
            block=_block_share(weight, even=spell is None),
            place=share,
            weather=self._open(spell, use, share, rest, weight, np.zeros(share.size)),
        )

    def _instant(
        self, claim: DemandClaim, share: Array, spell: Spell | None, moment: _Moment
    ) -> _Row:
        unknowns = self.unknowns
        leg, rest = _place_legs(claim, self.house)
        on = _named(claim.when.on, unknowns)
        off = _named(claim.when.off, unknowns)
        unsure = ~on & ~off & (share > 0.0)
        if rest == 0.0 and unsure.sum() <= MOST_STATES:
            running = _likely_states(claim, share, on, unsure, unknowns, moment)
            on, unsure = on | running, np.zeros_like(unsure)
            off = ~on
        count = share * unknowns.count
        weight = moment.cells.reshape(12, 24)
        duty = unknowns.duty * moment.power.reshape(*moment.power.shape[:-1], -1, 24)
        rise = (share * unsure)[:, None] * np.einsum("imh,mh->im", duty, weight)
        idle = np.where(on | _named(claim.when.off, unknowns), 0.0, count)
        run = np.where(on, count * moment.watts, 0.0)
        return _Row(
            claim,
            claim.value,
            run=run,
            off=idle,
            rise=rise,
            rest=rest * weight.sum(axis=1),
            leg=leg,
            moment=moment,
            place=share,
            weather=self._open(spell, moment.use, share * unsure, rest, weight, run),
        )

    def _use(self, spell: Spell | None) -> Use | None:
        return None if spell is None or self.outdoor is None else self.outdoor.use(spell)

    def _moment(self, claim: DemandClaim, spell: Spell | None) -> _Moment:
        n, use = len(self.unknowns.loads), self._use(spell)
        if spell is None or use is None:
            usual = np.ones((n, CELLS))
            return _Moment(_cells_at(claim, self.house), usual, np.ones(n), usual, None)
        cells = spell.hours / spell.hours.sum()
        return _Moment(cells, use.time, use.watts @ cells, use.power, use)

    def _open(
        self,
        spell: Spell | None,
        use: Use | None,
        share: Array,
        rest: float,
        weight: Array,
        run: Array,
    ) -> _Open | None:
        """What the weather leaves open, given a row's weights of the month-hours and its runs."""
        if spell is None or use is None or self.outdoor is None:
            return None
        doubt = use.doubt.reshape(-1, 12, 24) * self.unknowns.duty
        rise = share[:, None] * np.einsum("imh,mh->im", doubt, weight)
        follows = np.isin(self.outdoor.bonds, (Bond.HEATING, Bond.COOLING, Bond.BOTH))[:, None]
        unlisted = (spell.sigma[Bond.UNSURE].reshape(12, 24) * weight).sum(axis=1)
        return _Open(
            np.where(follows, rise, 0.0),
            np.where(follows, 0.0, rise),
            run * use.watts_doubt,
            rest * unlisted,
        )


def spell_of(claim: DemandClaim, outdoor: Outdoor | None) -> Spell | str | None:
    """The hours of a claim at an outdoor temperature, or why there are none; else None."""
    if claim.when.outdoor_c is None:
        return None
    return outdoor.spell(claim) if outdoor is not None else "no outdoor temperatures were given"


def _block_share(weight: Array, *, even: bool) -> float:
    """Share of the day's hours that some month-hours leave out, 0 for all of them alike.

    ``even``: the same hours on each day that counts; else how far the hours' shares are from
    equal ones (total variation), which is the same where each is all or nothing.
    """
    if even:
        return 1.0 - int((weight > 0.0).sum(axis=1).max(initial=0)) / 24.0
    return float(np.maximum(1.0 / 24.0 - weight.sum(axis=0), 0.0).sum())


def _cells_at(claim: DemandClaim, house: House) -> Array:
    """Weights of the month-hours in which the claim may have been made, sum 1, shape (288,)."""
    if claim.at is None:
        cells: Array = when_mask(claim.when).astype(np.float64)
        return cells / float(cells.sum())
    moment = np.array([int(claim.at.timestamp())], dtype=np.int64)
    return np.bincount(cells_of(moment, house.timezone), minlength=CELLS).astype(np.float64)


def _named(names: Sequence[str], unknowns: Unknowns) -> NDArray[np.bool_]:
    """Loads that are named by id, or by their circuit, shape (n,)."""
    wanted = [name.casefold() for name in names]
    return np.array(
        [
            any(_is(load, name) for name in names) or load.circuit.casefold() in wanted
            for load in unknowns.loads
        ],
        dtype=bool,
    )


def _likely_states(
    claim: DemandClaim,
    share: Array,
    on: NDArray[np.bool_],
    unsure: NDArray[np.bool_],
    unknowns: Unknowns,
    moment: _Moment,
) -> NDArray[np.bool_]:
    """Which of the unsure loads were most likely on, given what was read, shape (n,)."""
    usual = unknowns.duty.reshape(-1, CELLS) * moment.time
    duty = np.clip(usual @ moment.cells, 0.01, 0.99)
    running = unknowns.running_laws
    power = share * unknowns.count * running.typical * moment.watts
    idle = share * unknowns.count * unknowns.standby_laws.typical
    sigma = power * (np.maximum(running._log_up(), running._log_down()) / Z95)
    picks = np.flatnonzero(unsure)
    fixed = float(power[on].sum())
    own = (claim.value.high - claim.value.low) / (2.0 * Z95)
    best, found = -np.inf, np.zeros_like(unsure)
    for states in itertools.product((False, True), repeat=picks.size):
        up = np.array(states, dtype=bool)
        mean = fixed + power[picks[up]].sum() + idle[picks[~up]].sum()
        variance = own**2 + (sigma[picks[up]] ** 2).sum() + (sigma[on] ** 2).sum()
        variance = max(variance, (0.02 * claim.value.typical) ** 2, 1.0)
        chance = np.log(duty[picks[up]]).sum() + np.log(1.0 - duty[picks[~up]]).sum()
        chance -= 0.5 * ((claim.value.typical - mean) ** 2 / variance + np.log(variance))
        if chance > best:
            best = float(chance)
            found = np.zeros_like(unsure)
            found[picks[up]] = True
    return found


def _change_row(
    claim: DemandClaim, where: Array, unknowns: Unknowns, moment: _Moment
) -> _Row | None:
    """What was switched off was running, as far as the change can tell. [W]"""
    switched = _named(claim.when.off, unknowns)
    if not switched.any():
        return None
    share = np.where(switched, where, 0.0)
    sure = _named(claim.when.on, unknowns) & switched
    ids = {load.id for load, yes in zip(unknowns.loads, switched, strict=True) if yes}
    if len(ids) == 1 or any(name in ids for name in claim.when.off):
        on = sure | np.array([_any_is(load, claim.when.off) for load in unknowns.loads])
        unsure = switched & ~on
    else:
        on, unsure = sure, switched & ~sure
    if unsure.sum() > MOST_STATES:
        return None
    on = on | _likely_states(claim, share, on, unsure, unknowns, moment)
    count = share * unknowns.count
    run = np.where(on, count * moment.watts, 0.0)
    nothing = np.zeros((share.size, 12))
    doubt = None
    if moment.use is not None:
        doubt = _Open(nothing, nothing, run * moment.use.watts_doubt, np.zeros(12))
    return _Row(
        claim,
        claim.value,
        run=run,
        off=np.where(switched & ~on, count, 0.0),
        rise=nothing,
        rest=np.zeros(12),
        place=share,
        weather=doubt,
    )


def _any_is(load: Load, names: Sequence[str]) -> bool:
    return any(_is(load, name) for name in names)
