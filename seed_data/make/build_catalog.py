"""Fill in the rows of ``values.csv`` that follow from other rows, and put the table in order.

``values.csv`` is edited by hand, one row a fact. Rows whose source starts with ``rule_`` are
not: this script drops them and works them out again from the hand-made rows, so that an
appliance needs its running watts, a standby figure and any two of annual energy, duty, on-time
and cycles a day. Running it twice changes nothing. Run from anywhere:

    python seed_data/make/build_catalog.py

Rules (W, min, kWh; season share = mean month / busiest month of the category's season):

- ``rule_on_off``: duty = on_min * cycles_per_day / 1440, solved for whichever is missing;
- ``rule_duty_from_energy``: duty = (annual_kwh / 8.76 - standby) / (running - standby) / season
  share;
- ``rule_energy``: the same equation, solved for annual_kwh.

The ends of a worked-out range treat the errors of its inputs as independent on a log scale.
"""

from __future__ import annotations

import csv
import math
from pathlib import Path

HOURS_KWH = 8.76
MINUTES = 1440.0
COLUMNS = ["category", "quantity", "low", "typical", "high", "unit", "basis", "conditions",
           "source", "obtained", "note"]  # fmt: skip
QUANTITIES = ["running_w", "power_factor", "start_multiplier", "start_s", "duty_share", "on_min",
              "cycles_per_day", "standby_w", "annual_kwh", "label_share"]  # fmt: skip
UNITS = {"running_w": "W", "power_factor": "1", "start_multiplier": "1", "start_s": "s",
         "duty_share": "1", "on_min": "min", "cycles_per_day": "1/day", "standby_w": "W",
         "annual_kwh": "kWh/year", "label_share": "1"}  # fmt: skip

Triple = tuple[float, float, float]
Row = dict[str, str]


