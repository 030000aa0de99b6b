"""The verdict of three values, with its condition in words.

* **fits**: the 95 % point of the chosen branches running together, and the 95 % point with
  the largest surge excess on top, stay within every limit.
* **does not fit**: the 5 % point breaks a limit where no hand can help: a must-have cannot be
  fed at all, one branch alone is too much, or the must-haves together are too much.
* **fits only if**: everything between. The condition names the loads that must not run
  together, what has to stay off, or the unknown that decides.

Chosen branches that are not must-haves can be held back by hand, so their sum alone makes no
negative verdict.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loadlib_standby.stack import Stack

Array = NDArray[np.float64]

__all__ = ["FITS", "NOT", "ONLY_IF", "Verdict", "apart_group", "breaks", "judge"]

FITS, ONLY_IF, NOT = "fits", "fits only if", "does not fit"


@dataclass(frozen=True, slots=True)
class Verdict:
    """``value`` is one of the three; ``apart`` are branches of which one may run at a time,
    ``off`` those that have to stay off, ``decides`` the unknown that decides."""

    value: str
    reasons: tuple[str, ...] = ()
    condition: str = ""
    apart: tuple[str, ...] = ()
    off: tuple[str, ...] = ()
    decides: str = ""


def breaks(stack: Stack, chosen: Sequence[int], share: float) -> list[str]:
    """Limits that the ``share`` point of ``chosen`` breaks, in words."""
    running, peak = stack.together(chosen)
    found = []
    for draws, limit, what in ((running, stack.run, "running"), (peak, stack.surge, "at a start")):
        points = np.quantile(draws, share, axis=0)
        for d in np.flatnonzero(points > limit * (1 + 1e-9)):
            unit = "W" if d == 0 else "A"
            found.append(
                f"{stack.names[d]} {what}: {points[d]:,.0f} {unit} of {limit[d]:,.0f} {unit}"
            )
    return found


def judge(stack: Stack, chosen: Sequence[int]) -> Verdict:
    """Verdict for the branches at positions ``chosen``."""
    wanted = list(chosen)
    blocked = [i for i in wanted if stack.branches[i].blocked]
    lost = [stack.branches[i] for i in blocked if stack.branches[i].priority == "must"]
    if lost:
        return Verdict(NOT, tuple(f"{b.label}: {b.blocked}" for b in lost))
    usable = [i for i in wanted if i not in blocked]
    reasons = _hopeless(stack, usable)
    if reasons:
        return Verdict(NOT, tuple(reasons))
    held_back = tuple(stack.branches[i].label for i in blocked)
    if not breaks(stack, usable, 0.95):
        if not held_back:
            return Verdict(FITS)
        words = "these stay off, since the source cannot feed them: " + ", ".join(held_back)
        return Verdict(
            ONLY_IF, tuple(stack.branches[i].blocked for i in blocked), words, (), held_back
        )
    return _condition(stack, usable, held_back)


def apart_group(stack: Stack, chosen: Sequence[int], share: float = 0.95) -> list[int] | None:
    """Fewest branches (largest first) of which one at a time fits together with the rest.

    Must-haves always run. None when no such group is enough.
    """
    loose = [i for i in chosen if stack.branches[i].priority != "must"]
    loose.sort(key=lambda i: -_size(stack, i))
    for count in range(2, len(loose) + 1):
        group = loose[:count]
        rest = [i for i in chosen if i not in group]
        if all(not breaks(stack, [*rest, i], share) for i in group):
            return _pruned(stack, rest, group, share)
    return None


def _pruned(stack: Stack, rest: list[int], group: list[int], share: float) -> list[int]:
    """Drop members that may run at any time after all."""
    kept = list(group)
    for i in reversed(group):
        others = [j for j in kept if j != i]
        if len(kept) > 2 and all(not breaks(stack, [*rest, i, j], share) for j in others):
            kept, rest = others, [*rest, i]
    return kept


def _hopeless(stack: Stack, usable: list[int]) -> list[str]:
    """Why no hand can help, or nothing: at the 5 % point."""
    musts = [i for i in usable if stack.branches[i].priority == "must"]
    vital = musts or (usable if len(usable) == 1 else [])
    alone = [
        f"{stack.branches[i].label} alone is too much: {text}"
        for i in vital
        for text in breaks(stack, [i], 0.05)
    ]
    if alone or len(musts) < 2:
        return alone
    return [f"the must-haves together: {text}" for text in breaks(stack, musts, 0.05)]


def _condition(stack: Stack, usable: list[int], blocked: tuple[str, ...]) -> Verdict:
    """Where even the must-haves are in doubt at the 95 % point, an unknown decides, and the
    rest is judged at the highest point (50 or 5 %) that the must-haves keep."""
    musts = [i for i in usable if stack.branches[i].priority == "must"]
    share = next((x for x in (0.95, 0.5) if not breaks(stack, musts, x)), 0.05)
    too_big = [i for i in usable if breaks(stack, [i], 0.05)]
    rest = [i for i in usable if i not in too_big]
    group: list[int] = []
    if share == 0.95 and not breaks(stack, rest, 0.5):
        shed: list[int] = []
    else:
        group = (apart_group(stack, rest, share) or []) if breaks(stack, rest, share) else []
        shed = [] if group else _shed(stack, rest, share)
    kept = [i for i in rest if i not in shed]
    decides = "" if group and share == 0.95 else _unknown(stack, kept if not group else musts)
    off = (*blocked, *(stack.branches[i].label for i in (*too_big, *shed)))
    apart = tuple(stack.branches[i].label for i in group)
    reasons = tuple(breaks(stack, usable, 0.95))
    return Verdict(ONLY_IF, reasons, _words(off, apart, decides), apart, off, decides)


def _words(off: Sequence[str], apart: Sequence[str], decides: str) -> str:
    parts = ["these stay off: " + ", ".join(off)] if off else []
    if apart:
        parts.append("only one of these runs at a time: " + " OR ".join(apart))
    if decides:
        parts.append(decides)
    return "; and ".join(parts)


def _unknown(stack: Stack, rest: list[int]) -> str:
    """The unknown that decides, where the 95 % point breaks a limit; else empty."""
    if not breaks(stack, rest, 0.95):
        return ""
    running, peak = stack.together(rest)
    if np.all(np.quantile(running, 0.95, axis=0) <= stack.run):
        return _start_decides(stack, rest, running, peak)
    d = _worst(np.quantile(running, 0.95, axis=0) / stack.run)
    spread = np.std(stack.running_draws[:, rest, d], axis=0)
    branch = stack.branches[rest[int(np.argmax(spread))]]
    return (
        f"what runs stays within {_amount(stack.run[d], d)} on {stack.names[d]}, where "
        f"{_points(running[:, d], d)} are believed; the draw of {branch.label} decides"
    )


def _start_decides(stack: Stack, rest: list[int], running: Array, peak: Array) -> str:
    d = _worst(np.quantile(peak, 0.95, axis=0) / stack.surge)
    high = np.quantile(stack.start_draws[:, rest, d], 0.95, axis=0)
    branch = stack.branches[rest[int(np.argmax(high))]]
    room = max(float(stack.surge[d] - np.quantile(running[:, d], 0.95)), 0.0)
    unit = "VA" if d == 0 else "A"
    return (
        f"{branch.label} asks for no more than {room:,.0f} {unit} above running at its start on "
        f"{stack.names[d]}; up to {high.max():,.0f} {unit} is believed"
    )


def _worst(shares: Array) -> int:
    """The whole if it is broken, since people think in watts; else the fullest place."""
    return 0 if shares[0] > 1.0 else int(np.argmax(shares))


def _points(draws: Array, d: int) -> str:
    low, high = np.quantile(draws, (0.05, 0.95))
    return f"{low:,.0f} to {_amount(float(high), d)}"


def _amount(value: float, d: int) -> str:
    return f"{value:,.0f} W" if d == 0 else f"{value:,.0f} A"


def _shed(stack: Stack, rest: list[int], share: float) -> list[int]:
    """What is off so that the remainder fits at ``share``: must-haves stay, small ones first."""
    kept = [i for i in rest if stack.branches[i].priority == "must"]
    off = []
    for i in sorted((i for i in rest if i not in kept), key=lambda i: _size(stack, i)):
        if breaks(stack, [*kept, i], share):
            off.append(i)
        else:
            kept.append(i)
    return off


def _size(stack: Stack, i: int) -> float:
    """Share of the tightest limit that a branch takes."""
    return float((stack.counted[i] / stack.run).max())
