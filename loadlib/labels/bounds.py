"""What follows from a plate without guessing: upper bounds, running current, start.

Nothing here turns volts times amps into watts: that product is apparent power, and on a
rating label it is an upper bound.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from loadlib.core.motor_tables import KVA_PER_HP
from loadlib.labels.rating import RatingLabel
from loadlib.labels.roles import level_of

if TYPE_CHECKING:
    from loadlib.core.ranges import Range

__all__ = ["RunningAmps", "running_a_bounds", "start_va", "upper_bound_va"]

_ROOT_3 = 1.7320508
_LEAST_MOCP_A = 15.0
"""Up to 15 A the maximum fuse is a rounded-up floor, and bounds nothing. [A]"""


@dataclass(frozen=True, slots=True)
class RunningAmps:
    """Rated running current of the whole unit lies between low_a and high_a. [A]"""

    low_a: float
    high_a: float
    basis: str


def running_a_bounds(label: RatingLabel) -> RunningAmps | None:
    """Bounds of the rated running current of an air-conditioning unit.

    With rated-load current: compressor plus fan. Otherwise from the minimum circuit
    ampacity MCA = 1.25 × L + R (L largest motor, R the rest): L + R is at least 0.8 × MCA
    (R = 0). The maximum fuse is at most 2.25 × L + R, so L is at least MOCP − MCA and
    L + R at most MCA − 0.25 × (MOCP − MCA), where MOCP is above 15 A. A fuse that is
    larger than this rule allows (another rule was used) bounds nothing.

    Returns
    -------
    RunningAmps, or None when the plate states neither.

    References: NEC 440.22(A), 440.33 (article numbers from memory).

    Examples
    --------
    >>> from loadlib.labels import read_label
    >>> running_a_bounds(read_label("230/208-1 MCA 39 MAX FUSE 50"))
    RunningAmps(low_a=31.2, high_a=36.25, basis='mca and mocp')
    """
    if label.rla is not None:
        total = label.rla + (label.fla or 0.0)
        basis = "rla" if label.fla is None else "rla and fla"
        return RunningAmps(total, total, basis)
    if label.mca is None:
        return None
    low = round(0.8 * label.mca, 6)
    if label.mocp is not None and label.mocp > _LEAST_MOCP_A:
        high = label.mca - 0.25 * (label.mocp - label.mca)
        if low <= high <= label.mca:
            return RunningAmps(low, round(high, 6), "mca and mocp")
    return RunningAmps(low, label.mca, "mca")


def upper_bound_va(label: RatingLabel, volts: float | None = None) -> float | None:
    """Apparent power that the plate is not exceeded by in running. [VA]

    Parameters
    ----------
    label : the reading.
    volts : supply voltage of the home, used to choose among connections, or where the
        plate states no voltage. [V]

    Returns
    -------
    Printed VA if any; else printed volts × amps (√3 for three phases). With a supply that
    spans several countries' levels the current belongs to the lowest voltage. Without a
    current, printed watts over a printed power factor; watts alone give no VA: None. [VA]
    """
    if label.refused is not None:
        return None
    if label.va is not None:
        return label.va
    amps = _most_amps(label)
    if amps is None:
        if label.watts is None or label.power_factor is None:
            return None
        return label.watts / label.power_factor
    root = _ROOT_3 if label.phases == 3 else 1.0
    if label.volts is None and len(label.volts_printed) > 1 and label.volts_printed[-1] > 60.0:
        return root * label.volts_printed[0] * amps if label.wide_range else None
    at, amps = _connection(label, volts, amps)
    return None if at is None else root * at * amps


def _most_amps(label: RatingLabel) -> float | None:
    """A stated current of the whole; the ampacity bounds it only where none is stated."""
    stated = [a for a in (label.amps, label.sfa, label.fla) if a is not None]
    running = running_a_bounds(label)
    if running is not None and (label.rla is not None or not stated):
        stated.append(running.high_a)
    return max(stated, default=None)


def _connection(label: RatingLabel, volts: float | None, amps: float) -> tuple[float | None, float]:
    """Volts and amps of the connection that fits the home."""
    if volts is None or label.volts is None:
        return label.volts or volts, amps
    if level_of(volts) == level_of(label.volts):
        return label.volts, amps
    for part in label.parts:
        current = part.amps if part.amps is not None else part.fla
        if part.role != "voltage" or part.volts is None or current is None:
            continue
        if level_of(part.volts) == level_of(volts):
            return part.volts, current
    return label.volts, amps


def start_va(label: RatingLabel) -> Range | None:
    """Apparent power with the rotor locked, at the plate's voltage. [VA]

    From locked-rotor amps × volts (√3 for three phases) when both are printed; else from
    the code letter's band × hp. None otherwise, and for letter V, whose band has no top.

    References: NEC Table 430.7(B).
    """
    from loadlib.core.ranges import Range

    if label.refused is not None:
        return None
    if label.lra is not None and label.volts is not None:
        root = _ROOT_3 if label.phases == 3 else 1.0
        return Range.exact(root * label.lra * label.volts)
    if label.code_letter is None or label.hp is None:
        return None
    low, high = KVA_PER_HP[label.code_letter]
    if high is None:
        return None
    scale = 1000.0 * label.hp
    return Range(low * scale, 0.5 * (low + high) * scale, high * scale)
