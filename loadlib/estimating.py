"""From evidence to a load profile: run the estimators, settle their claims, assemble."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from loadlib.core.claims import Claim, DemandClaim, LoadClaim
from loadlib.core.evidence import Evidence
from loadlib.core.household import House
from loadlib.core.profile import LoadProfile
from loadlib.errors import InputError, NotFound, PluginError
from loadlib.hooks import Estimator
from loadlib.host import BUILT_IN, Host

__all__ = ["Heard", "estimate", "hear"]


@dataclass(frozen=True, slots=True)
class Heard:
    """What the estimators said: (estimator, claim) pairs, what each lacked, who broke."""

    claims: tuple[tuple[str, Claim], ...]
    missing: tuple[str, ...]
    faults: tuple[PluginError, ...]


def evidence_of(house: House) -> Evidence:
    """Evidence that holds a house and the catalog entries it names, nothing measured."""
    from loadlib.store.catalog import many

    return Evidence(house=house, categories=many({a.category for a in house.appliances}))


def hear(evidence: Evidence, host: Host, only: Sequence[str] = ()) -> Heard:
    """Ask every estimator (or ``only`` those named) for its claims.

    A plugin that raises, hangs or yields something that is not a claim is reported in
    ``faults``; when it was asked for by name, its PluginError is raised instead.
    """
    available = dict(host.estimators())
    for name in only:
        if name not in available:
            raise NotFound("estimator", name, near=tuple(available))
    claims: list[tuple[str, Claim]] = []
    missing: list[str] = []
    faults: list[PluginError] = []
    for name, estimator in available.items():
        if only and name not in only:
            continue
        try:
            lacks, said = host.guarded(name, partial(_ask, name, estimator, evidence))
        except PluginError as fault:
            if only:
                raise
            faults.append(fault)
            continue
        # What a stranger's plugin lacks is of no interest unless it was asked for.
        if name in only or host.owner(name).module in BUILT_IN:
            missing += [f"{name}: {text}" for text in lacks]
        claims += [(name, claim) for claim in said]
    return Heard(tuple(claims), tuple(missing), tuple(faults))


def _ask(name: str, estimator: Estimator, evidence: Evidence) -> tuple[list[str], list[Claim]]:
    lacks = estimator.needs(evidence)
    if lacks:
        return lacks, []
    said = list(estimator.claims(evidence))
    for index, claim in enumerate(said, start=1):
        if not isinstance(claim, LoadClaim | DemandClaim):
            raise TypeError(
                f"estimator {name}, claim {index}: expected a LoadClaim or DemandClaim, "
                f"got {type(claim).__name__} {claim!r:.60}"
            )
    return [], said


def estimate(
    house_or_evidence: House | Evidence,
    *,
    estimators: Sequence[str] = (),
    host: Host | None = None,
    seed: int | None = None,
) -> LoadProfile:
    """The load profile of a house.

    Parameters
    ----------
    house_or_evidence : House or Evidence
        a house alone (its appliances and labels) or all that is known about it.
    estimators : sequence of str
        names of the estimators to hear; all by default.
    host : Host or None
        loaded plugins; by default the built-ins and those installed.
    seed : int or None
        replaces the evidence's seed; the same seed gives the same profile.

    Raises
    ------
    InputError
        for anything that is neither a House nor an Evidence.
    NotFound
        for an estimator that nobody brings.
    PluginError
        when an estimator that was asked for by name broke.
    """
    from dataclasses import replace

    from loadlib.estimators.assemble import build_profile
    from loadlib.estimators.settle import settle

    if isinstance(house_or_evidence, House):
        evidence = evidence_of(house_or_evidence)
    elif isinstance(house_or_evidence, Evidence):
        evidence = house_or_evidence
    else:
        raise InputError(
            f"estimate: {type(house_or_evidence).__name__} given", hint="Give a House or Evidence."
        )
    if seed is not None:
        evidence = replace(evidence, seed=seed)
    heard = hear(evidence, host or Host.load(), estimators)
    settlement = settle(evidence, heard.claims, evidence.seed)
    profile = build_profile(evidence, settlement)
    broken = tuple(f"Left out: {fault.message}" for fault in heard.faults)
    return replace(profile, missing=profile.missing + heard.missing + broken)
