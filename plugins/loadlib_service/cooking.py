"""Demand of household cooking appliances (Table 220.55) and clothes dryers (Table 220.54)."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from loadlib import InputError
from loadlib_service.tables import Value, constant, count_row, percent, row_value

__all__ = ["Demand", "branch_circuit", "cooking_demand", "dryer_demand"]

RULES = ("least", "column C", "note 3")
"""Which permitted way through Table 220.55: the least of them, column C alone, or Note 3."""


@dataclass(frozen=True, slots=True)
class Demand:
    """A demand by a table: volt-amperes, the steps in words, and the values used.

    ``ways`` holds every permitted way that was worked out, name and VA; ``va`` is the
    least of them unless the caller chose one.
    """

    va: float
    steps: tuple[str, ...]
    values: tuple[Value, ...]
    ways: tuple[tuple[str, float], ...] = ()

    def doubts(self, edition: str) -> tuple[str, ...]:
        """What a reader must know of the table values behind it in ``edition``."""
        return tuple(dict.fromkeys(m for v in self.values if (m := v.mark(edition))))


@dataclass(frozen=True, slots=True)
class _Way:
    name: str
    va: float
    steps: tuple[str, ...]
    values: tuple[Value, ...]


def _kw(watts: float) -> str:
    return f"{watts / 1000.0:,.4g} kW"


def _per_pair(count: int) -> int:
    """Twice the largest number between any two phases, spread evenly (220.54, 220.55)."""
    return 2 * math.ceil(count / 3)


def _major(kw: float) -> int:
    """Whole kilowatts, a fraction of 0.5 or more counting as one (the trade's reading)."""
    return math.floor(kw + 0.5 + 1e-9)


def _column_c(ratings_w: Sequence[float], count: int, edition: str) -> _Way:
    """Column C for ``count`` appliances rated as ``ratings_w``, with Notes 1 and 2."""
    row = count_row("cooking", count)
    base_w = 1000.0 * (float(row["column_c_kw"]) + float(row["column_c_kw_each"]) * count)
    values = [row_value(row, base_w)]
    steps = [f"column C, {count} appliance{'s' * (count > 1)}: {_kw(base_w)}"]
    limit = constant("cooking_column_c_w", edition)
    floored = [max(r, limit.amount) for r in ratings_w]
    average_w = sum(floored) / len(floored)
    over_kw = _major((average_w - limit.amount) / 1000.0)
    if max(ratings_w) > limit.amount:
        share = constant("cooking_increase_share", edition)
        values += [limit, share]
        note = "1" if len(set(ratings_w)) == 1 else "2"
        kind = "rating" if note == "1" else "average, smaller ones taken as 12 kW"
        steps.append(
            f"Note {note}: {kind} {_kw(average_w)} exceeds 12 kW by {over_kw} kW "
            f"(0.5 or more counts as one): + {over_kw} × 5 %"
        )
        base_w += base_w * (share.amount * over_kw)
    return _Way("column C", base_w, tuple(steps), tuple(values))


def _percent(ratings_w: Sequence[float], count: int, column: str) -> _Way:
    """Column A or B: sum of nameplates times the factor for ``count`` appliances."""
    row = count_row("cooking", count)
    share = float(row[f"column_{column.lower()}_percent"]) / 100.0
    total_w = sum(ratings_w) / len(ratings_w) * count
    step = f"column {column}, {count}: {_kw(total_w)} × {percent(share)}"
    return _Way(f"column {column}", total_w * share, (step,), (row_value(row, share),))


def _three_phase(way: Callable[[int], _Way], count: int, three_phase: bool) -> _Way:
    """``way`` for ``count`` appliances, or on the three-phase basis of 220.54 and 220.55.

    That basis: demand of twice the largest number between two phases, halved to one phase,
    times three (NEC Annex D, Example D5(a)).
    """
    if not three_phase or count < 2:
        return way(count)
    pair = _per_pair(count)
    whole = way(pair)
    step = (
        f"three-phase feeder: twice the {pair // 2} between two phases = {pair}; "
        f"{_kw(whole.va)} ÷ 2 × 3"
    )
    return _Way(whole.name, whole.va * 1.5, (*whole.steps, step), whole.values)


def _note_3(ratings_w: Sequence[float], edition: str, three_phase: bool) -> _Way | None:
    """Columns A and B for the smaller appliances, column C for the rest; None if none is small."""
    a_w = constant("cooking_column_a_w", edition).amount
    b_w = constant("cooking_column_b_w", edition).amount
    groups: list[tuple[str, list[float]]] = [
        ("A", [r for r in ratings_w if r < a_w]),
        ("B", [r for r in ratings_w if a_w <= r <= b_w]),
        ("C", [r for r in ratings_w if r > b_w]),
    ]
    if not groups[0][1] and not groups[1][1]:
        return None
    parts = []
    for column, group in groups:
        if not group:
            continue

        def way(n: int, column: str = column, group: list[float] = group) -> _Way:
            if column == "C":
                return _column_c(group, n, edition)
            return _percent(group, n, column)

        parts.append(_three_phase(way, len(group), three_phase))
    steps = tuple(s for part in parts for s in part.steps)
    if groups[0][1] and groups[1][1]:
        steps += ("each column with the number of its own appliances; some take the number of all",)
    values = tuple(v for part in parts for v in part.values)
    return _Way("Note 3 (columns A and B)", sum(p.va for p in parts), steps, values)


def cooking_demand(
    ratings_w: Sequence[float],
    edition: str,
    *,
    rule: str = "least",
    three_phase: bool = False,
) -> Demand:
    """Feeder or service demand of cooking appliances, one rating an appliance. [VA]

    Parameters
    ----------
    ratings_w : nameplate ratings; kW and kVA count as the same. [W]
    edition : ``"2017"``, ``"2020"`` or ``"2023"``.
    rule : ``"least"`` of the permitted ways, ``"column C"`` alone, or ``"note 3"``.
    three_phase : single-phase appliances on a three-phase, four-wire feeder.

    Under Note 3 columns A and B each take the factor for the number of their own appliances.
    Appliances at or below 1¾ kW stand outside the table and are taken at nameplate. Raises
    InputError for a rating of 0 or above 27 kW, where the notes end.

    References: NFPA 70 (NEC) 220.55, Table 220.55 with Notes 1 to 3; worked numbers in
    Informative Annex D, Examples D2(b), D5(a) and D6.
    """
    if rule not in RULES:
        raise InputError(f"cooking rule {rule!r}", hint="One of: " + ", ".join(RULES) + ".")
    floor = constant("cooking_floor_w", edition)
    most_w = constant("cooking_most_w", edition).amount
    for rating in ratings_w:
        if not math.isfinite(rating) or rating <= 0.0:
            raise InputError(f"a range of {rating / 1000.0:g} kW", hint="Read its nameplate.")
        if rating > most_w:
            raise InputError(
                f"a cooking appliance of {_kw(rating)} is above the 27 kW where Table 220.55 ends",
                hint="Check the nameplate; a larger unit is not household equipment of that table.",
            )
    small = [r for r in ratings_w if r <= floor.amount]
    in_table = [r for r in ratings_w if r > floor.amount]
    small_steps = (
        (f"{len(small)} at or below 1.75 kW, outside the table, at nameplate: {_kw(sum(small))}",)
        if small
        else ()
    )
    if not in_table:
        return Demand(sum(small), small_steps, (floor,) if small else ())

    def column_c(n: int) -> _Way:
        return _column_c(in_table, n, edition)

    ways = [_three_phase(column_c, len(in_table), three_phase)]
    note_3 = _note_3(in_table, edition, three_phase)
    if note_3 is not None:
        ways.append(note_3)
    chosen = min(ways, key=lambda w: w.va)
    if rule == "column C":
        chosen = ways[0]
    elif rule == "note 3":
        if note_3 is None:
            raise InputError(
                "Note 3 does not apply: no appliance is rated 8.75 kW or less",
                hint='Use rule "column C" or "least".',
            )
        chosen = note_3
    return Demand(
        chosen.va + sum(small),
        (*chosen.steps, *small_steps),
        chosen.values,
        tuple((w.name, w.va + sum(small)) for w in ways),
    )


def dryer_demand(ratings_w: Sequence[float], edition: str, *, three_phase: bool = False) -> Demand:
    """Feeder or service demand of household clothes dryers, one rating a dryer. [VA]

    Each at 5,000 VA or its nameplate, whichever is larger, times the factor of Table 220.54
    for their number. References: NFPA 70 (NEC) 220.54.
    """
    if not ratings_w:
        return Demand(0.0, (), ())
    floor = constant("dryer_floor_va", edition)
    each = [max(r, floor.amount) for r in ratings_w]

    def way(n: int) -> _Way:
        row = count_row("dryers", n)
        beyond = n - int(row["beyond_count"])
        percent = float(row["percent"]) - float(row["less_percent_each"]) * beyond
        total = sum(each) / len(each) * n
        step = f"{n} dryer{'s' * (n > 1)}: {total:,.0f} VA × {percent:g} %"
        return _Way("Table 220.54", total * percent / 100.0, (step,), (row_value(row, percent),))

    chosen = _three_phase(way, len(each), three_phase)
    raised = sum(r < floor.amount for r in ratings_w)
    steps = (f"{raised} below 5,000 VA raised to it",) if raised else ()
    return Demand(chosen.va, (*steps, *chosen.steps), (floor, *chosen.values))


def branch_circuit(
    *,
    ranges_w: Sequence[float] = (),
    counter_units_w: Sequence[float] = (),
    ovens_w: Sequence[float] = (),
    edition: str,
) -> Demand:
    """Load of one branch circuit for cooking appliances, Table 220.55 Note 4. [VA]

    One range: by the table. One wall oven or one counter-mounted unit: its nameplate. One
    counter-mounted unit with one or two wall ovens in the same room: their sum, treated as
    one range. Anything else on one branch circuit raises InputError.
    """
    shape = (len(ranges_w), len(counter_units_w), len(ovens_w))
    if shape == (1, 0, 0):
        return cooking_demand(ranges_w, edition)
    if shape in ((0, 1, 0), (0, 0, 1)):
        rating = (*counter_units_w, *ovens_w)[0]
        if rating <= 0.0:
            raise InputError(f"a cooking appliance of {rating:g} W", hint="Read its nameplate.")
        return Demand(rating, (f"Note 4: one appliance, nameplate {_kw(rating)}",), ())
    if shape in ((0, 1, 1), (0, 1, 2)):
        total = sum(counter_units_w) + sum(ovens_w)
        as_one = cooking_demand([total], edition)
        step = f"Note 4: nameplates added, {_kw(total)}, treated as one range"
        return Demand(as_one.va, (step, *as_one.steps), as_one.values, as_one.ways)
    raise InputError(
        f"Note 4 has no branch circuit for {shape[0]} ranges, {shape[1]} counter-mounted units "
        f"and {shape[2]} wall ovens",
        hint="One range; one oven; one counter-mounted unit; or one unit with up to two ovens.",
    )
