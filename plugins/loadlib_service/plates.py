"""Nameplates from the text of a rating label, as typed while walking through a house."""

from __future__ import annotations

from dataclasses import replace

from loadlib import InputError, RatingLabel, read_label
from loadlib_service.dwelling import Item, item

__all__ = ["item_from_label"]


def item_from_label(
    name: str,
    text: str,
    *,
    volts: float | None = None,
    count: int = 1,
    legs: str = "",
    motor: bool | None = None,
) -> tuple[Item, tuple[str, ...]]:
    """The item that a label states, and what the reader is not sure of.

    Input watts or VA as printed come first; then rated-load plus fan amperes of an
    air conditioner, full-load or plain amperes, times volts; then horsepower by Table 430.248.
    ``volts`` stands above the label's. Raises InputError where the text is no load, states
    no volts, or states only circuit limits (minimum ampacity, maximum fuse).
    """
    label = read_label(text)
    if label.refused is not None:
        raise InputError(f"{name}: {label.refused}", hint=f"Label as typed: {text}")
    supply_v = volts or label.volts
    figure = _figure(label)
    if figure is None:
        raise InputError(
            f"{name}: the label states no input that is a load: {text!r}",
            hint="Circuit ampacity and fuse size are limits of the circuit. Read watts, VA or "
            "the rated amperes.",
        )
    kind, amount = figure
    if supply_v is None:
        if kind in ("amps", "hp"):
            raise InputError(f"{name}: amperes or hp without volts", hint="Add volts.")
        supply_v = 240.0
    one = item(
        name,
        volts=supply_v,
        count=count,
        legs=legs,
        motor=motor if motor is not None else _is_motor(label),
        **{kind: amount},  # type: ignore[arg-type]  # va, w, amps or hp, all numbers
    )
    if label.rla is not None and label.fla is not None:
        # Compressor and fan stand apart on the plate: only the compressor is its largest motor.
        basis = f"({label.rla:g} + {label.fla:g}) A × {supply_v:g} V"
        one = replace(one, motor_va=label.rla * supply_v, basis=basis)
    return one, tuple(f"{name}: {doubt}" for doubt in label.doubts)


def _is_motor(label: RatingLabel) -> bool:
    return any(x is not None for x in (label.rla, label.lra, label.fla, label.sfa, label.hp))


def _figure(label: RatingLabel) -> tuple[str, float] | None:
    """What of the label is calculated with: its kind and amount."""
    if label.rla is not None:
        return "amps", label.rla + (label.fla or 0.0)
    for kind, amount in (
        ("va", label.va),
        ("w", label.watts),
        ("amps", label.fla),
        ("amps", label.amps),
        ("amps", label.sfa),
        ("hp", label.hp),
    ):
        if amount is not None and amount > 0.0:
            return kind, amount
    return None
