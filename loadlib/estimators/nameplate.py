"""The nameplate estimator: what each appliance draws, from the best source there is.

In this order, and visible in the source of each claim: the user's own figure, the rating
label, the catalog, a wide guess. A label is an upper bound; the catalog's share of the label
says how much of it is really drawn. A start multiplier is used on its own basis only.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from loadlib.core.category import Category
from loadlib.core.claims import LoadClaim
from loadlib.core.electrical import System
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance
from loadlib.core.load import Grid, grid
from loadlib.core.ranges import Range
from loadlib.estimators.motors import code_letter_va
from loadlib.estimators.products import agreed, divided, times
from loadlib.estimators.rated import Rated, label_of, rated_of, volts_of

if TYPE_CHECKING:
    from loadlib import RatingLabel

__all__ = ["NameplateEstimator", "claims_about"]

_HOURS_PER_YEAR = 8760.0

_SURFACE_NAMES = {"annual_wh": "annual_kwh", "on_s": "on_min"}
"""What the catalog's rows call a quantity that has another unit inside."""

_LOW_RATIO = 0.92
_LEAST_RATIO = 0.8
"""Supply over label voltage at which a heater's figure is scaled: 208 V for 240 V is 0.87."""

_ANY_SHARE = Range(0.3, 0.7, 1.0)
"""Share of its label that an appliance of unknown kind draws: common practice, no source."""

_LABEL_SAYS_LITTLE = 2.5
"""Ends of a label share this far apart leave room for what is known of the kind: a choice of
ours, so that a refrigerator's plate (10 to 60 %) is helped and a heater's is left alone."""

_ANY_RUNNING_W = Range(5.0, 250.0, 3000.0)
"""Running watts of an appliance of unknown kind: the 5, 50 and 95 % points of 334 typical
figures in published lists (US Department of Energy list, extension and utility lists)."""

_ANY_DUTY = Range(0.001, 0.04, 0.6)
"""Share of time on of an appliance of unknown kind: a guess."""

_LOCKED_ROTOR = Range(0.8, 1.0, 1.2)
"""A start over the locked-rotor current of the label: +20 % is the tolerance of IEC 60034-1
(from memory); −20 % for the sag of the supply."""

_START_POWER_FACTOR = Range(0.75, 0.9, 1.0)
"""Power factor during starts of plug-in appliances: Gao J. et al., PLAID (BuildSys 2014),
refrigerators 0.80/0.89/1.00 and room air conditioners 0.77/0.91/1.01 (10/50/90 %)."""


@dataclass(frozen=True, slots=True)
class _Known:
    """One appliance with what is known of it."""

    appliance: Appliance
    category: Category | None
    label: RatingLabel | None
    volts: float
    rated: Rated | None
    supply: System


class NameplateEstimator:
    """Claims about every appliance of the house, all of standing ``prior``."""

    name = "nameplate"
    summary = "your own figure, rating label, catalog or a wide guess, for each appliance"

    def needs(self, evidence: Evidence) -> list[str]:
        """What is missing, in words."""
        if not evidence.house.appliances:
            return ["no appliance has been entered"]
        return []

    def claims(self, evidence: Evidence) -> Iterator[LoadClaim]:
        """Claims about running, start, power factor, standby and use of each appliance."""
        for appliance in evidence.house.appliances:
            category = evidence.categories.get(appliance.category)
            yield from claims_about(appliance, category, evidence.house.supply)


def claims_about(
    appliance: Appliance, category: Category | None, supply: System
) -> Iterator[LoadClaim]:
    """Prior claims about one appliance, from what was entered, its label and its category."""
    label = label_of(appliance)
    volts = volts_of(label, category, supply)
    rated = rated_of(label, category, volts, appliance.label) if label else None
    known = _Known(appliance, category, label, volts, rated, supply)
    running, source = _running(known)
    yield _prior(known, "running_w", running, source)
    factor, source = _power_factor(known)
    yield _prior(known, "power_factor", factor, source)
    start = _start(known, running, factor)
    if start is not None:
        yield _prior(known, "start_va", *start)
        if known.category is not None and known.category.start_s.high > 0.0:
            said = _catalog(known.category, "start_s")
            yield _prior(known, "start_s", known.category.start_s, said)
    yield from _use(known, running)


def _prior(
    known: _Known, quantity: str, value: Range, source: str, shape: Grid | None = None
) -> LoadClaim:
    return LoadClaim(
        about=known.appliance.id,
        quantity=quantity,
        value=value,
        source=source,
        standing="prior",
        shape=shape,
    )


