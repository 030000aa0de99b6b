"""The card as print-ready HTML: one page, Letter or A4, no script, nothing from outside."""

from __future__ import annotations

from importlib.resources import files

from loadlib_standby.card import Card

__all__ = ["as_html"]

_ROOM_PT = 553.0
"""Lines times letter size that fill a page, some 4 % kept free; found by printing cards of 8
to 28 steps on both papers."""


def as_html(card: Card, *, paper: str = "") -> str:
    """The page. ``paper`` is ``"letter"``, ``"A4"`` or empty for the printer's own.

    The letter size follows from how much there is to say, so that it stays one page.
    """
    from jinja2 import Environment

    environment = Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True)
    template = environment.from_string(
        files("loadlib_standby").joinpath("card.html.j2").read_text(encoding="utf-8")
    )
    columns = 2 if len(card.steps) > 14 else 1
    return template.render(card=card, paper=paper, columns=columns, size_pt=_size_pt(card, columns))


def _size_pt(card: Card, columns: int) -> float:
    """Letter size for the page: 12 pt for little text, never below 6 pt."""
    return round(max(6.0, min(12.0, _ROOM_PT / _lines(card, columns))), 2)


def _lines(card: Card, columns: int) -> float:
    """Rough number of lines at full width."""
    one = 1.45 if columns == 1 else 1.9  # names wrap in the narrow columns
    step_lines = (len(card.steps) * one + 1.5 * sum(bool(s.before) for s in card.steps)) / columns
    rows = (card.never, card.swaps, card.turns, (", ".join(card.unconnected),))
    side = sum(_wrapped(row, 40) for row in rows)
    other = _wrapped(card.trips, 40) + _wrapped(card.fuel, 40) + len(card.back) + 4
    return (
        _wrapped(card.cautions, 85) * 1.2
        + (len(card.before) + 1) / 1.0
        + step_lines
        + 1.6 * bool(card.doubt)
        + max(side, other)
        + _wrapped(card.notes, 85)
        + 8
    )


def _wrapped(items: tuple[str, ...], width: int) -> float:
    return float(sum(1 + len(item) // width for item in items))
