"""Every table holds to the columns, names and ranges that the seed README states."""

from __future__ import annotations

import hashlib
import importlib.util
import re
from collections import Counter
from types import ModuleType

import pytest
from catalog_tables import GROUNDED, HERE, SEED, by_key, table, value

QUANTITIES = {
    "running_w": "W",
    "power_factor": "1",
    "start_multiplier": "1",
    "start_s": "s",
    "duty_share": "1",
    "on_min": "min",
    "cycles_per_day": "1/day",
    "standby_w": "W",
    "annual_kwh": "kWh/year",
    "label_share": "1",
}
KINDS = {"heater", "motor", "compressor", "electronic", "lighting", "mixed"}
GROUPS = {
    "bath", "cooling", "entertainment", "farm", "heating", "kitchen", "laundry", "lighting",
    "medical", "network", "office", "outdoor", "refrigeration", "standby", "vehicle", "water",
    "workshop",
}  # fmt: skip
LABEL_RULES = {"amps_upper", "watts_input", "watts_output", "motor_hp", "va_upper"}
START_BASES = {"none", "running_w_metered", "running_a", "full_load_a", "rated_load_a"}
OBTAINED = GROUNDED | {"derived_from_rule", "from_memory"}
CATEGORIES = [row["category"] for row in table("categories")]
# First 12 hex digits of the SHA-256 of common makers' names in lower case: the names are kept
# out of the tables, and so out of the tests.
MAKERS = frozenset((HERE / "maker_hashes.txt").read_text(encoding="ascii").split())


