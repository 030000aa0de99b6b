"""From what a meter showed to volt-amperes and watts, with every doubt carried along.

An instrument's accuracy (share of the reading plus counts of the last digit) is taken as the
5 and 95 % points: a specification is a bound, so this is on the careful side.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from loadlib.core.electrical import System
from loadlib.core.ranges import Range
from loadlib.core.readings import Reading
from loadlib.errors import InputError

__all__ = [
    "CREST_FACTOR_SINE",
    "FORM_FACTOR_SINE",
    "Power",
    "amps_of",
    "energy_of",
    "imbalance_share",
    "power_band_w",
    "power_of",
    "product",
    "reactive_var",
    "volts_of",
    "watts_of",
    "with_band",
]

CREST_FACTOR_SINE = math.sqrt(2.0)
FORM_FACTOR_SINE = math.pi / (2.0 * math.sqrt(2.0))
"""Peak over RMS and RMS over mean rectified value of a sine. An average-responding clamp shows
form factor × mean: right for a sine, up to about 40 % low on the pulsed current of
electronics (instrument reference pages)."""

VOLTAGE_BAND_SHARE = 0.05
"""Service voltage about its nominal value where it was not measured: Range A of ANSI C84.1
(114 to 126 V on 120 V)."""

VOLTMETER_SHARE = 0.01
"""Error of a voltage that was read: common for a hand meter, no source."""

_FIGURES = 3
"""Figures of a second quantity on a display that shows two: its last digit is not stored. A
judgement; power clamps show three or four."""


@dataclass(frozen=True, slots=True)
class Power:
    """What a reading says: apparent and real power. [VA], [W]"""

    apparent_va: Range
    real_w: Range


def with_band(shown: float, share: float, digits: float = 0.0, digit: float = 0.0) -> Range:
    """A shown value with an accuracy of ``share`` of it plus ``digits`` counts of ``digit``.

    Examples
    --------
    >>> with_band(100.0, 0.02, 2, 0.1)
    Range(low=97.8, typical=100.0, high=102.2)
    """
    half = abs(shown) * share + digits * digit
    return Range(shown - half, shown, shown + half)


def power_band_w(shown_w: float, reading_share: float, scale_share: float, range_w: float) -> Range:
    """A power meter's band: a share of the reading plus a share of its measuring range. [W]"""
    half = abs(shown_w) * reading_share + range_w * scale_share
    return Range(shown_w - half, shown_w, shown_w + half)


def product(a: Range, b: Range) -> Range:
    """Belief about the product of two independent numbers that are not negative."""
    typical = a.typical * b.typical
    if typical <= 0.0:
        return Range(0.0, max(typical, 0.0), max(a.high * b.high, 0.0))
    up = math.hypot(a.high / a.typical - 1.0, b.high / b.typical - 1.0)
    down = math.hypot(1.0 - max(a.low, 0.0) / a.typical, 1.0 - max(b.low, 0.0) / b.typical)
    return Range(typical * max(1.0 - down, 0.0), typical, typical * (1.0 + up))


def reactive_var(apparent_va: float, real_w: float) -> float:
    """Reactive power of a sinusoidal load. [var]"""
    return math.sqrt(max(apparent_va**2 - real_w**2, 0.0))


def imbalance_share(leg_a: float, leg_b: float) -> float:
    """Difference of two legs over their sum: |A − B| / (2 × mean); 0 when both are zero."""
    total = leg_a + leg_b
    return abs(leg_a - leg_b) / total if total > 0.0 else 0.0


def amps_of(reading: Reading, shown_a: float | None = None) -> Range:
    """Current in the conductor: what was shown, its band, over the turns. [A]"""
    shown = reading.amps if shown_a is None else shown_a
    if shown is None:
        raise InputError(f"reading of {reading.place}: no amps", hint="Give amps, watts or energy.")
    shown_band = with_band(shown, reading.band_share, reading.band_digits, reading.digit)
    return shown_band.clipped(0.0, math.inf).scaled(1.0 / reading.turns)


