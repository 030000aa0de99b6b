"""Feed: how the source meets the house. Places with a limit, and what each load puts on them.

A place is a leg, or the one leg of a 120 V source, or an outlet in cords-only use. Voltage
comes before watts: a load that the source cannot feed at all is ``blocked`` with the reason.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from loadlib_standby.chain import Chain, Link, chain_of, cord_link
from loadlib_standby.engine import InputError, Load, LoadProfile, NotFound, System, neutral_a
from loadlib_standby.engine import system as system_named
from loadlib_standby.source import SUPPLIES, Outlet, Source, Supply

__all__ = ["Feed", "Place", "feed_of"]


@dataclass(frozen=True, slots=True)
class Place:
    """A leg or outlet: its volts, amps for running, and amps for a start of seconds."""

    name: str
    volts_v: float
    running_a: float
    starting_a: float
    link: str = ""


@dataclass(frozen=True, slots=True)
class Feed:
    """Limits of the whole and of each place, and the loads as the source sees them.

    ``loads`` have ``leg_share`` over ``places``; ``blocked`` maps ids of loads that cannot be
    fed to the reason; ``unwired`` those of them that are merely not on a cord or on the
    transfer equipment. ``running_w`` and ``starting_w`` are derated and held to the chain.
    """

    source: Source
    house: str
    system: System
    running_w: float
    starting_w: float
    places: tuple[Place, ...]
    loads: tuple[Load, ...]
    blocked: dict[str, str]
    chain: Chain | None
    notes: tuple[str, ...] = field(default=())
    unwired: frozenset[str] = frozenset()

    def amps_per_va(self, load: Load) -> tuple[float, ...]:
        """Amps on each place per VA of the load. [A/VA]"""
        wye = load.line_to_line and sum(share > 0 for share in load.leg_share) == 2
        factor = 2.0 * self.system.leg_v / self.system.line_v if wye else 1.0
        return tuple(
            share * factor / place.volts_v
            for share, place in zip(load.leg_share, self.places, strict=True)
        )

    def neutral(self, legs_a: tuple[float, ...]) -> float:
        """Neutral current of line-to-neutral currents; their sum on a single leg. [A]"""
        if len(legs_a) == len(self.system.legs) and len(legs_a) > 1:
            return neutral_a(self.system, legs_a)
        return sum(legs_a)


def feed_of(profile: LoadProfile, source: Source, loads: tuple[Load, ...]) -> Feed:
    """Join a source and a house.

    Raises InputError when the source's system is another one than the house's, and NotFound
    for a circuit or load named in the source file that the house lacks.
    """
    if source.connection == "cords":
        return _cords_feed(profile, source, loads)
    house, supply = profile.supply, source.supply
    if source.carrier.supply == profile.system:
        feed = _legs_feed(profile, source, loads)
    elif supply.legs == 1 and supply.neutral and abs(supply.leg_v - house.leg_v) < 1.0:
        feed = _one_leg_feed(profile, source, loads)
    else:
        raise _other_system(profile, source.carrier.supply, supply)
    return _only_circuits(profile, feed) if source.connection == "fixed circuits" else feed


def _legs_feed(profile: LoadProfile, source: Source, loads: tuple[Load, ...]) -> Feed:
    chain = chain_of(source)
    supply = source.supply
    per_leg_a = source.starting_w / (supply.legs * supply.leg_v)
    places = tuple(
        Place(
            f"leg {leg}",
            supply.leg_v,
            chain.limit_a,
            max(per_leg_a, chain.limit_a),
            chain.smallest.name,
        )
        for leg in profile.supply.legs
    )
    return _feed(profile, source, loads, places, {}, chain, ())


def _one_leg_feed(profile: LoadProfile, source: Source, loads: tuple[Load, ...]) -> Feed:
    """One 120 V source for a house of two legs: both halves hang on one leg."""
    chain = chain_of(source)
    volts_v = source.supply.leg_v
    starting_a = max(source.starting_w / volts_v, chain.limit_a)
    place = Place(
        f"the {volts_v:.0f} V leg", volts_v, chain.limit_a, starting_a, chain.smallest.name
    )
    blocked = {
        load.id: f"{load.name} needs {profile.supply.line_v:.0f} V; this source gives "
        f"{volts_v:.0f} V only. It cannot run, whatever the watts."
        for load in loads
        if load.line_to_line or (load.voltage_v or 0.0) > 1.5 * volts_v
    }
    moved = tuple(load.with_(leg_share=(1.0,)) for load in loads)
    notes: tuple[str, ...] = ()
    if len(profile.legs) > 1:
        notes = (
            f"A single {volts_v:.0f} V source feeds both halves of the panel in phase: on circuits "
            "that share a neutral the currents add (15 + 15 = 30 A) in place of cancelling. An "
            "electrician has to say which circuits share one. Double-pole circuits stay off.",
        )
    return _feed(profile, source, moved, (place,), blocked, chain, notes)


def _cords_feed(profile: LoadProfile, source: Source, loads: tuple[Load, ...]) -> Feed:
    places = tuple(_outlet_place(outlet, source) for outlet in source.outlets)
    where: dict[str, int] = {}
    for k, outlet in enumerate(source.outlets):
        for name in outlet.loads:
            load = _load_named(loads, name)
            if load.id in where:
                raise InputError(f"{load.name} hangs on two outlets", hint="Name it once.")
            where[load.id] = k
    blocked: dict[str, str] = {}
    moved = []
    for load in loads:
        k = where.get(load.id, 0)
        reason = _cord_reason(load, load.id in where, source.outlets[k])
        if reason:
            blocked[load.id] = reason
        share = tuple(1.0 if j == k else 0.0 for j in range(len(places)))
        moved.append(load.with_(leg_share=share, circuit=""))
    notes = (
        "Cords go straight from the source to the appliances. Through a window or door: no "
        "pinching, and the opening sealed again with the exhaust far away. Nothing is plugged "
        "into a wall outlet.",
    )
    feed = _feed(profile, source, tuple(moved), places, blocked, None, notes)
    return replace(feed, unwired=frozenset(x.id for x in loads if x.id not in where))


def _outlet_place(outlet: Outlet, source: Source) -> Place:
    supply = Supply(1, outlet.volts_v, outlet.volts_v)
    links = [Link(f"outlet {outlet.name}", outlet.rating_a, outlet.volts_v, 1)]
    if outlet.cord:
        links.append(cord_link(outlet.cord, supply))
    least = min(links, key=lambda link: link.limit_a)
    starting_a = max(source.starting_w / outlet.volts_v, least.limit_a)
    return Place(outlet.name, outlet.volts_v, least.limit_a, starting_a, least.name)


def _cord_reason(load: Load, named: bool, outlet: Outlet) -> str:
    if not named:
        return f"{load.name} is on no cord."
    if load.line_to_line != (outlet.volts_v > 180.0) and load.line_to_line:
        return f"{load.name} needs more than the {outlet.volts_v:.0f} V of outlet {outlet.name}."
    return ""


def _only_circuits(profile: LoadProfile, feed: Feed) -> Feed:
    """Fixed-circuit equipment: everything else stays on the dead street."""
    names = {circuit.name.casefold(): circuit.name for circuit in profile.circuits}
    for circuit in feed.source.circuits:
        if circuit.casefold() not in names:
            raise NotFound("circuit", circuit, near=tuple(names.values())[:8])
    wired = {name.casefold() for name in feed.source.circuits}
    missing = {
        load.id: f"{load.name} is not on the transfer equipment."
        for load in feed.loads
        if load.circuit.casefold() not in wired
    }
    return replace(feed, blocked={**feed.blocked, **missing}, unwired=frozenset(missing))


def _feed(
    profile: LoadProfile,
    source: Source,
    loads: tuple[Load, ...],
    places: tuple[Place, ...],
    blocked: dict[str, str],
    chain: Chain | None,
    notes: tuple[str, ...],
) -> Feed:
    chain_va = chain.smallest.limit_va if chain else source.running_w
    return Feed(
        source=source,
        house=profile.house,
        system=profile.supply,
        running_w=min(source.running_w, chain_va),
        starting_w=source.starting_w,
        places=places,
        loads=loads,
        blocked=blocked,
        chain=chain,
        notes=notes,
    )


def _load_named(loads: tuple[Load, ...], name: str) -> Load:
    for load in loads:
        if name.casefold() in (load.id.casefold(), load.name.casefold()):
            return load
    raise NotFound("load", name, near=tuple(load.name for load in loads)[:8])


def _other_system(profile: LoadProfile, name: str, supply: Supply) -> InputError:
    if not supply.neutral:
        return InputError(
            f"a {name} V source without neutral on a {profile.system} house",
            hint="Its 120 V circuits need a neutral: the source must be 120/240 V, four-pin.",
        )
    if supply.legs > len(profile.legs):
        return InputError(
            f"the source has {supply.legs} legs ({name}), the house {len(profile.legs)} "
            f"({profile.system})",
            hint="The source must be of the house's own system.",
        )
    return InputError(
        f"a {name} V source on a {profile.system} house: another system",
        hint=f"The house needs {system_named(profile.system).words}. Known supplies: "
        + ", ".join(SUPPLIES),
    )
