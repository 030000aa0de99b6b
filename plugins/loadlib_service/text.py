"""Worksheets and comparisons as plain text, readable on a narrow terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from loadlib_service.compare import Comparison
from loadlib_service.worksheet import AUTHORITY, Line, Worksheet

__all__ = ["comparison_lines", "worksheet_lines"]


def _wrap(text: str, width: int, indent: str = "") -> list[str]:
    return textwrap.wrap(text, width, initial_indent=indent, subsequent_indent=indent) or [indent]


def _entry(line: Line, width: int) -> Iterator[str]:
    amount = f"{line.va:,.0f}" if line.counted else f"({line.va:,.0f})"
    mark = " †" if line.doubts else ""
    head = _wrap(line.text + mark, width - 11)
    yield f"{head[0]:<{width - 11}}{amount:>11}"
    yield from head[1:]
    parts = [p for p in (line.quantity, line.rule, line.section) if p]
    if line.counted:
        parts.append(f"subtotal {line.subtotal_va:,.0f}")
    yield from _wrap(" · ".join(parts), width, "    ")


def _block(title: str, texts: tuple[str, ...], width: int) -> Iterator[str]:
    if texts:
        yield title
        for text in texts:
            wrapped = textwrap.wrap(text, width, initial_indent="- ", subsequent_indent="  ")
            yield from wrapped


def worksheet_lines(sheet: Worksheet, width: int = 80) -> list[str]:
    """One worksheet: facts, lines in VA, legs, ratings, neutral, choices, doubts."""
    told = _wrap(f"{sheet.title}: NFPA 70 (NEC) {sheet.edition}, {sheet.section}", width)
    for label, text in sheet.facts:
        told += _wrap(f"{label}: {text}", width)
    told += ["", f"{'':<{width - 11}}{'VA':>11}"]
    for line in sheet.lines:
        told += _entry(line, width)
    told += [f"{'TOTAL':<{width - 11}}{sheet.total_va:>11,.0f}", ""]
    if sheet.leg_lines:
        told.append("Leg by leg, A: " + ", ".join(leg for leg, _ in sheet.legs_a) + ", neutral")
        for entry in sheet.leg_lines:
            amps = "".join(f"{a:8.1f}" for a in (*entry.legs_a, entry.neutral_a))
            first, *rest = textwrap.wrap(entry.text, width - len(amps) - 2)
            told.append(f"{amps}  {first}")
            told += [" " * (len(amps) + 2) + line for line in rest]
    told.append("Legs: " + ", ".join(f"{leg} {amps:,.1f} A" for leg, amps in sheet.legs_a))
    told.append(f"Next standard rating: {sheet.next_rating_a:,.0f} A")
    if sheet.service_rating_a != sheet.next_rating_a:
        told.append(f"Least rating of a one-family service: {sheet.service_rating_a:,.0f} A")
    if sheet.neutral_lines and sheet.neutral_va is not None and sheet.neutral_a is not None:
        told += ["", "Neutral"]
        for line in sheet.neutral_lines:
            told += _entry(line, width)
        told.append(f"Neutral: {sheet.neutral_va:,.0f} VA, {sheet.neutral_a:,.1f} A")
    told.append("")
    told += _block("Choices and assumptions", sheet.choices, width)
    told += _block("† and not seen in the text of this edition", sheet.doubts, width)
    return told


def comparison_lines(found: Comparison, width: int = 80) -> list[str]:
    """Worksheets (with the added load), the methods beside each other, the difference in words.

    The worksheets before the added load are on the printed page and in the JSON.
    """
    told: list[str] = []
    for row in found.rows:
        label = ", with the added load" if len(row.sheets) > 1 else ""
        told += [f"== {row.method}{label} ==", *worksheet_lines(row.sheets[-1], width), ""]
    told.append(f"Methods beside each other, NFPA 70 (NEC) {found.edition}")
    for row in found.rows:
        text = f"{row.method} ({row.section}): {row.new_va:,.0f} VA, {row.new_a:,.1f} A"
        if len(row.sheets) > 1:
            text = (
                f"{row.method} ({row.section}): before {row.old_va:,.0f} VA, {row.old_a:,.1f} A; "
                f"after {row.new_va:,.0f} VA, {row.new_a:,.1f} A"
            )
        if row.headroom_a is not None:
            left = "left of" if row.headroom_a >= 0 else "above"
            text += f"; {abs(row.headroom_a):,.1f} A {left} {found.service_a:g} A"
        told += _wrap(text, width)
        if row.hold_off:
            told += _wrap(row.hold_off, width, "    ")
    for name, why in found.refused:
        told += _wrap(f"{name}: not used. {why}", width)
    told.append("")
    for text in found.words:
        told += _wrap(text, width)
    told.append("")
    cautions = [c for row in found.rows for sheet in row.sheets for c in sheet.cautions]
    told += _block("CAUTION", tuple(dict.fromkeys((*AUTHORITY, *cautions))), width)
    return told