def _running(known: _Known) -> tuple[Range, str]:
    """Watts while on, and where from. [W]"""
    if known.appliance.running_w is not None:
        return known.appliance.running_w, "your figure"
    category = known.category
    if known.rated is not None:
        share = category.label_share if category and category.label_share.high > 0 else _ANY_SHARE
        running = times(known.rated.power, share)
        words = f"label: {known.rated.words}; draws {_spoken(share)} of it"
        source = f"{words} ({_share_source(category)})"
        running, source = _with_kind(category, share, running, source)
        if known.rated.bound:
            running = running.clipped(0.0, known.rated.power.high)
        return _at_supply(known, running, source)
    if category is not None and category.running_w.high > 0.0:
        return category.running_w, _catalog(category, "running_w")
    return _ANY_RUNNING_W, f"guess: nothing is known of a {known.appliance.category or 'load'!r}"


def _with_kind(
    category: Category | None, share: Range, running: Range, source: str
) -> tuple[Range, str]:
    """What its kind draws joins in where a label says little and does not contradict it."""
    if category is None or share.low <= 0.0 or share.high < _LABEL_SAYS_LITTLE * share.low:
        return running, source
    own = agreed(running, category.running_w)
    if own is None:
        return running, source
    return own, f"{source}; with {_catalog(category, 'running_w')}"


def _at_supply(known: _Known, running: Range, source: str) -> tuple[Range, str]:
    """A heater on a supply of lower voltage than its label's draws by the square of it.

    A 240 V heater gives 75 % on 208 V. Smaller differences lie within the supply's own band.
    """
    if known.category is None or known.category.kind != "heater":
        return running, source
    across = known.volts >= _LOW_RATIO * known.supply.line_v
    volts = known.supply.line_v if across else known.supply.leg_v
    ratio = volts / known.volts
    if not _LEAST_RATIO <= ratio <= _LOW_RATIO:
        return running, source
    return running.scaled(ratio**2), f"{source}; × {ratio**2:.2f} on {volts:g} V"


def _share_source(category: Category | None) -> str:
    if category is None or category.label_share.high <= 0.0:
        return "guess: kind unknown"
    return _catalog(category, "label_share")


def _catalog(category: Category, quantity: str) -> str:
    """Source of a catalog value in words."""
    row = category.value(quantity) or category.value(_SURFACE_NAMES.get(quantity, quantity))
    if row is None:
        return f"catalog: {category.name}"
    how = "from memory" if row.obtained == "from_memory" else row.citation or row.source
    return f"catalog: {category.name}, {how}"


def _spoken(share: Range) -> str:
    return f"{share.low:.0%}–{share.high:.0%}"


def _power_factor(known: _Known) -> tuple[Range, str]:
    label, category = known.label, known.category
    if label is not None and label.power_factor:
        return Range.exact(label.power_factor), f"label: power factor {label.power_factor:g}"
    if category is not None and category.power_factor.high > 0.0:
        return category.power_factor, _catalog(category, "power_factor")
    return Range(0.6, 0.9, 1.0), "guess: power factor of an unknown kind"


def _start(known: _Known, running: Range, factor: Range) -> tuple[Range, str] | None:
    """VA of the whole start and where from; None where there is no start above running. [VA]"""
    label, volts = known.label, known.volts
    if label is not None and label.lra:
        words = f"label: locked rotor {label.lra:g} A × {volts:g} V"
        return _LOCKED_ROTOR.scaled(label.lra * volts), words
    if label is not None and label.code_letter and label.hp:
        by_letter = code_letter_va(label.code_letter, label.hp)
        if by_letter is not None:
            words = f"label: code letter {label.code_letter} × {label.hp:g} hp"
            return by_letter, f"{words}, NFPA 70 (NEC) Table 430.7(B)"
    return _start_by_multiplier(known, running, factor)


def _start_by_multiplier(known: _Known, running: Range, factor: Range) -> tuple[Range, str] | None:
    """The catalog's multiplier on its own basis, never on another one. [VA]"""
    category = known.category
    if category is None or category.start_basis in ("", "none"):
        return None
    multiplier = category.start_multiplier
    said = f"{_catalog(category, 'start_multiplier')}; {_spoken_times(multiplier)}"
    if category.start_basis.startswith("running_w"):
        start_va = divided(times(running, multiplier), _START_POWER_FACTOR)
        return start_va, f"{said} running watts"
    if category.start_basis.startswith("running_a"):
        return times(divided(running, factor), multiplier), f"{said} running amps"
    if category.start_basis.startswith(("full_load", "rated_load")):
        rated_va, words = _rated_va(known, running, factor)
        return times(rated_va, multiplier), f"{said} {words}"
    return None


