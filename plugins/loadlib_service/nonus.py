"""Practice from outside the United States, labelled as such: never mixed with NEC methods.

Two things: a 230 V rule of diversity for households, in amperes, and the after-diversity
maximum demand of a group of consumers.

References: IET, On-Site Guide to BS 7671, allowances for diversity, individual household
installations (values from ``seed_data/service_diversity_230.csv``). S. Rusck, "The
simultaneous demand in distribution network supplying domestic consumers", ASEA Journal
10(11), 1956 (formula from memory). T. Gönen, Electric Power Distribution System Engineering,
chapter 2, Examples 2.5 and 2.11.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loadlib import InputError
from loadlib_service.tables import percent, rows

__all__ = [
    "DIVERSITY_LABEL",
    "GROUP_LABEL",
    "DiversityLine",
    "DiversitySheet",
    "GroupDemand",
    "after_diversity_maximum_demand_w",
    "cooking_capacity_w",
    "diversity_230",
    "group_demand",
    "group_demand_w",
    "purposes",
    "rusck_coincidence",
]

DIVERSITY_LABEL = (
    "Non-US practice: a 230 V rule of diversity (IET On-Site Guide to BS 7671, individual "
    "households). A guide, not a rule of law; it is no method of the NEC."
)


GROUP_LABEL = (
    "Non-US practice: after-diversity maximum demand, as distribution planners use it for a "
    "group of consumers. It is no method of the NEC and says nothing about one house's service."
)


@dataclass(frozen=True, slots=True)
class DiversityLine:
    """One purpose: connected and assumed current, the rule in words. [A]"""

    purpose: str
    text: str
    connected_a: float
    assumed_a: float
    rule: str


@dataclass(frozen=True, slots=True)
class DiversitySheet:
    """All lines, their sum at one voltage, the label of the practice, remarks."""

    volts: float
    lines: tuple[DiversityLine, ...]
    connected_a: float
    assumed_a: float
    label: str = DIVERSITY_LABEL
    remarks: tuple[str, ...] = ()


def purposes() -> tuple[str, ...]:
    """Names of the purposes that the rule knows."""
    return tuple(row["purpose"] for row in rows("diversity_230"))


def _row(purpose: str) -> Mapping[str, str]:
    for row in rows("diversity_230"):
        if row["purpose"] == purpose:
            return row
    raise InputError(f"purpose {purpose!r}", hint="One of: " + ", ".join(purposes()) + ".")


def _first_and_rest(row: Mapping[str, str], currents: Sequence[float]) -> tuple[float, str]:
    """First amperes whole, a share of what is beyond; cooking by each appliance."""
    first, share = float(row["first_a"]), float(row["beyond_share"])
    each = row["purpose"] == "cooking"
    groups = currents if each else [sum(currents)]
    assumed = sum(min(a, first) + share * max(0.0, a - first) for a in groups)
    whole = f"first {first:g} A{' of each' if each else ''}"
    return assumed, f"{whole}, {percent(share)} of the rest"


def _ranked(row: Mapping[str, str], currents: Sequence[float]) -> tuple[float, str]:
    """Shares of the largest, the second largest and the rest."""
    shares = [float(row[f"{name}_share"]) for name in ("largest", "second", "rest")]
    ranked = sorted(currents, reverse=True)
    assumed = sum(a * shares[min(k, 2)] for k, a in enumerate(ranked))
    names = ("of the largest", "of the second", "of the others")
    words = ", ".join(f"{percent(s)} {n}" for s, n in zip(shares, names, strict=True))
    return assumed, words if len(set(shares)) > 1 else percent(shares[0])


def diversity_230(
    loads: Sequence[tuple[str, Sequence[float]]],
    *,
    volts: float = 230.0,
    cooker_sockets: int = 0,
) -> DiversitySheet:
    """Assumed maximum current of a household by the 230 V rule. [A]

    Parameters
    ----------
    loads : pairs of purpose (see ``purposes``) and currents of its circuits or appliances. [A]
    volts : the one voltage of the calculation; currents must be stated at it. [V]
    cooker_sockets : cooker control units with a socket outlet, 5 A each.

    Raises InputError for an unknown purpose or a current that is not positive.
    """
    lines = []
    for purpose, currents in loads:
        row = _row(purpose)
        if any(not math.isfinite(a) or a <= 0.0 for a in currents):
            raise InputError(f"{row['words']}: a current that is not above 0 A")
        assumed, rule = (_first_and_rest if row["first_a"] else _ranked)(row, currents)
        if purpose == "cooking" and cooker_sockets:
            extra = float(row["socket_a"]) * cooker_sockets
            assumed, rule = assumed + extra, f"{rule}, + {extra:g} A for a socket outlet"
        lines.append(DiversityLine(purpose, row["words"], sum(currents), assumed, rule))
    return DiversitySheet(
        volts,
        tuple(lines),
        sum(line.connected_a for line in lines),
        sum(line.assumed_a for line in lines),
        remarks=(f"Everything at {volts:g} V: mixing 230 and 240 V in one sum misleads.",),
    )


def cooking_capacity_w(
    rating_a: float, appliances: int, *, volts: float = 230.0, sockets: int = 0
) -> float:
    """Largest combined rating of alike cooking appliances on one circuit, by the same rule. [W]

    ``rating_a`` is the protective device. [A] Raises InputError when even 10 A each do not fit.
    """
    row = _row("cooking")
    first, share = float(row["first_a"]), float(row["beyond_share"])
    left = rating_a - sockets * float(row["socket_a"]) - appliances * first
    if appliances < 1 or left < 0.0:
        raise InputError(f"{appliances} cooking appliances do not fit {rating_a:g} A by the rule")
    return appliances * (first + left / (share * appliances)) * volts


def after_diversity_maximum_demand_w(group_peak_w: float, consumers: int) -> float:
    """Peak of a group over the number of its consumers: after-diversity maximum demand. [W]"""
    if consumers < 1:
        raise InputError(f"{consumers} consumers")
    return group_peak_w / consumers


def rusck_coincidence(consumers: int, coincidence_at_infinity: float) -> float:
    """Coincidence factor of ``consumers`` alike consumers after Rusck (formula from memory)."""
    if consumers < 1 or not 0.0 <= coincidence_at_infinity <= 1.0:
        raise InputError("coincidence: consumers from 1 up, factor at infinity from 0 to 1")
    return coincidence_at_infinity + (1.0 - coincidence_at_infinity) / math.sqrt(consumers)


def group_demand_w(own_peak_w: float, consumers: int, coincidence_at_infinity: float) -> float:
    """Peak of a group from one consumer's own peak: N · P · C(N), C after Rusck. [W]"""
    return own_peak_w * consumers * rusck_coincidence(consumers, coincidence_at_infinity)