@pytest.fixture(scope="module")
def build_catalog() -> ModuleType:
    """The script that fills in the worked-out rows."""
    path = SEED / "make" / "build_catalog.py"
    spec = importlib.util.spec_from_file_location("build_catalog", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_there_are_enough_categories_and_none_twice() -> None:
    assert len(CATEGORIES) >= 230
    assert [slug for slug, count in Counter(CATEGORIES).items() if count > 1] == []


@pytest.mark.parametrize("group", sorted(GROUPS))
def test_every_group_has_categories(group: str) -> None:
    assert sum(row["group"] == group for row in table("categories")) >= 4


def test_category_columns_use_the_stated_words() -> None:
    allowed = {
        "group": GROUPS,
        "kind": KINDS,
        "label_rule": LABEL_RULES,
        "thermostatic": {"0", "1"},
        "medical": {"0", "1"},
        "use_profile": {row["use_profile"] for row in table("use_profiles")},
        "season": {row["season"] for row in table("seasons")},
    }
    for row in table("categories"):
        assert re.fullmatch(r"[a-z0-9_]+", row["category"]), row
        assert row["name"], row
        for column, words in allowed.items():
            assert row[column] in words, row


def test_voltage_and_poles_agree() -> None:
    for row in table("categories"):
        voltage, poles = float(row["voltage_v"]), int(row["poles"])
        assert voltage in {24, 115, 120, 230, 240}, row
        british = row["category"].endswith("_230v")
        assert poles == (2 if voltage >= 230 and not british else 1), row


def test_every_category_has_three_words_people_use() -> None:
    counts = Counter(row["category"] for row in table("aliases"))
    assert set(counts) == set(CATEGORIES)
    assert [slug for slug in CATEGORIES if counts[slug] < 3] == []


def test_no_alias_stands_twice_in_one_category() -> None:
    pairs = Counter((row["category"], row["alias"]) for row in table("aliases"))
    assert [pair for pair, count in pairs.items() if count > 1] == []


@pytest.mark.parametrize(
    ("words", "category"),
    [
        ("fridge", "refrigerator_freezer"),
        ("icebox", "refrigerator_freezer"),
        ("tumble dryer", "clothes_dryer_electric"),
        ("geyser", "water_heater_electric_storage"),
        ("swamp cooler", "evaporative_cooler"),
        ("borehole pump", "well_pump_submersible"),
        ("deep freeze", "freezer_chest"),
        ("hot tub", "hot_tub_heater"),
        ("egg incubator", "incubator_egg"),
    ],
)
def test_common_words_lead_to_their_category(words: str, category: str) -> None:
    assert {"category": category, "alias": words} in table("aliases")


def test_every_category_has_every_quantity_once() -> None:
    assert len(by_key()) == len(table("values"))
    assert set(by_key()) == {(slug, quantity) for slug in CATEGORIES for quantity in QUANTITIES}


def test_value_rows_are_ordered_known_and_sourced() -> None:
    sources = {row["source"] for row in table("sources")}
    for row in table("values"):
        low, typical, high = (float(row[point]) for point in ("low", "typical", "high"))
        assert 0 <= low <= typical <= high, row
        assert row["unit"] == QUANTITIES[row["quantity"]], row
        assert row["source"] in sources, row
        assert row["obtained"] in OBTAINED, row


def test_ranges_stay_in_their_bounds() -> None:
    for slug in CATEGORIES:
        assert value(slug, "running_w", "low") > 0, slug
        assert 0 < value(slug, "duty_share", "high") <= 1, slug
        assert value(slug, "power_factor", "low") >= 0.3, slug
        assert value(slug, "power_factor", "high") <= 1, slug
        assert value(slug, "on_min", "high") <= 1440, slug
        assert value(slug, "label_share", "high") <= 1.2, slug
        assert value(slug, "standby_w") <= value(slug, "running_w"), slug


def test_start_has_a_basis_and_a_wide_range_where_nobody_measured() -> None:
    for slug in CATEGORIES:
        row = by_key()[slug, "start_multiplier"]
        assert row["basis"] in START_BASES, row
        if row["basis"] == "none":
            assert float(row["typical"]) == 1, row
            assert value(slug, "start_s") == 0, row
        elif row["obtained"] == "from_memory" and float(row["typical"]) >= 2.5:
            assert float(row["high"]) >= 1.5 * float(row["low"]), row


def test_memory_is_named_so_by_source_and_by_row_alike() -> None:
    for row in table("values"):
        assert row["source"].startswith("memory_") == (row["obtained"] == "from_memory"), row
        if row["source"].startswith("rule_"):
            assert row["obtained"] == "derived_from_rule", row


@pytest.mark.parametrize("quantity", ["running_w", "annual_kwh"])
def test_most_values_rest_on_something_read_or_measured(quantity: str) -> None:
    """Read or measured, or worked out from figures of the source that the row names."""
    rows = [row for row in table("values") if row["quantity"] == quantity]
    read = sum(row["obtained"] in GROUNDED for row in rows)
    worked_out = sum(
        row["obtained"] == "derived_from_rule" and not row["source"].startswith("rule_")
        for row in rows
    )
    assert (read + worked_out) / len(rows) >= 0.65
    assert read / len(rows) >= 0.4


# Limits that 10 CFR 430.32 prints as a number; all its others are equations or efficiencies.
PRINTED_LIMITS = {
    ("dishwasher_compact", "annual_kwh"),
    ("electric_toothbrush", "annual_kwh"),
    ("halogen_lamp", "running_w"),
}


def test_what_an_equation_gives_does_not_count_as_read() -> None:
    """A bound at a stated volume or capacity, and an equation at three bedrooms, are worked out."""
    for row in table("values"):
        by_equation = row["source"] in {"cfr_430_32", "resnet_301"}
        counted = row["quantity"] in {"running_w", "annual_kwh"}
        printed = (row["category"], row["quantity"]) in PRINTED_LIMITS
        if by_equation and counted and not printed:
            assert row["obtained"] == "derived_from_rule", row


def test_what_watts_times_hours_give_does_not_count_as_read() -> None:
    """This list prints watts, hours and the cost of a month, but no energy."""
    for row in table("values"):
        if row["source"] == "coop_carolina_2021" and row["quantity"] == "annual_kwh":
            assert row["obtained"] == "derived_from_rule", row


def test_the_readme_states_the_shares_as_they_are() -> None:
    words = " ".join((SEED / "README.md").read_text(encoding="utf-8").split())
    said = re.search(
        r"(\d+) categories\. Of the running watts (\d+) % and of the annual energies (\d+) %", words
    )
    assert said is not None
    shares = []
    for quantity in ("running_w", "annual_kwh"):
        rows = [row for row in table("values") if row["quantity"] == quantity]
        shares.append(round(100 * sum(row["obtained"] in GROUNDED for row in rows) / len(rows)))
    assert [int(number) for number in said.groups()] == [len(CATEGORIES), *shares]


@pytest.mark.parametrize(("name", "width"), [("use_profiles", 24), ("seasons", 12)])
def test_profiles_have_a_mean_of_one(name: str, width: int) -> None:
    sources = {row["source"] for row in table("sources")}
    for row in table(name):
        numbers = [float(cell) for key, cell in row.items() if re.fullmatch(r"[hm]\d\d", key)]
        assert len(numbers) == width, row
        assert min(numbers) >= 0, row
        assert sum(numbers) / width == pytest.approx(1, abs=0.005), row
        assert row["source"] in sources, row
        assert row["obtained"] in OBTAINED, row


def test_sources_are_cited_once_and_all_used() -> None:
    slugs = [row["source"] for row in table("sources")]
    assert len(set(slugs)) == len(slugs)
    used = {
        row["source"]
        for name in ("values", "published_values", "use_profiles", "seasons")
        for row in table(name)
    }
    assert used <= set(slugs)
    for row in table("sources"):
        assert row["citation"], row
        assert row["licence"], row
        assert row["locator"] or row["source"].startswith("memory_"), row


def test_building_again_changes_nothing(build_catalog: ModuleType) -> None:
    assert tuple(build_catalog.build(SEED)) == table("values")


def test_no_maker_is_named() -> None:
    for name in ("categories", "aliases", "values", "sources", "published_values"):
        for row in table(name):
            words = re.findall(r"[a-z0-9]+", " ".join(row.values()).lower())
            hashed = {hashlib.sha256(word.encode()).hexdigest()[:12]: word for word in words}
            assert not MAKERS & set(hashed), (name, row)


def test_the_page_says_what_each_table_is() -> None:
    page = (SEED / "README.md").read_text("utf-8")
    tables = sorted(path.name for path in SEED.glob("*.csv"))
    assert [name for name in tables if f"`{name}`" not in page] == []
