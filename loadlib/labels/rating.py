"""What a rating label states: plain data, nothing computed that was not printed."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["LabelPart", "RatingLabel"]


@dataclass(frozen=True, slots=True)
class LabelPart:
    """A further rating on the plate.

    ``role`` is one of: voltage (another connection, or the lower figure of a pair), part,
    mode, output, dc, circuit, option, peak, bound (a limit that is no load), equivalent,
    capacity, shaft, slip. ``name`` says which ("heater", "defrost", "B"). Under the roles
    output and dc the electrical figures are those of that side.
    """

    role: str
    name: str | None = None
    volts: float | None = None
    amps: float | None = None
    watts: float | None = None
    va: float | None = None
    hp: float | None = None
    rla: float | None = None
    lra: float | None = None
    fla: float | None = None
    sfa: float | None = None
    mca: float | None = None
    mocp: float | None = None
    btu_h: float | None = None
    eer: float | None = None


@dataclass(frozen=True, slots=True)
class RatingLabel:
    """The electrical facts of one rating label; None where the text does not state it.

    Attributes
    ----------
    text : the label as typed.
    volts : supply voltage, the higher of a pair within one level. [V]
    volts_printed : every printed AC voltage, rising; empty if none. [V]
    wide_range : True where the voltages span several countries' levels (100-240 V), so that
        the home decides and ``volts`` is None.
    amps : a current without a letter name. [A]
    watts : input power as printed; never volts times amps, never shaft power. [W]
    va : apparent power as printed; never volts times amps. [VA]
    hp : shaft power. [hp]
    rla, lra, fla, sfa : rated-load, locked-rotor, full-load, service-factor amps. [A]
    mca, mocp : minimum circuit ampacity; maximum overcurrent protection. [A]
    btu_h : cooling capacity or fuel heat, never electrical. [BTU/h]
    eer : energy efficiency ratio. [BTU/h per W]
    hz : one frequency, or a tuple of those printed. [Hz]
    phases : 1 or 3.
    power_factor, efficiency : shares. [-]
    service_factor : overload factor of a motor. [-]
    code_letter : locked-rotor code letter of NEC Table 430.7(B).
    kwh_per_year, kwh_per_cycle : energy-label figures. [kWh]
    parts : further ratings on the plate.
    doubts : what the reader is not sure of, in plain words.
    ask : True where a sensible reader asks the person who typed it.
    refused : None, or why this text is no load.
    """

    text: str
    volts: float | None = None
    volts_printed: tuple[float, ...] = ()
    wide_range: bool = False
    amps: float | None = None
    watts: float | None = None
    va: float | None = None
    hp: float | None = None
    rla: float | None = None
    lra: float | None = None
    fla: float | None = None
    sfa: float | None = None
    mca: float | None = None
    mocp: float | None = None
    btu_h: float | None = None
    eer: float | None = None
    hz: float | tuple[float, ...] | None = None
    phases: int | None = None
    power_factor: float | None = None
    efficiency: float | None = None
    service_factor: float | None = None
    code_letter: str | None = None
    kwh_per_year: float | None = None
    kwh_per_cycle: float | None = None
    parts: tuple[LabelPart, ...] = ()
    doubts: tuple[str, ...] = ()
    ask: bool = False
    refused: str | None = None
