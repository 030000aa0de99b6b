"""What to measure next: by how much each possible measurement would narrow the answer.

Linear-Gaussian about the fit: a measurement with gradient j and noise r cuts the variance of an
answer with gradient g by (g C j)² / (j C j + r), C the covariance of the unknowns. Answers are
the energy of a year, the highest hour, and the share of time above a level (overloads). Where
two measurements are about as good, the safer comes first: the utility meter's display, a
plug-in meter, the source's own display; a clamp on panel conductors, for a qualified person
only, comes last.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loadlib.core.claims import DemandClaim
from loadlib.core.evidence import Evidence
from loadlib.core.load import Load
from loadlib.core.profile import Suggestion
from loadlib.core.ranges import Range
from loadlib.estimators.claim_rows import linear_rows
from loadlib.estimators.posterior import Posterior
from loadlib.estimators.rows import DAY_SIGMA, day_sigma
from loadlib.estimators.tails import tail_of

__all__ = ["suggestions"]

Array = NDArray[np.float64]

_SAFEST_FIRST = ("label", "utility meter", "plug meter", "source display", "clamp")
_EQUAL_SHARE = 0.05
"""Narrowings closer than this count as equal, and safety decides."""

_LEAST_SHARE = 0.03
_MOST = 8

_METER_SHARE, _PLUG_SHARE, _CLAMP_SHARE, _SOURCE_SHARE = 0.02, 0.02, 0.06, 0.05
_DISPLAY_W = 10.0
"""Last digit of a utility meter that shows kilowatts with two decimals. [W]"""

_WEEK_DAYS = 7.0
_LEAST_DISPLAY_W = 100.0
_MOST_PLUG_W = 1900.0
"""A plug-in meter goes into a 15 A receptacle: 1.9 kVA at 120 V."""

_HARD_WIRED = (
    "well_pump",
    "sump_pump_hard",
    "furnace",
    "boiler",
    "central_air",
    "heat_pump",
    "water_heater",
    "electric_range",
    "electric_oven",
    "electric_cooktop",
    "baseboard",
    "lighting",
    "attic_fan",
    "septic",
    "garage_door",
    "bath_exhaust",
    "ceiling_fan",
)
"""Categories (by the start of their name) that hang on no plug, or on one nobody reaches."""

_READ_LABEL_SHARE = 0.2
_ANSWERS = {
    "energy": "energy of a year",
    "peak": "highest hour",
    "overload": "time above a level",
    "start": "hardest start",
}


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A measurement: how it is made, what it moves, and its noise. [W²]"""

    text: str
    instrument: str
    gradient: Array
    noise: float


def suggestions(
    evidence: Evidence, posterior: Posterior, loads: Sequence[Load]
) -> tuple[Suggestion, ...]:
    """The best measurements, best first.

    ``loads`` are the settled ones; the start of the hardest is judged from its range.
    """
    unknowns = posterior.unknowns
    if not unknowns.loads:
        return ()
    answers = _answers(evidence, posterior)
    found = [
        _judged(candidate, answers, posterior) for candidate in _candidates(evidence, posterior)
    ]
    found = [one for one in found if one.narrows_share >= _LEAST_SHARE]
    found += _start_suggestion(loads)
    found.sort(key=_rank)
    return tuple(found[:_MOST])


def _rank(one: Suggestion) -> tuple[float, int, float, str]:
    coarse = -round(one.narrows_share / _EQUAL_SHARE)
    return (coarse, _SAFEST_FIRST.index(one.instrument), -one.narrows_share, one.text)


def _answers(evidence: Evidence, posterior: Posterior) -> dict[str, Array]:
    """Gradient of each answer by the unknowns, shape (size,) each."""
    u, z = posterior.unknowns, posterior.z
    size = u.size
    energy = _mean_gradients(evidence, posterior)[0]
    year = DemandClaim(
        "max_w", Range.exact(1.0), "asked", start_s=0, end_s=365 * 86_400, window_s=3600
    )
    tail = tail_of(year, u, evidence.house)
    peak = tail.jacobian(u, z) if tail is not None else np.zeros(size)
    instant = DemandClaim(
        "quantile_w",
        Range.exact(1.0),
        "asked",
        start_s=0,
        end_s=365 * 86_400,
        window_s=60,
        share=0.99,
    )
    often = tail_of(instant, u, evidence.house)
    overload = often.jacobian(u, z) if often is not None else np.zeros(size)
    return {"energy": energy, "peak": peak, "overload": overload}


def _mean_gradients(evidence: Evidence, posterior: Posterior) -> Array:
    """Gradients of the year's mean power of the house and of each load, shape (1 + n, size)."""
    u = posterior.unknowns
    places = ("whole", *(f"appliance {load.id}" for load in u.loads))
    claims = [
        DemandClaim("mean_w", Range.exact(1.0), "asked", place, 0, 365 * 86_400) for place in places
    ]
    rows, _ = linear_rows(claims, u, evidence.house)
    return rows.jacobian(posterior.state, posterior.z)


def _judged(candidate: _Candidate, answers: dict[str, Array], posterior: Posterior) -> Suggestion:
    """The answer that a measurement narrows most, and by how much."""
    j = candidate.gradient[None, :]
    own = float(posterior.covariance(j, j)[0, 0])
    best, share = "energy", 0.0
    for name, gradient in answers.items():
        g = gradient[None, :]
        variance = float(posterior.covariance(g, g)[0, 0])
        if variance <= 0.0 or own <= 0.0:
            continue
        cut = float(posterior.covariance(g, j)[0, 0]) ** 2 / (own + candidate.noise)
        narrows = 1.0 - math.sqrt(max(1.0 - cut / variance, 0.0))
        if narrows > share:
            best, share = name, narrows
    return Suggestion(
        f"{candidate.text} Narrows the {_ANSWERS[best]} by about {share:.0%}.",
        candidate.instrument,
        _ANSWERS[best],
        round(share, 4),
        candidate.instrument == "clamp",
    )


