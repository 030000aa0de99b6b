"""Heating against cooling: which of them the standard calculation counts (220.60)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loadlib_service.dwelling import Dwelling, Heating, Item
from loadlib_service.parts import largest_motor, quantity_of

__all__ = ["Season", "cooling_items", "seasons"]


@dataclass(frozen=True, slots=True)
class Season:
    """One alternative: its name, items that run in it, VA, and in words how they add up."""

    name: str
    items: tuple[Item, ...]
    quantity: str

    @property
    def va(self) -> float:
        """Connected load at 100 %. [VA]"""
        return sum(i.total_va for i in self.items)


def _words(items: Sequence[Item]) -> str:
    return "; ".join(f"{i.name} {quantity_of(i)}" for i in items) or "none"


def heating_items(heating: Sequence[Heating]) -> tuple[Item, ...]:
    """Everything that can run at once for heating."""
    return tuple(i for h in heating for i in h.running())


def cooling_items(dwelling: Dwelling) -> tuple[Item, ...]:
    """Air conditioning, and heat pumps without their supplementary heat."""
    pumps = tuple(i for h in dwelling.heating if h.kind == "heat pump" for i in h.items)
    return (*dwelling.cooling, *pumps)


def seasons(dwelling: Dwelling) -> tuple[Season, Season]:
    """Heating and cooling as the two alternatives."""
    heat, cool = heating_items(dwelling.heating), cooling_items(dwelling)
    return Season("heating", heat, _words(heat)), Season("cooling", cool, _words(cool))


def chosen_season(
    dwelling: Dwelling, others: Sequence[Item], motor_share: float
) -> tuple[Season, Season]:
    """(counted, omitted): the alternative that gives the larger total with its motor addition.

    Each alternative is worked through whole, with 25 % of the largest motor among what
    runs in it, so that a compressor is weighed with its addition.
    """

    def total(season: Season) -> float:
        motor = largest_motor((*others, *season.items))
        return season.va + (motor_share * motor.largest_motor_va if motor else 0.0)

    heat, cool = seasons(dwelling)
    return (heat, cool) if total(heat) >= total(cool) else (cool, heat)
