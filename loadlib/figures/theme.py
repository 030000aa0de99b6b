"""Colours by what they mean, light and dark.

A figure is drawn in the light colours; each becomes a class as well, so that a style sheet
can give the dark ones. Every light colour is used for one role only: that is how ``svg``
finds the role again. Contrast with the paper is held by a test (WCAG 2.2, 1.4.3 and 1.4.11:
4.5 for letters, 3 for lines and marks that carry meaning).
"""

from __future__ import annotations

__all__ = ["CSS", "HEAT", "MONTHS", "PAPER", "ROLES", "role_of"]

PAPER = ("#fbf9f4", "#191713")
"""Light and dark background that the colours are made for."""

ROLES: dict[str, tuple[str, str]] = {
    "ink": ("#22201c", "#ece6da"),
    "muted": ("#5d574d", "#b8b0a1"),
    "rule": ("#d8d2c4", "#413c34"),
    "main": ("#23527c", "#8fc0ea"),
    "band": ("#c3d5e6", "#2c4761"),
    "accent": ("#9a3b12", "#f0a47a"),
    "second": ("#e9c9b4", "#6b3a20"),
    "third": ("#dcd5bd", "#5a5337"),
    "heat0": ("#f1ecdf", "#23272b"),
    "heat1": ("#dde3de", "#28343f"),
    "heat2": ("#bdd1d8", "#2d4253"),
    "heat3": ("#93b8cb", "#345268"),
    "heat4": ("#6b9fbf", "#3d637f"),
    "heat5": ("#2f6790", "#8fb9d8"),
    "heat6": ("#153b60", "#dcebf6"),
    "on-low": ("#201e1a", "#f2eee6"),
    "on-high": ("#fffdf8", "#12100d"),
}

HEAT = tuple(f"heat{step}" for step in range(7))
"""Steps of a heat map, from least to most; ``on-high`` is written on the last two."""

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

_BY_COLOUR = {light: role for role, (light, _) in ROLES.items()}


def light(role: str) -> str:
    """The light colour of a role, as drawn."""
    return ROLES[role][0]


def role_of(colour: str) -> str | None:
    """The role that a drawn colour stands for."""
    return _BY_COLOUR.get(colour.lower())


def _rules() -> str:
    # No ancestor in the selectors: they must match inside the copies that <use> makes, too.
    return "".join(
        f".ll-f-{role}{{fill:{dark}}}.ll-s-{role}{{stroke:{dark}}}"
        for role, (_, dark) in ROLES.items()
    )


CSS = f"@media screen and (prefers-color-scheme:dark){{{_rules()}}}"
"""Style sheet for the figures of a page: the dark colours, on a screen only, never in print."""
