"""Two profiles side by side: in words and as rows."""

from __future__ import annotations

from dataclasses import dataclass

from loadlib.core.load import Load
from loadlib.core.profile import LoadProfile
from loadlib.core.ranges import Range

__all__ = ["Difference", "at_the_surface", "compare", "in_words"]


@dataclass(frozen=True, slots=True)
class Difference:
    """One number that differs: what it is, before, after and the unit."""

    what: str
    before: Range | None
    after: Range | None
    unit: str
    why: str = ""

    @property
    def change_share(self) -> float | None:
        """Relative change of the typical value, or None where one side is missing or 0."""
        if self.before is None or self.after is None or self.before.typical == 0.0:
            return None
        return self.after.typical / self.before.typical - 1.0


def compare(before: LoadProfile, after: LoadProfile) -> list[Difference]:
    """What differs: energy of the year, peaks, and each load that came, went or changed."""
    found = [
        Difference("energy of a year", before.energy_wh_per_year, after.energy_wh_per_year, "Wh")
    ]
    old = {(p.place, p.window_s, p.period): p for p in before.peaks}
    new = {(p.place, p.window_s, p.period): p for p in after.peaks}
    for key in [*old, *[key for key in new if key not in old]]:
        a, b = old.get(key), new.get(key)
        place, window_s, period = key
        found.append(
            Difference(
                f"highest {window_s // 60} min, {place}, {period}",
                a.power_w if a else None,
                b.power_w if b else None,
                "W",
                b.basis if b and a and a.basis != b.basis else "",
            )
        )
    loads_a = {load.id: load for load in before.loads}
    loads_b = {load.id: load for load in after.loads}
    for key_id in [*loads_a, *[i for i in loads_b if i not in loads_a]]:
        found += _loads(loads_a.get(key_id), loads_b.get(key_id))
    return [item for item in found if item.before != item.after]


def _loads(a: Load | None, b: Load | None) -> list[Difference]:
    name = b.name if b is not None else a.name if a is not None else ""
    known = a.sources if a is not None else ()
    why = "; ".join(s for s in (b.sources if b is not None else ()) if s not in known)
    return [
        Difference(
            f"{name}, running", a.running_w if a else None, b.running_w if b else None, "W", why
        ),
        Difference(
            f"{name}, at a start", a.start_va if a else None, b.start_va if b else None, "VA", why
        ),
    ]


def in_words(differences: list[Difference]) -> list[str]:
    """Sentences, largest relative change first; what came or went before that."""
    if not differences:
        return ["The two profiles agree in energy, peaks and loads."]
    ordered = sorted(
        differences,
        key=lambda d: -abs(d.change_share) if d.change_share is not None else float("-inf"),
    )
    return [_sentence(item) for item in ordered]


def at_the_surface(item: Difference) -> tuple[float | None, float | None, str]:
    """Typical values before and after in the unit that people read: kWh for energy."""
    scale, unit = (0.001, "kWh") if item.unit == "Wh" else (1.0, item.unit)
    before, after = (
        None if side is None else side.typical * scale for side in (item.before, item.after)
    )
    return before, after, unit


def _sentence(item: Difference) -> str:
    why = f" ({item.why})" if item.why else ""
    before, after, unit = at_the_surface(item)
    if before is None:
        figure = "" if after is None else f" {after:,.0f} {unit}"
        return f"New: {item.what}{figure}{why}."
    if after is None:
        return f"Gone: {item.what} {before:,.0f} {unit}."
    share = item.change_share
    percent = "" if share is None else f", {share:+.0%}"
    return f"{item.what}: {before:,.0f} became {after:,.0f} {unit}{percent}{why}."
