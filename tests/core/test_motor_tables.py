"""The constants are the seed tables: NFPA 70 (NEC) Tables 430.248 and 430.7(B)."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from loadlib.core.motor_tables import FULL_LOAD_A, KVA_PER_HP
from loadlib.store.seed import seed_root


def rows(name: str) -> list[dict[str, str]]:
    with (Path(str(seed_root())) / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize(
    ("table", "column"),
    [("standby_motors.csv", "hp_decimal"), ("service_motor_currents.csv", "hp")],
)
def test_full_load_currents_are_those_of_the_seed_table(table: str, column: str) -> None:
    found = {float(row[column]): row for row in rows(table)}
    assert len(found) == len(FULL_LOAD_A)
    for (hp, amps), row in zip(sorted(FULL_LOAD_A.items()), sorted(found.items()), strict=True):
        assert row[0] == pytest.approx(hp, abs=1e-3)
        assert (float(row[1]["full_load_115v_a"]), float(row[1]["full_load_230v_a"])) == amps


def test_code_letters_are_those_of_the_seed_table() -> None:
    for row in rows("standby_code_letters.csv"):
        least, most = KVA_PER_HP[row["letter"]]
        assert least == float(row["least_kva_per_hp"])
        assert most == (float(row["most_kva_per_hp"]) if row["most_kva_per_hp"] else None)
    assert len(rows("standby_code_letters.csv")) == len(KVA_PER_HP)
