"""Load to be added, and what it does to each method: before, after, headroom, hold-off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loadlib import InputError
from loadlib_service.dwelling import Cooking, Dryer, Dwelling, Heating, Item
from loadlib_service.tables import constant, has_constant

__all__ = ["ADDED_KINDS", "AddedLoad", "hvac_among", "with_added"]

ADDED_KINDS = (
    "appliance",
    "charger",
    "cooking",
    "cooling",
    "dryer",
    "heat pump",
    "heating",
    "motor",
)


@dataclass(frozen=True, slots=True)
class AddedLoad:
    """A load that is not there yet: what kind, its nameplate, its supplementary heat if any."""

    kind: str
    item: Item
    supplementary: tuple[Item, ...] = ()

    def __post_init__(self) -> None:
        if self.kind not in ADDED_KINDS:
            raise InputError(
                f"{self.item.name}: kind {self.kind!r}",
                hint="One of: " + ", ".join(ADDED_KINDS) + ".",
            )

    @property
    def continuous(self) -> bool:
        """Chargers are continuous by rule; other loads when the item says so."""
        return self.kind == "charger" or self.item.continuous

    def plate_va(self, edition: str) -> float:
        """Nameplate, and for a charger the least that the edition asks for. [VA]"""
        each = self.item.va
        if self.kind == "charger" and has_constant("evse_floor_va", edition):
            each = max(each, constant("evse_floor_va", edition).amount)
        return each * self.item.count + sum(i.total_va for i in self.supplementary)

    def demand_va(self, edition: str) -> float:
        """The load whole, with 125 % once where it is continuous. [VA]"""
        extra = constant("continuous_extra_share", edition).amount if self.continuous else 0.0
        return self.plate_va(edition) * (1.0 + extra)

    def quantity(self, edition: str) -> str:
        """``demand_va`` in words."""
        words = f"{self.plate_va(edition):,.0f} VA ({self.item.basis})"
        return words + (" × 125 %" if self.continuous else "")


def hvac_among(added: Sequence[AddedLoad]) -> bool:
    """Whether heating or cooling is among the additions (220.83: (B) then)."""
    return any(load.kind in ("cooling", "heating", "heat pump") for load in added)


def with_added(dwelling: Dwelling, added: Sequence[AddedLoad]) -> Dwelling:
    """The dwelling with the added loads among its facts."""

    def items(kind: str) -> tuple[Item, ...]:
        return tuple(load.item for load in added if load.kind == kind)

    heating = tuple(
        Heating(
            kind="heat pump" if load.kind == "heat pump" else "separate",
            items=(load.item,),
            units=1 if load.kind == "heat pump" else load.item.count,
            supplementary=load.supplementary,
        )
        for load in added
        if load.kind in ("heating", "heat pump")
    )
    return dwelling.with_(
        appliances=dwelling.appliances + items("appliance"),
        motors=dwelling.motors + items("motor"),
        cooling=dwelling.cooling + items("cooling"),
        evse=dwelling.evse + items("charger"),
        heating=dwelling.heating + heating,
        cooking=dwelling.cooking + tuple(Cooking(i.va, i.count, i.name) for i in items("cooking")),
        dryers=dwelling.dryers + tuple(Dryer(i.va, i.count, i.name) for i in items("dryer")),
    )
