"""What an instrument shows and what is true: splitters, turns, accuracy, displays, pulses.

Meter displays, plug-in meters and the source's own display come first. A clamp on conductors
of a panel is for a qualified person, and one around a whole cable reads close to nothing.
"""

from __future__ import annotations

from loadlib_standby.engine import InputError, Range

__all__ = ["conductor_a", "dropped_w", "instrument_band", "pulse_w"]


def conductor_a(shown_a: float, turns: float = 1.0) -> float:
    """Current in one conductor behind ``shown_a`` [A]: the wire goes ``turns`` times through
    the jaw, or a line splitter multiplies by ``turns``. [A]

    >>> conductor_a(85.0, 10), conductor_a(16.5, 5)
    (8.5, 3.3)
    """
    if turns < 1.0:
        raise InputError(f"{turns:g} turns", hint="One turn is a plain clamp.")
    return shown_a / turns


def instrument_band(
    reading: float, share: float, digits: float = 0.0, digit: float = 0.0
) -> tuple[float, float]:
    """Ends of the true value behind a reading, same unit: ± (``share`` of it + ``digits``
    counts of the last ``digit``), as data sheets state accuracy. The low end is not below 0.

    >>> instrument_band(8.4, 0.02, 5, 0.1)
    (7.732, 9.068)
    """
    if min(share, digits, digit) < 0.0 or share > 0.5:
        raise InputError(f"a band of {share:.0%} + {digits:g} digits of {digit:g}")
    half = abs(reading) * share + digits * digit
    return max(round(reading - half, 9), 0.0), round(reading + half, 9)


def dropped_w(before_w: float, after_w: float, digit_w: float = 0.0) -> Range:
    """What one breaker carried: a display before and after it was switched off. [W]

    ``before_w`` [W], ``after_w`` [W]; ``digit_w`` [W] is the last digit of the display. Each
    figure may be half a digit off, so the ends lie one digit from the difference.

    >>> dropped_w(2840, 1910, 10)
    Range(low=920.0, typical=930.0, high=940.0)
    """
    if after_w > before_w:
        raise InputError(
            f"{after_w:g} W after the breaker, {before_w:g} W before it",
            hint="Something else came on in between: read both again.",
        )
    drop = float(before_w - after_w)
    return Range(max(drop - digit_w, 0.0), drop, drop + digit_w)


def pulse_w(pulse_wh: float, pulses: float, seconds_s: float) -> float:
    """Mean power from counted flashes or disc turns over ``seconds_s`` [s]. [W]

    ``pulse_wh`` [Wh] is the energy of one: 1000 over the printed imp/kWh, or the disc's Kh.

    >>> pulse_w(7.2, 10, 36), pulse_w(1000 / 1000, 20, 60)
    (7200.0, 1200.0)
    """
    if seconds_s <= 0.0 or pulse_wh <= 0.0 or pulses < 0.0:
        raise InputError(f"{pulses:g} pulses of {pulse_wh:g} Wh in {seconds_s:g} s")
    return 3600.0 * pulse_wh * pulses / seconds_s