def _rated_va(known: _Known, running: Range, factor: Range) -> tuple[Range, str]:
    """Full-load or rated-load VA: the label's, else running over its share of the label. [VA]"""
    rated = known.rated
    if rated is not None and rated.unit == "VA":
        return rated.power, f"rated amps ({rated.words})"
    if rated is not None:
        return divided(rated.power, factor), f"rated amps ({rated.words} over power factor)"
    category = known.category
    share = category.label_share if category and category.label_share.low > 0 else _ANY_SHARE
    # The two ends of running and share go together (a motor near full load), so only the
    # typical share is used: dividing by its range as well would count the doubt twice.
    return running.scaled(1.0 / share.typical), "rated amps, worked back from running watts"


def _spoken_times(multiplier: Range) -> str:
    return f"{multiplier.low:g}–{multiplier.high:g} ×"


def _use(known: _Known, running: Range) -> Iterator[LoadClaim]:
    """Share of time on, on-time, starts and standby."""
    category = known.category
    if category is None:
        yield _prior(known, "duty_share", _ANY_DUTY, "guess: use of an unknown kind")
        return
    duty, source = _duty(known, category, running)
    yield _prior(known, "duty_share", duty, source, shape=_shape(category))
    if category.on_s.high > 0.0:
        yield _prior(known, "on_s", category.on_s, _catalog(category, "on_s"))
    if category.cycles_per_day.high > 0.0:
        starts = category.cycles_per_day.scaled(_busiest_to_mean(category) / 24.0)
        source = _catalog(category, "cycles_per_day")
        yield _prior(known, "starts_per_h", starts, source, shape=_shape(category))
    label = known.label
    if label is not None and label.kwh_per_cycle:
        words = f"label: {label.kwh_per_cycle:g} kWh a cycle, ± 25 % for the programme (no source)"
        energy = Range.around(1000.0 * label.kwh_per_cycle, 1.25)
        yield _prior(known, "energy_per_cycle_wh", energy, words)
    yield _prior(known, "standby_w", category.standby_w, _catalog(category, "standby_w"))


def _duty(known: _Known, category: Category, running: Range) -> tuple[Range, str]:
    """Mean share of time on over the year, of one unit."""
    label = known.label
    if label is not None and label.kwh_per_year and running.low > 0.0:
        energy_w = Range.around(label.kwh_per_year * 1000.0 / _HOURS_PER_YEAR, 1.25)
        words = f"label: {label.kwh_per_year:g} kWh a year, ± 25 % for habits (no source)"
        return divided(energy_w, running).clipped(0.0, 1.0), words
    if _energy_is_given(known, category) and running.low > 0.0:
        energy_w = category.annual_wh.scaled(1.0 / _HOURS_PER_YEAR)
        used_w = energy_w.shifted(-category.standby_w.typical).clipped(0.0, math.inf)
        words = f"{_catalog(category, 'annual_wh')}; its energy over your running watts"
        return divided(used_w, running).clipped(0.0, 1.0), words
    if category.duty_share.high > 0.0:
        mean = category.duty_share.scaled(_busiest_to_mean(category)).clipped(0.0, 1.0)
        return mean, _catalog(category, "duty_share")
    return _ANY_DUTY, "guess: the catalog has no use of this kind"


def _energy_is_given(known: _Known, category: Category) -> bool:
    """Whether the job fixes the energy, so that a stronger unit runs for a shorter time.

    True of tanks, refrigerators and pumps whose running watts come from label or user. Heating
    and cooling are bought to the size of the house instead: their share of time on is kept.
    """
    own = known.appliance.running_w is not None or known.rated is not None
    job = category.thermostatic and category.group not in ("heating", "cooling")
    return own and job and category.annual_wh.low > 0.0


def _busiest_to_mean(category: Category) -> float:
    """The catalog's duty and cycles hold in the busiest month: mean of the year over that."""
    months = category.use_by_month
    largest = max(months, default=0.0)
    return sum(months) / len(months) / largest if largest > 0.0 else 1.0


def _shape(category: Category) -> Grid:
    """Relative use by month and hour, mean 1."""
    months = np.array(category.use_by_month or (1.0,) * 12)
    hours = np.array(category.use_by_hour or (1.0,) * 24)
    use = np.outer(months, hours)
    mean = float(use.mean())
    return grid(use / mean if mean > 0.0 else np.ones((12, 24)))
