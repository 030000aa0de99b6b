"""ESPI (NAESB REQ.21): the schema's own examples and the reference feed of 15 days.

Sources: espi.xsd, version 4.0.20231213 (types DstRuleType, UnitSymbolKind, ServiceKind), and
the reference feed in tests/data/espi (see NOTICE.txt there), whose usage summary is an
outside check of the sum of its readings.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pytest
import xmlschema

from loadlib.core.series import ReadOptions, ReadResult
from loadlib.readers import read_usage
from loadlib.readers.dst import DstRule, LocalTime, decode_rule
from loadlib.readers.espi.codes import SERVICE, UNIT
from loadlib.readers.espi.parse import parse_feed

ROOT = Path(__file__).parents[2]
DATA = ROOT / "tests" / "data" / "espi"
DEMO = ROOT / "seed_data" / "demo" / "usage_hourly.xml"

FEEDS_BY_THE_SCHEMA = (
    DATA / "quarter_hours_15_days.xml",
    DATA / "quarter_hours_23_hour_day.xml",
    DATA / "days_one_year.xml",
    DATA / "electric_containerized.xml",
    DATA / "gas_direct.xml",
    DEMO,
)


@pytest.fixture(scope="module")
def reference() -> ReadResult:
    result, _ = read_usage(DATA / "quarter_hours_15_days.xml")
    return result


@pytest.fixture(scope="module")
def schema() -> xmlschema.XMLSchema:
    return xmlschema.XMLSchema(str(DATA / "espi_usage.xsd"))


@pytest.mark.parametrize("feed", FEEDS_BY_THE_SCHEMA, ids=lambda path: path.stem)
def test_feeds_are_valid_by_the_schema(feed: Path, schema: xmlschema.XMLSchema) -> None:
    contents = ET.parse(feed).iter("{http://www.w3.org/2005/Atom}content")
    objects = [child for content in contents for child in content]
    assert objects
    assert [error.reason for o in objects for error in schema.iter_errors(o)] == []


def test_dst_rule_of_the_schemas_example() -> None:
    """Third Friday in March at 1:45: fields as printed in DstRuleType, hex by arithmetic."""
    rule = DstRule(second_of_hour=2700, hour=1, day_of_week=5, day_of_month=0, operator=4, month=3)
    assert rule.encode() == "380A1A8C"
    assert decode_rule("380A1A8C") == rule
    assert rule.local_change(2012) == datetime(2012, 3, 16, 1, 45)


def test_start_of_the_reference_feed_is_local_midnight(reference: ReadResult) -> None:
    """1330578000 is 2012-03-01T05:00:00Z and, at tzOffset -18000, local midnight."""
    series = reference.series[0]
    assert datetime.fromtimestamp(series.start_s, UTC) == datetime(2012, 3, 1, 5, tzinfo=UTC)
    local = LocalTime(-18000, 3600, decode_rule("360E2000"), decode_rule("B40E2000"))
    assert local.offset_at(series.start_s) == -18000
    assert series.timezone == "America/New_York"


def test_totals_of_the_first_day(reference: ReadResult) -> None:
    """96 readings, 93,846 Wh, the largest 1,652 Wh in a quarter hour, 6.608 kW."""
    first_day_w = reference.series[0].mean_w[:96]
    assert np.sum(first_day_w) / 4 == pytest.approx(93_846)
    assert np.max(first_day_w) == pytest.approx(6_608)
    assert np.max(first_day_w) / 4 == pytest.approx(1_652)


def test_cost_of_readings_is_in_hundred_thousandths() -> None:
    """The second day costs what its readings say; money stands apart from energy.

    The published figure for the first day is 11.48274; the 15-day feed holds the same day.
    """
    root = ET.parse(DATA / "quarter_hours_15_days.xml").getroot()
    block = root.find(".//{http://naesb.org/espi}IntervalBlock")
    assert block is not None
    costs = [int(cost.text or 0) for cost in block.iter("{http://naesb.org/espi}cost")]
    assert sum(costs) == 1_148_274
    every = sum(int(c.text or 0) for c in root.iter("{http://naesb.org/espi}cost"))
    feed = parse_feed(DATA / "quarter_hours_15_days.xml")
    assert [readings.cost for readings in feed.meters.values()] == [every]


def test_billing_summary_agrees_with_the_readings(reference: ReadResult) -> None:
    """13 local days, one of 23 hours: 1,298,640 Wh both ways, 152.52 in money."""
    bill = reference.bills[0]
    assert (bill.first_day, bill.day_after) == (date(2012, 3, 1), date(2012, 3, 14))
    assert bill.energy_wh == 1_298_640
    assert bill.cost == pytest.approx(152.52)
    series = reference.series[0]
    quarters = 13 * 96 - 4
    assert np.sum(series.mean_w[:quarters]) / 4 == pytest.approx(bill.energy_wh)


def test_day_of_23_hours_has_92_readings() -> None:
    result, _ = read_usage(DATA / "quarter_hours_23_hour_day.xml")
    assert result.series[0].mean_w.size == 92
    assert result.series[0].missing == 0


def test_unit_and_service_codes() -> None:
    codes = (38, 72, 63, 61, 71, 73, 29, 5, 169, 132)
    assert [UNIT[code] for code in codes] == [
        "W", "Wh", "var", "VA", "VAh", "varh", "V", "A", "therm", "Btu",
    ]  # fmt: skip
    assert [SERVICE[code] for code in range(5)] == ["electricity", "gas", "water", "time", "heat"]


def test_real_hourly_file_keeps_what_was_published() -> None:
    """Sum of the values in the file, by a parser of another kind; its 8-hour gap stays a gap."""
    values = ET.parse(DEMO).getroot().iter("{http://naesb.org/espi}value")
    total_wh = sum(int(value.text or 0) for value in values)
    result, name = read_usage(DEMO, ReadOptions(timezone="America/Los_Angeles"))
    series = result.series[0]
    assert name == "espi"
    assert series.energy_wh == pytest.approx(total_wh)
    assert series.missing == 8
    assert datetime.fromtimestamp(series.start_s, UTC) == datetime(2011, 2, 1, 8, tzinfo=UTC)