def _digit_beside(shown: float) -> float:
    """Last digit of a value shown in three figures: 1 for 122, 10 for 2840; 0 for zero."""
    return float(10.0 ** (math.floor(math.log10(abs(shown))) - _FIGURES + 1)) if shown else 0.0


def energy_of(reading: Reading) -> Range:
    """Energy that was counted, with the meter's band and last digit, at least 1 Wh. [Wh]"""
    shown = reading.energy_wh or 0.0
    alone = reading.watts is None and reading.amps is None and not reading.leg_amps
    digit = reading.digit if alone else _digit_beside(shown)
    half = max(abs(shown) * reading.band_share + reading.band_digits * digit, 1.0)
    return Range(max(shown - half, 0.0), shown, shown + half)


def volts_of(measured_v: float | None, nominal_v: float) -> Range:
    """Voltage: as read ± 1 %, else nominal ± 5 %. [V]"""
    if measured_v is not None:
        return Range.around(measured_v, 1.0 + VOLTMETER_SHARE)
    return Range.around(nominal_v, 1.0 + VOLTAGE_BAND_SHARE)


def watts_of(reading: Reading) -> Range:
    """Watts that were shown, or the difference of two displays, with the meter's band. [W]"""
    if reading.watts is None:
        raise InputError(f"reading of {reading.place}: no watts")
    # Beside amps, the digit that is stored is theirs.
    beside = reading.amps is not None or bool(reading.leg_amps)
    digit = _digit_beside(reading.watts) if beside else reading.digit
    first = with_band(reading.watts, reading.band_share, reading.band_digits, digit)
    if reading.watts_after is None:
        return first.clipped(0.0, math.inf)
    change = reading.watts - reading.watts_after
    # One meter: its gain error is common to both and scales the difference; the last digit of
    # each display is a doubt of its own.
    half = math.hypot(
        abs(change) * reading.band_share, math.sqrt(2.0) * reading.band_digits * reading.digit
    )
    return Range(change - half, change, change + half)


def power_of(reading: Reading, supply: System, legs: Sequence[str], power_factor: Range) -> Power:
    """Power of what was clamped.

    Parameters
    ----------
    reading : Reading
        ``amps`` of one conductor, or ``leg_amps`` of each leg.
    supply : System
        nominal voltages.
    legs : sequence of str
        legs that the load lies on. A load on two legs that was clamped once carries the same
        current in both conductors: volts double, amps do not. With ``leg_amps`` each leg
        counts with its own volts to neutral, so unequal legs are no problem.
    power_factor : Range
        of the load; used where no watts were read.
    """
    if reading.leg_amps:
        apparent = _sum_of_legs(reading, supply)
    else:
        apparent = product(amps_of(reading), _across(reading, supply, legs))
    if reading.watts is not None and reading.watts_after is None:
        return Power(apparent, watts_of(reading))
    return Power(apparent, product(apparent, power_factor).clipped(0.0, apparent.high))


def _across(reading: Reading, supply: System, legs: Sequence[str]) -> Range:
    """Volts across the load: what was read to neutral counts for one leg. [V]"""
    nominal = supply.volts(legs)
    if reading.volts is not None and len(legs) > 1 and reading.volts < 0.7 * nominal:
        return volts_of(reading.volts * nominal / supply.leg_v, nominal)
    if reading.leg_volts and len(reading.leg_volts) == len(legs) > 1:
        # Both halves were read: across the load lies their sum on a split phase.
        return volts_of(sum(reading.leg_volts) * nominal / (len(legs) * supply.leg_v), nominal)
    return volts_of(reading.volts, nominal)


def _sum_of_legs(reading: Reading, supply: System) -> Range:
    volts = reading.leg_volts or (reading.volts,) * len(reading.leg_amps)
    parts = [
        product(amps_of(reading, shown), volts_of(measured, supply.leg_v))
        for shown, measured in zip(reading.leg_amps, volts, strict=True)
    ]
    # The same meter read every leg, so its error is common: ends go together here.
    return Range(*(sum(getattr(p, end) for p in parts) for end in ("low", "typical", "high")))
