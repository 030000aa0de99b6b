"""A reading in plain sentences, for a terminal on a phone."""

from __future__ import annotations

import textwrap

from loadlib.labels.bounds import running_a_bounds, start_va, upper_bound_va
from loadlib.labels.rating import LabelPart, RatingLabel

__all__ = ["COLUMNS", "explain"]

COLUMNS = 45

_ROLE_WORDS = {
    "output": "Output, not load",
    "dc": "Low-voltage side",
    "peak": "Peak",
    "bound": "Bound only",
    "equivalent": "Only a comparison",
    "capacity": "Capacity, not electric",
    "shaft": "Shaft power, not input",
    "option": "With soft starter",
}


def explain(label: RatingLabel) -> list[str]:
    """Lines of at most 45 columns that say how the label was read.

    A long sentence goes over several lines, those after the first set in by two blanks.

    Examples
    --------
    >>> from loadlib.labels import read_label
    >>> explain(read_label("115V 6.5A"))
    ['Supply: 115 V.', 'Label says 6.5 A, at most 748 VA.']
    """
    if label.refused is not None:
        return _wrap([_sentence("Not a load", label.refused.removesuffix(", not a load"))])
    sentences = [
        *_supply(label),
        *_power(label),
        *_ratios(label),
        *_running(label),
        *_start(label),
        *_circuit(label),
        *_energy(label),
        *[_part(part) for part in label.parts],
        *[_sentence("Doubt", doubt) for doubt in label.doubts],
    ]
    if label.ask:
        sentences.append("Please check this one.")
    return _wrap(sentences)


def _wrap(sentences: list[str]) -> list[str]:
    lines: list[str] = []
    for sentence in sentences:
        lines += textwrap.wrap(sentence, COLUMNS, subsequent_indent="  ", break_on_hyphens=False)
    return lines


def _sentence(head: str, text: str) -> str:
    return f"{head}: {text}" if text.endswith("?") else f"{head}: {text}."


def _number(value: float) -> str:
    """Thousands set off; no more digits than a plate has."""
    if abs(value) >= 1000.0:
        return f"{value:,.0f}"
    return f"{value:.4g}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _supply(label: RatingLabel) -> list[str]:
    words = []
    if label.volts is not None:
        words.append(f"{_number(label.volts)} V")
    elif label.wide_range:
        words.append(f"{_number(label.volts_printed[0])} to {_number(label.volts_printed[-1])} V")
    elif label.volts_printed:
        words.append(" or ".join(f"{_number(v)} V" for v in label.volts_printed))
    if label.phases is not None:
        words.append({1: "one phase", 3: "three phases"}.get(label.phases, ""))
    if isinstance(label.hz, tuple):
        words.append("/".join(_number(value) for value in label.hz) + " Hz")
    elif label.hz is not None:
        words.append(f"{_number(label.hz)} Hz")
    return [f"Supply: {', '.join(words)}."] if words else []


def _power(label: RatingLabel) -> list[str]:
    stated = []
    if label.watts is not None:
        stated.append(f"{_number(label.watts)} W")
    if label.amps is not None:
        stated.append(f"{_number(label.amps)} A")
    bound = upper_bound_va(label)
    if label.va is not None:
        stated.append(f"{_number(label.va)} VA")
    elif bound is not None and (label.amps is not None or not _named_amps(label)):
        stated.append(f"at most {bound:,.0f} VA")
    says = label.watts is not None or label.amps is not None or label.va is not None
    sentences = [f"Label says {', '.join(stated)}."] if says else []
    if label.hp is not None:
        sentences.append(f"Shaft power {label.hp:.3g} hp; it draws more.")
    if label.btu_h is not None:
        sentences.append(f"Cooling or fuel {_number(label.btu_h)} BTU/h, not electric power.")
    return sentences


def _ratios(label: RatingLabel) -> list[str]:
    named = (("Power factor", label.power_factor), ("EER", label.eer))
    return [f"{name} {_number(value)}." for name, value in named if value is not None]


def _named_amps(label: RatingLabel) -> list[str]:
    named = (
        ("compressor", label.rla),
        ("full load" if label.rla is None else "fan", label.fla),
        ("service-factor load", label.sfa),
    )
    return [f"{name} {_number(value)} A" for name, value in named if value is not None]


def _running(label: RatingLabel) -> list[str]:
    words = _named_amps(label)
    sentences = [_capital(", ".join(words)) + "."] if words else []
    bounds = running_a_bounds(label)
    if bounds is not None and bounds.low_a < bounds.high_a:
        sentences.append(f"Runs at {bounds.low_a:.1f} to {bounds.high_a:.1f} A, rated.")
    most = upper_bound_va(label)
    if words and most is not None and label.amps is None:
        sentences.append(f"Running: at most {most:,.0f} VA.")
    return sentences


def _start(label: RatingLabel) -> list[str]:
    sentences = []
    if label.lra is not None:
        sentences.append(f"Start, rotor locked: {_number(label.lra)} A.")
    surge = start_va(label)
    if surge is not None and surge.is_exact:
        sentences.append(f"Start: {surge.typical:,.0f} VA for a moment.")
    elif surge is not None:
        sentences.append(f"Start: {surge.low:,.0f} to {surge.high:,.0f} VA (code letter).")
    return sentences


def _circuit(label: RatingLabel) -> list[str]:
    words = []
    if label.mca is not None:
        words.append(f"wire for at least {_number(label.mca)} A")
    if label.mocp is not None:
        words.append(f"breaker at most {_number(label.mocp)} A")
    if not words:
        return []
    return [_capital(", ".join(words)) + "; neither is what it draws."]


def _energy(label: RatingLabel) -> list[str]:
    if label.kwh_per_year is not None:
        mean_w = label.kwh_per_year / 8.76
        return [f"{_number(label.kwh_per_year)} kWh a year, {mean_w:.0f} W on average."]
    if label.kwh_per_cycle is not None:
        return [f"{label.kwh_per_cycle:.3g} kWh a cycle."]
    return []


def _part(part: LabelPart) -> str:
    head = _ROLE_WORDS.get(part.role)
    if part.role == "voltage":
        head = "Connected otherwise"
    elif head is None and part.role == "circuit":
        head = f"Circuit {part.name}"
    elif head is None:
        head = (part.name or part.role).capitalize()
    values = (
        (part.volts, "{} V"), (part.watts, "{} W"), (part.amps, "{} A"), (part.va, "{} VA"),
        (part.hp, "{} hp"), (part.rla, "{} A rated load"), (part.fla, "{} A full load"),
        (part.sfa, "{} A service factor"), (part.lra, "{} A at start"),
        (part.mca, "wire for at least {} A"), (part.mocp, "breaker at most {} A"),
        (part.btu_h, "{} BTU/h"), (part.eer, "EER {}"),
    )  # fmt: skip
    stated = [words.format(_number(value)) for value, words in values if value is not None]
    return f"{head}: {', '.join(stated)}."