def read_table(path: Path) -> list[Row]:
    """Return the rows of a CSV table."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def triple(row: Row) -> Triple:
    """Return low, typical and high of a row."""
    return float(row["low"]), float(row["typical"]), float(row["high"])


def season_share(season: Row) -> float:
    """Return mean month over busiest month."""
    months = [float(season[f"m{month:02d}"]) for month in range(1, 13)]
    return sum(months) / 12 / max(months)


def spread(typical: float, inputs: list[Triple], cap: float = math.inf) -> Triple:
    """Return ``typical`` with the ends that independent log errors of ``inputs`` give it."""
    down = math.sqrt(
        sum(math.log(max(t, 1e-9) / max(lo, t / 20, 1e-9)) ** 2 for lo, t, _ in inputs)
    )
    up = math.sqrt(sum(math.log(max(hi, 1e-9) / max(t, 1e-9)) ** 2 for _, t, hi in inputs))
    typical = min(typical, cap)
    return typical * math.exp(-down), typical, min(typical * math.exp(up), cap)


def written(value: float) -> str:
    """Return a number as the table writes it: four significant digits at most."""
    return f"{float(f'{value:.3g}'):.10g}"


def rule_row(category: str, quantity: str, value: Triple, source: str, conditions: str) -> Row:
    """Return a worked-out row."""
    low, typical, high = (written(v) for v in value)
    return {"category": category, "quantity": quantity, "low": low, "typical": typical,
            "high": high, "unit": UNITS[quantity], "basis": "", "conditions": conditions,
            "source": source, "obtained": "derived_from_rule", "note": ""}  # fmt: skip


def mean_power(running_w: float, standby_w: float, duty_share: float) -> float:
    """Return the mean draw [W] of a load that is on for ``duty_share`` of the time."""
    return running_w * duty_share + standby_w * (1 - duty_share)


def fill_duty(category: str, known: dict[str, Triple], share: float) -> Row | None:
    """Return the duty row, from on-time and cycles or else from annual energy."""
    if "duty_share" in known:
        return None
    if "on_min" in known and "cycles_per_day" in known:
        inputs = [known["on_min"], known["cycles_per_day"]]
        typical = known["on_min"][1] * known["cycles_per_day"][1] / MINUTES
        return rule_row(category, "duty_share", spread(typical, inputs, 1.0), "rule_on_off",
                        "on_min x cycles_per_day / 1440")  # fmt: skip
    if "annual_kwh" not in known:
        raise SystemExit(f"{category}: give annual_kwh, duty_share, or on_min and cycles_per_day")
    running, standby = known["running_w"], known["standby_w"]
    above = known["annual_kwh"][1] / HOURS_KWH - standby[1]
    typical = above / (running[1] - standby[1]) / share
    if typical <= 0:
        raise SystemExit(f"{category}: standby alone exceeds annual_kwh; give duty_share")
    value = spread(typical, [known["annual_kwh"], running], 1.0)
    return rule_row(category, "duty_share", value, "rule_duty_from_energy",
                    "annual_kwh, standby_w, running_w and season")  # fmt: skip


def fill_cycle(category: str, known: dict[str, Triple], _share: float) -> Row | None:
    """Return the row of on-time or cycles a day, whichever is missing."""
    duty = known["duty_share"]
    for have, want, text in (
        ("on_min", "cycles_per_day", "duty_share x 1440 / on_min"),
        ("cycles_per_day", "on_min", "duty_share x 1440 / cycles_per_day"),
    ):
        if have in known and want not in known:
            typical = duty[1] * MINUTES / known[have][1]
            cap = MINUTES if want == "on_min" else math.inf
            value = spread(typical, [duty, known[have]], cap)
            return rule_row(category, want, value, "rule_on_off", text)
    if "on_min" not in known:
        raise SystemExit(f"{category}: give on_min or cycles_per_day")
    return None


def fill_energy(category: str, known: dict[str, Triple], share: float) -> Row | None:
    """Return the annual-energy row where no source gives one."""
    if "annual_kwh" in known:
        return None
    running, standby, duty = known["running_w"], known["standby_w"], known["duty_share"]
    typical = mean_power(running[1], standby[1], duty[1] * share) * HOURS_KWH
    value = spread(typical, [running, duty])
    return rule_row(category, "annual_kwh", value, "rule_energy",
                    "running_w x duty_share x season + standby_w")  # fmt: skip


def completed(category: str, rows: list[Row], share: float) -> list[Row]:
    """Return the hand-made rows of one category with the worked-out ones added."""
    known = {row["quantity"]: triple(row) for row in rows}
    for need in ("running_w", "standby_w"):
        if need not in known:
            raise SystemExit(f"{category}: {need} is missing")
    rows = list(rows)
    for fill in (fill_duty, fill_cycle, fill_energy):
        row = fill(category, known, share)
        if row is not None:
            rows.append(row)
            known[row["quantity"]] = triple(row)
    return sorted(rows, key=lambda row: QUANTITIES.index(row["quantity"]))


def build(folder: Path) -> list[Row]:
    """Return the whole of ``values.csv``, worked-out rows made anew."""
    seasons = {row["season"]: season_share(row) for row in read_table(folder / "seasons.csv")}
    by_category: dict[str, list[Row]] = {}
    for row in read_table(folder / "values.csv"):
        if not row["source"].startswith("rule_"):
            by_category.setdefault(row["category"], []).append(row)
    table = []
    for category in sorted(read_table(folder / "categories.csv"), key=lambda row: row["category"]):
        slug = category["category"]
        table += completed(slug, by_category.pop(slug, []), seasons[category["season"]])
    if by_category:
        raise SystemExit(f"values without a category: {sorted(by_category)}")
    return table


def main() -> None:
    """Rewrite ``values.csv`` beside this script's folder."""
    folder = Path(__file__).resolve().parents[1]
    table = build(folder)
    with (folder / "values.csv").open("w", encoding="utf-8", newline="") as file:
        out = csv.DictWriter(file, COLUMNS, lineterminator="\n")
        out.writeheader()
        out.writerows(table)


if __name__ == "__main__":
    main()
