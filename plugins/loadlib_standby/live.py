"""Live: walk through the plan at the panel, compare readings, re-plan, keep a log.

The person reads the source's own display or the utility meter; nobody opens a panel. The log
is a file of JSON lines, written at each event, so that nothing is lost when the terminal
dies; ``readings_of`` turns it into readings that can be settled as evidence the next day.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from loadlib_standby.branches import ALWAYS_ON
from loadlib_standby.engine import DataError, InputError, Reading
from loadlib_standby.hands import all_off, before_first_step, way_back
from loadlib_standby.restore import RestorePlan, Step, restoration_plan, wait_after_trip_s
from loadlib_standby.stack import SURE
from loadlib_standby.words import duration

__all__ = ["LiveResult", "LiveSession", "Shown", "judge_reading", "parse_shown", "readings_of"]

_BAND = 0.05
"""A display or clamp is taken as within 5 % (and 0.3 A or 30 W of last digits)."""


@dataclass(frozen=True, slots=True)
class Shown:
    """What a display shows: watts of the whole, or amps of each place."""

    total_w: float | None = None
    legs_a: tuple[float, ...] = ()


def parse_shown(text: str, places: int) -> Shown:
    """Read ``"2.9 kW"``, ``"2900 W"``, ``"A 12 B 17"`` or ``"12 17"``; InputError otherwise.

    A single number without a unit is not guessed at.
    """
    numbers = [float(x) for x in re.findall(r"\d+(?:\.\d+)?", text.replace(",", ""))]
    lower = text.strip().casefold()
    if len(numbers) == 1 and re.search(r"\d\s*k?w$", lower):
        return Shown(total_w=numbers[0] * (1000.0 if lower.endswith("kw") else 1.0))
    unit = bool(re.search(r"\d\s*a$", lower)) or len(numbers) > 1
    if len(numbers) == places and unit:
        return Shown(legs_a=tuple(numbers))
    raise InputError(
        f"reading {text!r} is not understood",
        hint="Write watts with the unit (2900 W, 2.9 kW) or the amps of each leg (12 17).",
    )


def judge_reading(step: Step, shown: Shown, before: Shown | None) -> tuple[bool, str]:
    """Whether a reading agrees with the plan after ``step``, and in words how not.

    Agreement: not above the 95 % point (display band on top). Lower is normal: a thermostat
    may be satisfied. No rise at all on a branch that always draws is said.
    """
    for value, limit, slack, unit in _compared(step, shown):
        if value > limit * (1 + _BAND) + slack:
            return (
                False,
                f"{value:,.0f} {unit} is more than the {limit:,.0f} {unit} expected at most",
            )
    rise = _rise_w(shown, before)
    if rise is not None and rise <= 0.0 and _always(step):
        return (
            False,
            f"nothing came on with {step.branch.label}: is something missing or unplugged?",
        )
    return True, "agrees"


@dataclass(frozen=True, slots=True)
class LiveResult:
    """Branches that are on, those that failed or were missing, and whether it was finished."""

    on: tuple[str, ...]
    failed: tuple[str, ...]
    finished: bool


@dataclass
class LiveSession:
    """One evening at the panel. ``ask`` shows a question and returns the answer; ``say``
    shows a line; ``now`` is the clock."""

    plan: RestorePlan
    log: Path
    ask: Callable[[str], str]
    say: Callable[[str], None]
    now: Callable[[], datetime]
    on: list[str] = field(default_factory=list)
    failed: list[str] = field(default_factory=list)
    last: Shown | None = None
    trips: int = 0

    def run(self) -> LiveResult:
        """Go through the steps; ends at the last one, or when the person stops."""
        self._record("begin", plan=[step.branch.label for step in self.plan.steps])
        self.say("Before the first step:")
        for line in before_first_step(self.plan.setting.source):
            self.say(f"   {line}")
        steps = list(self.plan.steps)
        while steps:
            step = steps.pop(0)
            outcome = self._one(step)
            if outcome == "stop":
                return self._end(finished=False)
            if outcome == "again":
                steps = self._replanned(step)
        return self._end(finished=True)

    def _one(self, step: Step) -> str:
        if step.wait_s > 0.0:
            self.say(f"Wait {duration(step.wait_s)} first: something has to catch up.")
        self.say(
            f"{step.number}. {step.branch.label} ON. Then wait {duration(step.pause_s)}, listen."
        )
        self.say(f"   Expect at most {self._expected(step)}.")
        if step.sure < SURE:
            self.say(
                f"   Its start is in doubt ({step.sure:.0%} sure). If it hums, or the lights stay "
                "dim for more than 3 seconds: off at once, then f."
            )
        while True:
            answer = self.ask("Reading (2900 W, or amps of each leg; f failed, m missing, s stop)")
            word = answer.strip().casefold()
            if word in ("s", "stop"):
                return "stop"
            if word in ("f", "failed", "m", "missing"):
                return self._lost(step, self._how_it_failed() if word[0] == "f" else "missing")
            if word in ("", "ok"):
                self._done(step, None, "not read")
                return "next"
            try:
                shown = parse_shown(answer, len(step.legs_a))
            except InputError as error:
                self.say(str(error))
                continue
            return self._compare(step, shown)

    def _compare(self, step: Step, shown: Shown) -> str:
        agrees, words = judge_reading(step, shown, self.last)
        self.say(f"   {words}.")
        if not agrees:
            answer = self.ask("Keep it on (k), or switch it off and go on without it (f)?")
            if answer.strip().casefold() in ("s", "stop"):
                return "stop"
            if answer.strip().casefold().startswith("f"):
                return self._lost(step, "given up")
        self._done(step, shown, words)
        return "next"

    def _done(self, step: Step, shown: Shown | None, words: str) -> None:
        before = self.last
        self.on.append(step.branch.name)
        self.last = shown
        self._record(
            "step",
            circuit=step.branch.name,
            total_w=shown.total_w if shown else None,
            before_w=before.total_w if before else None,
            legs_a=list(shown.legs_a) if shown else [],
            expected_w=step.total_w,
            words=words,
        )

    def _how_it_failed(self) -> str:
        answer = self.ask("Did the source trip or stall (y), or is only this one off now (n)?")
        return "given up" if answer.strip().casefold().startswith("n") else "failed"

    def _lost(self, step: Step, how: str) -> str:
        """``failed``: the source tripped and all goes off; else only this one is off."""
        self.failed.append(step.branch.name)
        self._record(how, circuit=step.branch.name)
        if how == "failed":
            self.trips += 1
            off = all_off(self.plan.setting.source)
            self.on.clear()
            self.last = None
            if self.trips > 1:
                self.say(f"It tripped again. {off}. STOP. Call an electrician.")
                return "stop"
            wait = duration(wait_after_trip_s(self.plan))
            self.say(f"{off}. Wait {wait}. Reset the source once.")
            self.say("Begin again at 1. If it trips again: stop, and call an electrician.")
        return "again"

    def _replanned(self, step: Step) -> list[Step]:
        """Steps of a new plan without what was lost; what is on already is not repeated."""
        try:
            self.plan = restoration_plan(self.plan.setting, without=tuple(self.failed))
        except InputError as error:
            self.say(str(error))
            self._record("no plan", words=str(error))
            return []
        left = [x for x in self.plan.steps if x.branch.name not in self.on]
        self.say(f"New plan without {', '.join(self.failed)}: {len(left)} steps.")
        self._record("plan", circuit=step.branch.name, plan=[x.branch.label for x in left])
        return left

    def _expected(self, step: Step) -> str:
        names = self.plan.setting.stack.names[1:]
        legs = ", ".join(
            f"{name} {value:.0f} A" for name, value in zip(names, step.legs_high_a, strict=True)
        )
        return f"{step.total_w:,.0f} W ({legs})"

    def _end(self, *, finished: bool) -> LiveResult:
        if finished and self.on:
            back = ". ".join(way_back(self.plan.setting.source))
            self.say(f"All done. When street power is back: {back}.")
        self._record("end", finished=finished, on=self.on, failed=self.failed)
        return LiveResult(tuple(self.on), tuple(self.failed), finished)

    def _record(self, event: str, **facts: object) -> None:
        line = json.dumps({"at": self.now().isoformat(), "event": event, **facts})
        try:
            with self.log.open("a", encoding="utf-8") as handle:
                handle.write(line + "\n")
        except OSError as error:
            raise InputError(
                f"the log {self.log} cannot be written: {error.strerror}",
                hint="Give another file with --log.",
            ) from None


def readings_of(log: Path) -> tuple[Reading, ...]:
    """Readings in a log: watts before and after a breaker, or amps of the legs.

    Raises DataError naming the line that is broken.
    """
    found: list[Reading] = []
    on: list[str] = []
    for number, line in enumerate(log.read_text(encoding="utf-8").splitlines(), start=1):
        try:
            row = json.loads(line)
            at = datetime.fromisoformat(row["at"])
            event = row["event"]
        except (ValueError, KeyError, TypeError) as error:
            raise DataError(f"broken log line: {error}", path=str(log), line=number) from None
        if event == "failed":
            on = []
        if event == "step":
            on = [*on, str(row["circuit"])]
            found += _readings(row, at if at.tzinfo else at.astimezone(), tuple(on))
    return tuple(found)


def _readings(row: dict[str, object], at: datetime, on: tuple[str, ...]) -> list[Reading]:
    after, before = row.get("total_w"), row.get("before_w")
    legs = row.get("legs_a")
    if isinstance(after, int | float):
        first = float(before) if isinstance(before, int | float) else 0.0 if len(on) == 1 else None
        place = f"circuit {row['circuit']}" if first is not None else "whole"
        return [
            Reading(
                place=place,
                instrument="source display",
                watts=float(after) if first is None else first,
                watts_after=None if first is None else float(after),
                at=at,
                on=on,
            )
        ]
    if isinstance(legs, list) and legs:
        names = [f"leg {name}" for name in "ABC"] if len(legs) > 1 else ["whole"]
        return [
            Reading(place=name, instrument="source display", amps=float(value), at=at, on=on)
            for name, value in zip(names, legs, strict=False)
        ]
    return []


def _compared(step: Step, shown: Shown) -> list[tuple[float, float, float, str]]:
    if shown.total_w is not None:
        share = max(
            (
                high / max(leg, 1e-9)
                for high, leg in zip(step.legs_high_a, step.legs_a, strict=True)
            ),
            default=1.0,
        )
        return [(shown.total_w, step.total_w * max(share, 1.0), 30.0, "W")]
    return [(x, y, 0.3, "A") for x, y in zip(shown.legs_a, step.legs_high_a, strict=True)]


def _rise_w(shown: Shown, before: Shown | None) -> float | None:
    if before is None:
        return None
    if shown.total_w is not None and before.total_w is not None:
        return shown.total_w - before.total_w
    if shown.legs_a and before.legs_a:
        return sum(shown.legs_a) - sum(before.legs_a)
    return None


def _always(step: Step) -> bool:
    return all(float(load.duty_array().mean()) >= ALWAYS_ON for load in step.branch.loads)
