"""From claims about demand to rows: energy and means, instants, changes; see ``rows``.

A claim at an outdoor temperature speaks of the hours of ``outdoor.Spell``; in them loads that
follow the weather do more or less than their month's mean (``bonds.Use``).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loadlib.core.claims import DemandClaim
from loadlib.core.household import House
from loadlib.core.ranges import Range
from loadlib.estimators.bonds import Bond, Use
from loadlib.estimators.clockhours import CELLS, cells_of, hours_by_cell, when_mask
from loadlib.estimators.energy import DAYS_IN_MONTH
from loadlib.estimators.outdoor import Outdoor, Spell
from loadlib.estimators.places import any_is, members, named, place_legs
from loadlib.estimators.rows import YEAR_SIGMA, Moment, Open, Row, Rows
from loadlib.estimators.states import MOST_STATES, likely_states
from loadlib.estimators.unknowns import Unknowns

__all__ = ["linear_rows", "spell_of", "value_w"]

Array = NDArray[np.float64]

_MOST_W = 1e6
"""More than any household draws: services of homes end at some 400 A, 0.1 MW. A judgement."""

_LONGEST_S = 100 * 366 * 86_400

_UNSEEN_SHARE = 0.5
"""Hours without a stored temperature may differ from the others by this share: a judgement."""


def value_w(claim: DemandClaim, counted_h: float | None = None) -> Range:
    """What a claim says as mean power, over the ``counted_h`` hours of its condition. [W]"""
    if claim.quantity != "energy_wh" or claim.start_s is None or claim.end_s is None:
        return claim.value
    if counted_h is not None:
        return claim.value.scaled(1.0 / counted_h)
    return claim.value.scaled(3600.0 / (claim.end_s - claim.start_s))


def spell_of(claim: DemandClaim, outdoor: Outdoor | None) -> Spell | str | None:
    """The hours of a claim at an outdoor temperature; or why a claim is of no use; else None."""
    if wrong := _cannot_be(claim):
        return wrong
    if claim.when.outdoor_c is None:
        return None
    return outdoor.spell(claim) if outdoor is not None else "no outdoor temperatures were given"


def _cannot_be(claim: DemandClaim) -> str:
    """Why no house can have what is claimed; "" where one can."""
    if (claim.end_s or 0) - (claim.start_s or 0) > _LONGEST_S:
        return "a period of more than a hundred years"
    power_w = value_w(claim)
    if max(abs(power_w.low), abs(power_w.high)) > _MOST_W:
        return f"{power_w.typical:.3g} W are more than a household draws"
    if power_w.typical < 0.0:
        return "demand is not negative: what is fed back is not the load of the house"
    everything = claim.place == "whole" or claim.place.startswith("leg ")
    if everything and claim.quantity in ("energy_wh", "mean_w", "max_w") and power_w.high <= 0.0:
        return "no house with appliances draws nothing at all"
    return ""


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


@dataclass(frozen=True, slots=True, eq=False)
class _RowsOf:
    """Makes rows; None for a claim that says nothing about this house."""

    unknowns: Unknowns
    house: House
    outdoor: Outdoor | None
    years: Array

    def row(self, claim: DemandClaim) -> Row | None:
        share = members(claim.place, self.unknowns, self.house)
        spell = spell_of(claim, self.outdoor)
        if share is None or isinstance(spell, str) or self._unheard_of(claim):
            return None
        if claim.quantity in ("energy_wh", "mean_w"):
            return self._mean(claim, share, spell)
        moment = self._moment(claim, spell)
        if claim.quantity == "at_w":
            return self._instant(claim, share, spell, moment)
        return _change_row(claim, share, self.unknowns, moment)

    def _unheard_of(self, claim: DemandClaim) -> bool:
        """Whether it names something on or off that the house does not have."""
        names = (*claim.when.on, *claim.when.off)
        circuits = {one.name.casefold() for one in self.house.circuits}
        return any(
            name.casefold() not in circuits and not named((name,), self.unknowns).any()
            for name in names
        )

    def _mean(self, claim: DemandClaim, share: Array, spell: Spell | None) -> Row | None:
        unknowns, years = self.unknowns, self.years
        hours = hours_by_cell(int(claim.start_s or 0), int(claim.end_s or 0), self.house.timezone)
        asked = hours * when_mask(claim.when) if spell is None else spell.hours
        total = float(asked.sum())
        if total <= 0.0:
            return None
        weight = (asked / total).reshape(12, 24)
        by_month = weight.sum(axis=1)
        leg, rest = place_legs(claim, self.house)
        days = hours.reshape(12, 24).sum(axis=1) / 24.0 if spell is None else spell.days
        whole = DAYS_IN_MONTH * np.maximum(years, 1.0)
        with np.errstate(divide="ignore", invalid="ignore"):
            lack = np.where(days > 0.0, 1.0 / days - 1.0 / np.maximum(whole, days), 0.0)
        several = years[by_month > 0.0].max(initial=1.0) > 1.0
        use = self._use(spell)
        duty = unknowns.duty if use is None else unknowns.duty * use.power.reshape(-1, 12, 24)
        return Row(
            claim,
            value_w(claim, _counted_h(hours, asked, spell)),
            run=np.zeros(share.size),
            off=share * unknowns.count,
            rise=share[:, None] * np.einsum("imh,mh->im", duty, weight),
            rest=rest * by_month,
            leg=leg,
            sample=float(by_month**2 @ lack),
            year=math.hypot(YEAR_SIGMA if several else 0.0, _unseen_sigma(spell)),
            block=_block_share(weight, even=spell is None),
            place=share,
            weather=self._open(spell, use, share, rest, weight, np.zeros(share.size)),
        )

    def _instant(
        self, claim: DemandClaim, share: Array, spell: Spell | None, moment: Moment
    ) -> Row:
        unknowns = self.unknowns
        leg, rest = place_legs(claim, self.house)
        on = named(claim.when.on, unknowns)
        off = named(claim.when.off, unknowns)
        unsure = ~on & ~off & (share > 0.0)
        if rest == 0.0 and unsure.sum() <= MOST_STATES:
            running = likely_states(claim, share, on, unsure, unknowns, moment)
            on, unsure = on | running, np.zeros_like(unsure)
            off = ~on
        count = share * unknowns.count
        weight = moment.cells.reshape(12, 24)
        duty = unknowns.duty * moment.power.reshape(*moment.power.shape[:-1], -1, 24)
        rise = (share * unsure)[:, None] * np.einsum("imh,mh->im", duty, weight)
        idle = np.where(on | named(claim.when.off, unknowns), 0.0, count)
        run = np.where(on, count * moment.watts, 0.0)
        return Row(
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

    def _moment(self, claim: DemandClaim, spell: Spell | None) -> Moment:
        n, use = len(self.unknowns.loads), self._use(spell)
        if spell is None or use is None:
            usual = np.ones((n, CELLS))
            return Moment(_cells_at(claim, self.house), usual, np.ones(n), usual, None)
        cells = spell.hours / spell.hours.sum()
        return Moment(cells, use.time, use.watts @ cells, use.power, use)

    def _open(
        self,
        spell: Spell | None,
        use: Use | None,
        share: Array,
        rest: float,
        weight: Array,
        run: Array,
    ) -> Open | None:
        """What the weather leaves open, given a row's weights of the month-hours and its runs."""
        if spell is None or use is None or self.outdoor is None:
            return None
        doubt = use.doubt.reshape(-1, 12, 24) * self.unknowns.duty
        rise = share[:, None] * np.einsum("imh,mh->im", doubt, weight)
        follows = np.isin(self.outdoor.bonds, (Bond.HEATING, Bond.COOLING, Bond.BOTH))[:, None]
        unlisted = (spell.sigma[Bond.UNSURE].reshape(12, 24) * weight).sum(axis=1)
        return Open(
            np.where(follows, rise, 0.0),
            np.where(follows, 0.0, rise),
            run * use.watts_doubt,
            rest * unlisted,
        )


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


