"""Motors: table currents, locked rotor, what a start asks of a source.

Start figures here are wholes (VA while the rotor still stands), not steps above running, and
VA is not W: the power factor at locked rotor is low. Code tables give 6 × full-load current
at every size and are deliberately high; code letters J to L give 5 to 6 times.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from loadlib_standby.engine import InputError, NotFound
from loadlib_standby.tables import find, number, table

__all__ = [
    "CodeLetter",
    "SetClass",
    "StartCheck",
    "branch_conductor_a",
    "can_start",
    "code_letter",
    "full_load_a",
    "input_w",
    "largest_startable_va",
    "locked_rotor_a",
    "protection_a",
    "running_va",
    "sagged_start_va",
    "set_class",
    "shaft_w",
    "start_over_running",
    "start_va",
    "table_locked_rotor_a",
    "voltage_dip_share",
]


def full_load_a(hp: str | float, volts_v: float) -> float:
    """Full-load current of a single-phase motor, NFPA 70 (NEC) Table 430.248. [A]

    ``hp`` as printed (``"1-1/2"``, ``"1/3"``, 5); ``volts_v`` [V] 110–120, 208 or 220–240.

    >>> full_load_a("3/4", 230)
    6.9
    """
    return number(_motor(hp), f"full_load_{_column(volts_v)}_a", "full-load current")


def table_locked_rotor_a(hp: str | float, volts_v: float) -> float:
    """Locked-rotor current, NFPA 70 (NEC) Table 430.251(A): six times full load. [A]

    ``volts_v`` [V].
    """
    return number(_motor(hp), f"locked_{_column(volts_v)}_a", "locked-rotor current")


@dataclass(frozen=True, slots=True)
class CodeLetter:
    """Locked-rotor kVA per hp of a code letter; ``most`` is None for V, which is open."""

    letter: str
    least_kva_per_hp: float
    most_kva_per_hp: float | None

    @property
    def middle_kva_per_hp(self) -> float:
        """Middle of the band, which some exam keys use; for a source take the top. [kVA/hp]"""
        if self.most_kva_per_hp is None:
            raise InputError("code letter V has no upper end", hint="Ask for LRA instead.")
        return (self.least_kva_per_hp + self.most_kva_per_hp) / 2.0

    def start_va(self, hp: float) -> tuple[float, float]:
        """Band of the start for ``hp``. [VA]"""
        if self.most_kva_per_hp is None:
            raise InputError("code letter V has no upper end", hint="Ask for LRA instead.")
        return self.least_kva_per_hp * hp * 1000.0, self.most_kva_per_hp * hp * 1000.0


def code_letter(letter: str) -> CodeLetter:
    """Band of a motor code letter, NFPA 70 (NEC) Table 430.7(B)."""
    row = find("code_letters", "motor code letter", "letter", letter)
    top = row["most_kva_per_hp"]
    return CodeLetter(row["letter"], float(row["least_kva_per_hp"]), float(top) if top else None)


def locked_rotor_a(start_va: float, volts_v: float, phases: int = 1) -> float:
    """Current of a start of ``start_va`` [VA] at ``volts_v`` [V]. [A]"""
    return start_va / (volts_v * (3.0**0.5 if phases == 3 else 1.0))


def running_va(amps_a: float, volts_v: float, phases: int = 1) -> float:
    """Apparent power of ``amps_a`` [A] at ``volts_v`` [V]. [VA]"""
    return amps_a * volts_v * (3.0**0.5 if phases == 3 else 1.0)


def start_va(amps_a: float, volts_v: float, factor: float = 1.0) -> float:
    """Start: ``factor`` × running amps, or locked-rotor amps with factor 1. [VA]

    ``amps_a`` [A], ``volts_v`` [V].
    """
    return amps_a * volts_v * factor


def shaft_w(horsepower: float) -> float:
    """Mechanical output, 746 W a horsepower; the input is larger. [W]"""
    return 746.0 * horsepower


def input_w(horsepower: float, efficiency: float) -> float:
    """Electrical input behind a shaft output. [W]

    Small single-phase motors are 45 to 75 % efficient, so they take 1.3 to 2.2 times their
    shaft power.
    """
    if not 0.0 < efficiency <= 1.0:
        raise InputError(f"efficiency {efficiency:g} is not between 0 and 1")
    return shaft_w(horsepower) / efficiency


def start_over_running(locked_rotor_a: float, running_a: float) -> float:
    """Locked-rotor over running current, both in A. ``locked_rotor_a`` [A], ``running_a`` [A]"""
    if running_a <= 0.0:
        raise InputError(f"running current {running_a:g} A")
    return locked_rotor_a / running_a


def sagged_start_va(full_start_va: float, voltage_share: float) -> float:
    """Start at a sagging voltage: falls with its square. ``full_start_va`` [VA]. [VA]

    A locked rotor is an impedance; torque falls in the same way, so a source that sags too
    far lets the motor hum and not start.
    """
    if not 0.0 < voltage_share <= 1.0:
        raise InputError(f"voltage share {voltage_share:g} is not between 0 and 1")
    return full_start_va * voltage_share**2


@dataclass(frozen=True, slots=True)
class StartCheck:
    """Can a source start it: ``verdict`` is ``"yes"``, ``"only if"`` or ``"no"``.

    ``shortfall_va`` is at the high end (0 when it fits); ``break_even`` is the start factor
    at which the verdict turns.
    """

    running_va: float
    low_va: float
    high_va: float
    capacity_va: float
    shortfall_va: float
    break_even: float
    verdict: str


def can_start(
    running_va: float,
    factor: float | tuple[float, float],
    capacity_va: float,
    already_va: float = 0.0,
) -> StartCheck:
    """Whether a motor starts on a source with ``already_va`` running.

    Parameters
    ----------
    running_va : float
        running draw of the motor. [VA]
    factor : float or pair
        start over running, a single figure or low and high.
    capacity_va : float
        what the source gives for a few seconds; its running rating where no starting figure
        is known. [VA]
    already_va : float
        what else is running. [VA]

    Examples
    --------
    >>> can_start(840, 4, 2000).verdict, round(can_start(840, 4, 2000).break_even, 2)
    ('no', 2.38)
    """
    low, high = factor if isinstance(factor, tuple) else (factor, factor)
    if not 0.0 < low <= high:
        raise InputError(f"start factor {low:g} to {high:g}", hint="Give low, then high.")
    room_va = capacity_va - already_va
    low_va, high_va = running_va * low, running_va * high
    verdict = "yes" if high_va <= room_va else "no" if low_va > room_va else "only if"
    shortfall_va = max(high_va - room_va, 0.0)
    break_even = room_va / running_va
    return StartCheck(running_va, low_va, high_va, capacity_va, shortfall_va, break_even, verdict)


def largest_startable_va(factor: float, capacity_va: float, already_va: float = 0.0) -> float:
    """Running VA of the largest motor that a source starts at ``factor`` × running, with
    ``already_va`` [VA] on and ``capacity_va`` [VA] for seconds. [VA]

    >>> round(largest_startable_va(2.4, 9000, 2000))
    2917
    """
    if factor <= 0.0:
        raise InputError(f"start factor {factor:g}")
    return max(capacity_va - already_va, 0.0) / factor


def voltage_dip_share(source_kva: float, start_kva: float, reactance_pu: float = 0.2) -> float:
    """Dip from the transient reactance: X′S_start / (S_source + X′S_start).

    Textbook machine theory; no regulator action and no slowing engine, so for a small set it
    is a bound only. ``source_kva`` and ``start_kva`` in kVA.
    """
    drop = reactance_pu * start_kva
    return drop / (source_kva + drop)


@dataclass(frozen=True, slots=True)
class SetClass:
    """Limits of a performance class of ISO 8528-5, in percent and seconds."""

    performance_class: str
    steady_voltage_pct: float
    dip_pct: float
    rise_pct: float
    voltage_recovery_s: float
    droop_pct: float
    frequency_dip_pct: float
    frequency_rise_pct: float
    frequency_recovery_s: float


def set_class(name: str) -> SetClass:
    """Performance class G1, G2 or G3 of a generating set (G1 and G3 from memory)."""
    row = find("set_classes", "performance class", "performance_class", name)
    figures = {
        key: float(row[key])
        for key in SetClass.__dataclass_fields__
        if key in row
        if key != "performance_class"
    }
    return SetClass(row["performance_class"], **figures)


def branch_conductor_a(full_load_a: float) -> float:
    """Least conductor ampacity for one motor: 125 %, NEC 430.22. ``full_load_a`` [A]. [A]"""
    return 1.25 * full_load_a


def protection_a(full_load_a: float, device: str = "inverse_time_breaker") -> float:
    """Largest short-circuit protection of a single-phase motor, NEC 430.52. [A]

    ``full_load_a`` [A]; ``device``: ``inverse_time_breaker``, ``dual_element_fuse``,
    ``nontime_delay_fuse`` or ``instantaneous_breaker``. Protects the wires; it says nothing
    about what the motor draws.
    """
    row = find("motor_protection", "motor", "motor", "single-phase motors")
    column = f"{device}_pct"
    if column not in row:
        raise NotFound(
            "protective device", device, near=tuple(k[:-4] for k in row if k.endswith("_pct"))
        )
    return full_load_a * float(row[column]) / 100.0


def _motor(hp: str | float) -> dict[str, str]:
    wanted = _hp(hp)
    for row in table("motors"):
        if abs(float(row["hp_decimal"]) - wanted) < 1e-3:
            return row
    raise NotFound("motor size", str(hp), near=tuple(row["hp"] for row in table("motors")))


def _hp(hp: str | float) -> float:
    if isinstance(hp, int | float):
        return float(hp)
    try:
        return float(sum(Fraction(part) for part in hp.replace(" ", "-").split("-") if part))
    except (ValueError, ZeroDivisionError):
        raise InputError(f"horsepower {hp!r}", hint='Write it as "1/3", "1-1/2" or 5.') from None


def _column(volts_v: float) -> str:
    for low_v, high_v, name in ((110, 120, "115v"), (200, 210, "208v"), (220, 240, "230v")):
        if low_v <= volts_v <= high_v:
            return name
    raise NotFound("motor voltage", f"{volts_v:g} V", near=("115", "208", "230"))