def _candidates(evidence: Evidence, posterior: Posterior) -> Iterator[_Candidate]:
    u, state = posterior.unknowns, posterior.state
    gradients = _mean_gradients(evidence, posterior)
    yield _whole_week(evidence, posterior, gradients[0])
    sigma = day_sigma(u)
    hours = _hourly_noise(posterior)
    for i, load in enumerate(u.loads):
        unit_w = float(state.running[i])
        run = np.zeros(u.size)
        slope = u.running_laws.slope(posterior.z[None, u.run])[0]
        run[u.run.start + i] = slope[i]
        energy = gradients[1 + i]
        mean_w = float((state.rise[i] * u.duty[i].mean(axis=1)).mean())
        week = (sigma[i] / math.sqrt(_WEEK_DAYS) * mean_w) ** 2
        plug = _on_a_plug(load)
        if plug:
            yield _Candidate(
                f"Leave a plug-in meter on the {load.name} for a week and note the kWh.",
                "plug meter",
                energy,
                week + (_PLUG_SHARE * mean_w) ** 2,
            )
        # Nobody is asked to switch off what a person depends on.
        if unit_w >= _LEAST_DISPLAY_W and not load.medical:
            noise = 2.0 * _DISPLAY_W**2 + (_METER_SHARE * unit_w) ** 2 + hours
            yield _Candidate(
                f"Read the watts on the utility meter's display with the {load.name} running, "
                f"switch it off{_how(load)}, and read again.",
                "utility meter",
                run,
                noise,
            )
            yield _Candidate(
                f"On a test run of the source, note its display with and without the {load.name}.",
                "source display",
                run,
                (_SOURCE_SHARE * unit_w) ** 2 + 2.0 * (5.0 * _DISPLAY_W) ** 2 + hours,
            )
        if not plug:
            yield _Candidate(
                f"A qualified person logs the circuit of the {load.name} with a clamp for a week.",
                "clamp",
                energy,
                week + (_CLAMP_SHARE * mean_w) ** 2,
            )
        if load.known != "measured" and not _has_label(evidence, load):
            yield _Candidate(
                f"Read the rating label of the {load.name}.",
                "label",
                run,
                (_READ_LABEL_SHARE * unit_w) ** 2,
            )


def _whole_week(evidence: Evidence, posterior: Posterior, gradient: Array) -> _Candidate:
    """The utility meter's register, a week apart; a month of bills where there are none."""
    mean_w = float(posterior.unknowns.mean_w(posterior.state).mean())
    if not evidence.bills and not evidence.series:
        return _Candidate(
            "Enter twelve months of bills, or the file of your utility's interval data.",
            "utility meter",
            gradient,
            (_METER_SHARE * mean_w) ** 2,
        )
    share = DAY_SIGMA / math.sqrt(_WEEK_DAYS)
    return _Candidate(
        "Read the utility meter's register today and in a week.",
        "utility meter",
        gradient,
        (share * mean_w) ** 2,
    )


def _hourly_noise(posterior: Posterior) -> float:
    """Variance of what else may switch between two looks at a display, a minute apart. [W²]"""
    u, state = posterior.unknowns, posterior.state
    rate_per_min = u.starts_per_h * u.count / 60.0
    rise = np.maximum(state.running - state.standby, 0.0)
    # What switches in that minute is mostly seen and read again: one in four is not.
    return 0.25 * float((2.0 * rate_per_min * rise**2).sum())


def _on_a_plug(load: Load) -> bool:
    if load.line_to_line or load.running_w.typical > _MOST_PLUG_W:
        return False
    return not load.category.startswith(_HARD_WIRED)


def _how(load: Load) -> str:
    hard_wired = load.category.startswith(_HARD_WIRED)
    return " at its breaker" if hard_wired else " at its own switch"


def _has_label(evidence: Evidence, load: Load) -> bool:
    for appliance in evidence.house.appliances:
        if appliance.id == load.id:
            return bool(appliance.label.strip()) or appliance.running_w is not None
    return True


def _start_suggestion(loads: Sequence[Load]) -> list[Suggestion]:
    """The motor whose start decides, if it is not on a label: its plate would tell."""
    motors = [load for load in loads if load.start_va is not None]
    if not motors:
        return []
    hardest = max(motors, key=lambda load: load.largest_va.high)
    told = any(text.startswith("start_va: label: locked") for text in hardest.sources)
    told = told or any("code letter" in text for text in hardest.sources)
    start = hardest.largest_va
    if told or start.typical <= 0.0 or start.factor < 1.5:
        return []
    # A locked-rotor current on a label leaves a factor of 1.5 between its ends.
    share = 1.0 - math.log(1.5) / max(math.log(min(start.factor, 1e3)), 1e-9)
    words = " and whether the pump is two-wire or three-wire" if "pump" in hardest.category else ""
    return [
        Suggestion(
            f"Read the locked-rotor amps (LRA) or code letter on the plate of the "
            f"{hardest.name}{words}. Narrows the hardest start by about {share:.0%}.",
            "label",
            _ANSWERS["start"],
            round(share, 4),
        )
    ]