@dataclass(frozen=True, slots=True)
class GroupDemand:
    """Demand of a group: its peak, its share a consumer, the label, where it comes from."""

    consumers: int
    own_peak_w: float
    coincidence: float
    group_peak_w: float
    after_diversity_w: float
    label: str
    remarks: tuple[str, ...]


def group_demand(own_peak_w: float, consumers: int, coincidence_at_infinity: float) -> GroupDemand:
    """After-diversity maximum demand of ``consumers`` alike consumers, labelled. [W]

    Raises InputError for a peak that is not positive, no consumers, or a factor outside 0 to 1.
    """
    if not math.isfinite(own_peak_w) or own_peak_w <= 0.0:
        raise InputError(f"own peak of {own_peak_w:g} W", hint="Give one consumer's own peak.")
    peak_w = group_demand_w(own_peak_w, consumers, coincidence_at_infinity)
    london = next(r for r in rows("group_demand") if r["key"] == "diversified_peak_london")
    return GroupDemand(
        consumers=consumers,
        own_peak_w=own_peak_w,
        coincidence=rusck_coincidence(consumers, coincidence_at_infinity),
        group_peak_w=peak_w,
        after_diversity_w=after_diversity_maximum_demand_w(peak_w, consumers),
        label=GROUP_LABEL,
        remarks=(
            f"Coincidence after Rusck (1956), formula from memory, with "
            f"{coincidence_at_infinity:g} for very many consumers: a constant of the class of "
            "consumers, to be taken from local data.",
            f"For comparison, {london['words']}: {london['low']} to {london['high']} kW "
            f"({london['source']}).",
        ),
    )