def _counted_h(hours: Array, asked: Array, spell: Spell | None) -> float | None:
    """Hours over which a claim's energy was used; None where that is all of its period. [h]"""
    if spell is not None:
        return spell.length_h
    total = float(asked.sum())
    return total if total < hours.sum() else None


def _unseen_sigma(spell: Spell | None) -> float:
    """Doubt of a mean over hours of which some have no stored temperature, as a share."""
    return 0.0 if spell is None else _UNSEEN_SHARE * (1.0 - spell.known)


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


def _change_row(claim: DemandClaim, where: Array, unknowns: Unknowns, moment: Moment) -> Row | None:
    """What was switched off was running, as far as the change can tell. [W]"""
    switched = named(claim.when.off, unknowns)
    if not switched.any():
        return None
    share = np.where(switched, where, 0.0)
    sure = named(claim.when.on, unknowns) & switched
    ids = {load.id for load, yes in zip(unknowns.loads, switched, strict=True) if yes}
    if len(ids) == 1 or any(name in ids for name in claim.when.off):
        on = sure | np.array([any_is(load, claim.when.off) for load in unknowns.loads])
        unsure = switched & ~on
    else:
        on, unsure = sure, switched & ~sure
    if unsure.sum() > MOST_STATES:
        return None
    on = on | likely_states(claim, share, on, unsure, unknowns, moment)
    count = share * unknowns.count
    run = np.where(on, count * moment.watts, 0.0)
    nothing = np.zeros((share.size, 12))
    doubt = None
    if moment.use is not None:
        doubt = Open(nothing, nothing, run * moment.use.watts_doubt, np.zeros(12))
    return Row(
        claim,
        claim.value,
        run=run,
        off=np.where(switched & ~on, count, 0.0),
        rise=nothing,
        rest=np.zeros(12),
        place=share,
        weather=doubt,
    )
