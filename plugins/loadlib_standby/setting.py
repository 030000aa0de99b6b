"""Setting: profile, source and case joined once, for check, plan, fuel and the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loadlib_standby.branches import Branch, branches_of, named_branches
from loadlib_standby.case import OutageCase, default_case, loads_in_case, matching
from loadlib_standby.engine import UNLISTED, InputError, Load, LoadProfile, NotFound
from loadlib_standby.feed import Feed, feed_of
from loadlib_standby.source import Source
from loadlib_standby.stack import Stack, stack_of

__all__ = ["Setting", "setting_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Setting:
    """Everything an answer about one house, one source and one case needs."""

    profile: LoadProfile
    source: Source
    case: OutageCase
    feed: Feed
    branches: tuple[Branch, ...]
    stack: Stack

    def positions(self, names: Sequence[str] = ()) -> list[int]:
        """Positions of the named branches; without names all that are connected to the source
        and not to be left off."""
        if not names:
            return [
                i
                for i, branch in enumerate(self.branches)
                if branch.priority != "off" and not branch.unwired
            ]
        chosen = named_branches(self.branches, names)
        return sorted({self.branches.index(branch) for branch in chosen})

    def loads_on(self, positions: Sequence[int]) -> tuple[Load, ...]:
        """Loads of the branches at ``positions`` that can be fed, and the unlisted rest."""
        branches = [self.branches[i] for i in positions]
        loads = [x for b in branches if not b.blocked for x in b.loads]
        return (*loads, *(x for x in self.feed.loads if x.id == UNLISTED))


def setting_of(
    profile: LoadProfile, source: Source, case: OutageCase | None = None, *, seed: int = 1
) -> Setting:
    """Join them; InputError or NotFound says what does not go together.

    Parameters
    ----------
    profile : LoadProfile
        the house.
    source : Source
        the source and its way in.
    case : OutageCase or None
        None for a day of the month that needs most energy.
    seed : int
        of the draws of belief.
    """
    if not profile.loads:
        raise InputError(
            f"the profile of {profile.house} has no loads", hint="Estimate the house first."
        )
    wanted = case or default_case(profile)
    for word in (*wanted.must, *wanted.leave_off):
        circuits = {circuit.name.casefold() for circuit in profile.circuits}
        if word.casefold() not in circuits and not matching(profile.loads, word):
            raise NotFound(
                "circuit or load", word, near=tuple(c.name for c in profile.circuits)[:8]
            )
    loads = loads_in_case(profile, wanted)
    feed = feed_of(profile, source, loads)
    branches = branches_of(profile, feed, wanted)
    return Setting(profile, source, wanted, feed, branches, stack_of(branches, feed, wanted, seed))
