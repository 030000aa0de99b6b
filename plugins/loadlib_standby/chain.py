"""The chain from source to panel: every limit printed, the smallest one named."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from loadlib_standby.engine import InputError
from loadlib_standby.legs import CONTINUOUS_SHARE
from loadlib_standby.source import Cord, Generator, Source, Supply
from loadlib_standby.tables import find, number
from loadlib_standby.wire import Drop, cord_ampacity_a, ohm_per_kft, voltage_drop

__all__ = [
    "Chain",
    "Link",
    "chain_of",
    "cord_drop",
    "cord_link",
    "cord_links",
    "outlet_link",
    "smallest",
    "within",
]


@dataclass(frozen=True, slots=True)
class Link:
    """One limit: amps per leg at the supply's volts. ``continuous_a`` holds it to 80 %.

    ``runs_full`` is true for a source's own rating, which is meant for running.
    """

    name: str
    limit_a: float
    leg_v: float
    legs: int
    words: str = ""
    runs_full: bool = False

    @property
    def limit_va(self) -> float:
        """What it carries over all legs. [VA]"""
        return self.limit_a * self.leg_v * self.legs

    @property
    def continuous_a(self) -> float:
        """Amps per leg for load of three hours or more. [A]"""
        return self.limit_a * (1.0 if self.runs_full else CONTINUOUS_SHARE)

    @property
    def continuous_va(self) -> float:
        """What it carries continuously over all legs. [VA]"""
        return self.continuous_a * self.leg_v * self.legs


@dataclass(frozen=True, slots=True)
class Chain:
    """The links in order from source to panel."""

    links: tuple[Link, ...]

    @property
    def smallest(self) -> Link:
        """The link that governs."""
        return smallest(self.links)

    @property
    def limit_a(self) -> float:
        """Amps per leg that every link carries. [A]"""
        return self.smallest.limit_a

    @property
    def continuous(self) -> Link:
        """The link that governs continuous load."""
        return min(self.links, key=lambda link: link.continuous_a)


def smallest(links: Sequence[Link]) -> Link:
    """The link with the least amps; the first of equals."""
    if not links:
        raise InputError("a chain without links")
    return min(links, key=lambda link: link.limit_a)


def within(links: Sequence[Link], legs_a: Sequence[float]) -> tuple[bool, bool]:
    """Whether ``legs_a`` [A] stay within every link: at an instant, and continuously."""
    worst = max(legs_a, default=0.0)
    return worst <= min(x.limit_a for x in links), worst <= min(x.continuous_a for x in links)


def chain_of(source: Source) -> Chain:
    """Every limit of a source's way into the panel.

    Cords-only use has a chain per outlet instead; see ``feed``.
    """
    supply, carrier = source.supply, source.carrier
    share = source.remaining_share
    rated_a = carrier.leg_a or carrier.running_w / (supply.legs * supply.leg_v)
    whole_a = source.running_w / (supply.legs * supply.leg_v)
    words = f"{source.running_w:,.0f} W" + (f" after derating to {share:.0%}" if share < 1 else "")
    links = [
        Link("source, running", min(rated_a, whole_a), supply.leg_v, supply.legs, words, True),
    ]
    if isinstance(carrier, Generator) and carrier.breaker_a:
        links.append(_plain("breaker of the source", carrier.breaker_a, supply))
    if carrier.outlet:
        links.append(outlet_link(carrier.outlet, supply))
    if source.cord:
        links.append(cord_link(source.cord, supply))
    if source.inlet_a:
        links.append(_plain("inlet", source.inlet_a, supply))
    if source.panel_breaker_a:
        links.append(_plain("panel breaker", source.panel_breaker_a, supply))
    return Chain(tuple(links))


def cord_links(source: Source) -> tuple[Link, ...]:
    """Cords-only use: the source's own rating, then each outlet and its cord."""
    supply = source.supply
    rated_a = source.running_w / (supply.legs * supply.leg_v)
    words = f"{source.running_w:,.0f} W"
    links = [Link("source, running", rated_a, supply.leg_v, supply.legs, words, True)]
    for outlet in source.outlets:
        there = Supply(1, outlet.volts_v, outlet.volts_v)
        links.append(_plain(f"outlet {outlet.name}", outlet.rating_a, there))
        if outlet.cord:
            links.append(replace(cord_link(outlet.cord, there), name=f"cord of {outlet.name}"))
    return tuple(links)


def outlet_link(configuration: str, supply: Supply) -> Link:
    """The limit of an outlet or inlet by its configuration name (NEMA WD-6)."""
    row = find("receptacles", "outlet", "configuration", configuration)
    volts_v = number(row, "nominal_v", "volts")
    if abs(volts_v - supply.line_v) > 0.15 * supply.line_v:
        raise InputError(
            f"outlet {configuration} is for {volts_v:g} V, the source gives {supply.line_v:g} V",
            hint="Check the outlet's name or the supply of the source.",
        )
    if supply.legs == 2 and row["neutral"] == "no":
        raise InputError(
            f"outlet {configuration} has no neutral and cannot feed a 120/240 V panel",
            hint="A panel with 120 V circuits needs a four-pin outlet.",
        )
    return _plain(f"outlet {row['configuration']}", number(row, "rated_a", "amps"), supply)


def cord_link(cord: Cord, supply: Supply) -> Link:
    """The limit of a cord: Table 400.5(A)(1), neutral not counted on split phase."""
    counted = 3 if supply.legs == 3 or (supply.legs == 2 and supply.line_v == 208.0) else 2
    words = f"{cord.gauge} AWG, {cord.length_ft:.0f} ft, {counted} conductors counted"
    limit_a = cord_ampacity_a(cord.gauge, carrying=counted)
    return Link("cord", limit_a, supply.leg_v, supply.legs, words)


def cord_drop(
    cord: Cord, amps_a: float, volts_v: float, *, temperature_c: float = 75.0, phases: int = 1
) -> Drop:
    """Voltage lost on a cord at ``amps_a`` [A], fed with ``volts_v`` [V].

    Stranded copper of Table 8 at ``temperature_c`` [°C]; 75 °C is the warm end.
    """
    ohms = ohm_per_kft(cord.gauge, temperature_c=temperature_c)
    return voltage_drop(ohms, cord.length_ft, amps_a, volts_v, phases=phases)


def _plain(name: str, limit_a: float, supply: Supply) -> Link:
    return Link(name, limit_a, supply.leg_v, supply.legs)
