"""ESPI feeds: what a reading is, which meter it belongs to, what is left out and said."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from loadlib.core.series import ReadOptions
from loadlib.errors import DataError, InputError, NotFound
from loadlib.readers import read_usage
from loadlib.readers.espi.parse import parse_feed

DATA = Path(__file__).parents[1] / "data" / "espi"
NO_READINGS = ("no_readings.xml",)


def notes_of(series: Any) -> str:
    return "; ".join(series.notes)


@pytest.mark.parametrize(
    ("fields", "mean_w"),
    [
        ({"uom": 72}, 1000.0),
        ({"uom": 72, "powerOfTenMultiplier": 3}, 1e6),
        ({"uom": 72, "powerOfTenMultiplier": -3}, 1.0),
        ({"uom": 38}, 1000.0),
        ({"uom": 31}, 1000.0 / 3600.0),
    ],
)
def test_unit_and_multiplier(feed: Any, fields: dict[str, int], mean_w: float) -> None:
    result, _ = read_usage(feed.plain(feed.hours(3), **fields))
    assert result.series[0].mean_w == pytest.approx([mean_w] * 3)


def test_energy_of_a_quarter_hour_is_four_times_the_power(feed: Any) -> None:
    rows = [(feed.start + 900 * at, 900, 250) for at in range(4)]
    result, _ = read_usage(feed.plain(rows))
    assert result.series[0].mean_w == pytest.approx([1000.0] * 4)
    assert result.series[0].energy_wh == pytest.approx(1000.0)


@pytest.mark.parametrize(
    ("code", "flow"), [(1, "import"), (8, "import"), (19, "export"), (10, "export"), (4, "net")]
)
def test_flow_direction(feed: Any, code: int, flow: str) -> None:
    result, _ = read_usage(feed.plain(feed.hours(2), flowDirection=code))
    assert result.series[0].flow == flow


def test_no_flow_direction_with_negative_values_is_net(feed: Any) -> None:
    result, _ = read_usage(feed.plain(feed.hours(2, -500), flowDirection=0))
    assert result.series[0].flow == "net"
    assert result.series[0].mean_w == pytest.approx([-500.0, -500.0])


def test_import_with_many_negative_values_is_net(feed: Any) -> None:
    rows = [(feed.start, 3600, 500), (feed.start + 3600, 3600, -300)]
    series = read_usage(feed.plain(rows))[0].series[0]
    assert series.flow == "net"
    assert "1 negative value: taken as net (import minus export)" in series.notes


def test_import_and_export_stay_apart(feed: Any) -> None:
    path = feed.write(
        feed.entry(feed.reading_type(), href="ReadingType/in"),
        feed.entry(feed.reading_type(flowDirection=19), href="ReadingType/out"),
        feed.entry(feed.element("MeterReading"), href="M/in", related=["ReadingType/in"]),
        feed.entry(feed.element("MeterReading"), href="M/out", related=["ReadingType/out"]),
        feed.entry(feed.block(feed.hours(4)), up="M/out/IntervalBlock"),
        feed.entry(feed.block(feed.hours(4, 300)), up="M/in/IntervalBlock"),
    )
    flows = {series.flow: series.energy_wh for series in read_usage(path)[0].series}
    assert flows == {"export": pytest.approx(4000.0), "import": pytest.approx(1200.0)}


def test_blocks_out_of_order_are_sorted(feed: Any) -> None:
    late = feed.block(feed.hours(2, 20, start=feed.start + 7200))
    early = feed.block(feed.hours(2, 10))
    path = feed.write(feed.entry(feed.reading_type()), feed.entry(late), feed.entry(early))
    series = read_usage(path)[0].series[0]
    assert series.start_s == feed.start
    assert series.mean_w == pytest.approx([10.0, 10.0, 20.0, 20.0])
    assert "sorted" in notes_of(series)


def test_gaps_are_counted_and_never_filled(feed: Any) -> None:
    rows = feed.hours(2) + feed.hours(2, start=feed.start + 5 * 3600)
    series = read_usage(feed.plain(rows))[0].series[0]
    assert np.isnan(series.mean_w).tolist() == [False, False, True, True, True, False, False]
    assert "3 of 7 slots missing in 1 gap" in notes_of(series)


def test_same_reading_twice_counts_once(feed: Any) -> None:
    series = read_usage(feed.plain([*feed.hours(3), *feed.hours(1)]))[0].series[0]
    assert series.energy_wh == pytest.approx(3000.0)
    assert "1 reading stood twice" in notes_of(series)


def test_contradiction_is_shown_and_the_later_stands(feed: Any) -> None:
    series = read_usage(feed.plain([*feed.hours(3), *feed.hours(1, 400)]))[0].series[0]
    assert series.mean_w == pytest.approx([400.0, 1000.0, 1000.0])
    assert "1000 W, then 400 W" in notes_of(series)


def test_many_contradictions_are_refused(feed: Any) -> None:
    rows = [*feed.hours(60), *feed.hours(60, 400)]
    with pytest.raises(DataError, match="60 of 120 readings contradict") as caught:
        read_usage(feed.plain(rows))
    assert "Several meters" in (caught.value.hint or "")


def test_register_differences_with_a_reset(feed: Any) -> None:
    dial = [5000, 5100, 5300, 10, 60]
    rows = [(feed.start + 3600 * at, 0, value) for at, value in enumerate(dial)]
    series = read_usage(feed.plain(rows, accumulationBehaviour=1))[0].series[0]
    assert series.mean_w[[0, 1, 3]] == pytest.approx([100.0, 200.0, 50.0])
    assert np.isnan(series.mean_w[2])
    assert "register went back 1 time" in notes_of(series)


def test_readings_without_time_period_follow_the_block(feed: Any) -> None:
    readings = "<IntervalReading><value>7</value></IntervalReading>" * 3
    block = (
        '<IntervalBlock xmlns="http://naesb.org/espi">'
        f"<interval><duration>10800</duration><start>{feed.start}</start></interval>"
        f"{readings}</IntervalBlock>"
    )
    path = feed.write(feed.entry(feed.reading_type(intervalLength=3600)), feed.entry(block))
    series = read_usage(path)[0].series[0]
    assert (series.start_s, series.step_s) == (feed.start, 3600)
    assert series.mean_w == pytest.approx([7.0] * 3)


def test_qualities_are_counted_and_a_projection_is_no_reading(feed: Any) -> None:
    def flagged(code: int, start: int) -> str:
        quality = f"<ReadingQuality><quality>{code}</quality></ReadingQuality>"
        return str(feed.block([(start, 3600, 500)], extra=quality))

    blocks = [flagged(code, feed.start + 3600 * at) for at, code in enumerate((0, 8, 9, 12))]
    path = feed.write(feed.entry(feed.reading_type()), *map(feed.entry, blocks))
    series = read_usage(path)[0].series[0]
    assert series.missing == 1
    for words in ("estimated from a reference day", "linear interpolation", "projected"):
        assert words in notes_of(series)
    assert "valid" not in notes_of(series)


@pytest.mark.parametrize(
    ("fields", "reason"),
    [
        ({"commodity": 7}, "gas"),
        ({"commodity": 9}, "water"),
        ({"uom": 169}, "therm"),
        ({"uom": 80}, "money"),
        ({"uom": 73}, "varh"),
        ({"uom": 71}, "VAh"),
        ({"dataQualifier": 8}, "maximum"),
        ({"flowDirection": 20}, "flow direction 20"),
    ],
)
def test_what_is_not_energy_of_electricity_is_refused(
    feed: Any, fields: dict[str, int], reason: str
) -> None:
    with pytest.raises(DataError, match=f"nothing electrical.*{reason}"):
        read_usage(feed.plain(feed.hours(2), **fields))


def test_gas_beside_electricity_is_left_out_and_named(feed: Any) -> None:
    def point(kind: int) -> str:
        category = f"<ServiceCategory><kind>{kind}</kind></ServiceCategory>"
        return f'<UsagePoint xmlns="http://naesb.org/espi">{category}</UsagePoint>'

    def meter(name: str, kind: int, value: int) -> list[str]:
        return [
            feed.entry(point(kind), href=f"UsagePoint/{name}"),
            feed.entry(
                feed.element("MeterReading"),
                href=f"UsagePoint/{name}/MeterReading/1",
                related=["ReadingType/1"],
            ),
            feed.entry(
                feed.block(feed.hours(2, value)),
                up=f"UsagePoint/{name}/MeterReading/1/IntervalBlock",
            ),
        ]

    shared = feed.entry(feed.reading_type(commodity=0), href="ReadingType/1")
    path = feed.write(shared, *meter("a", 0, 100), *meter("b", 1, 900), *meter("c", 2, 5))
    result, _ = read_usage(path)
    assert [series.energy_wh for series in result.series] == [pytest.approx(200.0)]
    assert any("gas: left out" in note for note in result.notes)
    assert any("water: left out" in note for note in result.notes)


@pytest.mark.parametrize("name", ["gas_direct.xml"])
def test_a_gas_file_is_refused(name: str) -> None:
    with pytest.raises(DataError, match="gas"):
        read_usage(DATA / name)


def test_a_file_without_unit_asks_for_it() -> None:
    with pytest.raises(DataError, match="unit") as caught:
        read_usage(DATA / "gas_containerized.xml")
    assert caught.value.line is not None


def test_a_feed_without_readings_is_refused() -> None:
    with pytest.raises(DataError, match="no interval block"):
        read_usage(DATA / "no_readings.xml")


def test_all_zeros_are_read_and_said(feed: Any) -> None:
    series = read_usage(feed.plain(feed.hours(5, 0)))[0].series[0]
    assert series.energy_wh == 0.0
    assert "every reading is zero" in notes_of(series)


def test_containerized_blocks_in_one_entry() -> None:
    series = read_usage(DATA / "electric_containerized.xml")[0].series[0]
    assert series.energy_wh == pytest.approx(4086.0)
    assert series.missing == 8
    assert series.timezone == "America/Los_Angeles"


def test_a_block_alone_without_feed(feed: Any, write: Any) -> None:
    path = write(feed.block(feed.hours(2)), "block.xml")
    series = read_usage(path, ReadOptions(unit="Wh"))[0].series[0]
    assert series.energy_wh == pytest.approx(2000.0)
    with pytest.raises(DataError, match="unit"):
        read_usage(path)


def test_objects_nested_in_one_another(feed: Any) -> None:
    nested = (
        '<MeterReading xmlns="http://naesb.org/espi">'
        f"{feed.reading_type(uom=38)}{feed.block(feed.hours(2, 70))}</MeterReading>"
    )
    path = feed.write(feed.entry(feed.reading_type(uom=80)), feed.entry(nested))
    assert read_usage(path)[0].series[0].mean_w == pytest.approx([70.0, 70.0])


def test_daily_readings_become_days_of_local_time() -> None:
    """The published feed holds 441 days of 24 hours and two of 23 hours."""
    result, _ = read_usage(DATA / "days_one_year.xml")
    days = {bill.first_day: bill for bill in result.bills}
    assert result.series == ()
    assert all(bill.duration_s == 86_400.0 for bill in result.bills)
    assert date(2013, 3, 10) in days
    assert min(days) == date(2013, 1, 1)
    assert any("no day counts twice" in note for note in result.notes)


def test_days_of_23_24_and_25_hours(feed: Any) -> None:
    """Days around both changes of the clock in New York, 2023 (rules in force since 2007)."""
    local = feed.element(
        "LocalTimeParameters",
        dstEndRule="B40E2000",
        dstOffset=3600,
        dstStartRule="360E2000",
        tzOffset=-18000,
    )
    spring, autumn = 1_678_510_800, 1_699_070_400
    rows = [
        (spring, 86_400, 1),
        (spring + 86_400, 82_800, 2),
        (spring + 169_200, 86_400, 3),
        (autumn, 86_400, 4),
        (autumn + 86_400, 90_000, 5),
        (autumn + 176_400, 86_400, 6),
    ]
    path = feed.write(
        feed.entry(local), feed.entry(feed.reading_type()), feed.entry(feed.block(rows))
    )
    bills = read_usage(path)[0].bills
    assert [bill.first_day for bill in bills] == [
        date(2023, 3, 11), date(2023, 3, 12), date(2023, 3, 13),
        date(2023, 11, 4), date(2023, 11, 5), date(2023, 11, 6),
    ]  # fmt: skip
    assert [bill.energy_wh for bill in bills] == pytest.approx([1, 2, 3, 4, 5, 6])


def test_days_need_a_time_zone(feed: Any) -> None:
    path = feed.plain([(feed.start, 86_400, 5000), (feed.start + 86_400, 86_400, 5000)])
    with pytest.raises(DataError, match="need a time zone") as caught:
        read_usage(path)
    assert "timezone" in (caught.value.hint or "")
    assert len(read_usage(path, ReadOptions(timezone="America/Denver"))[0].bills) == 2


def test_summaries_carry_energy_and_money_apart(feed: Any) -> None:
    def summary(start: int, value: int, quality: int) -> str:
        return (
            '<UsageSummary xmlns="http://naesb.org/espi"><billingPeriod>'
            f"<duration>2592000</duration><start>{start}</start></billingPeriod>"
            "<billLastPeriod>8412000</billLastPeriod><overallConsumptionLastPeriod>"
            f"<powerOfTenMultiplier>3</powerOfTenMultiplier><uom>72</uom><value>{value}</value>"
            f"</overallConsumptionLastPeriod><qualityOfReading>{quality}</qualityOfReading>"
            "<statusTimeStamp>1</statusTimeStamp></UsageSummary>"
        )

    second = 1_704_067_200 + 30 * 86_400
    path = feed.write(
        feed.entry(summary(second, 580, 8)), feed.entry(summary(1_704_067_200, 612, 14))
    )
    bills = read_usage(path, ReadOptions(timezone="Etc/UTC"))[0].bills
    assert [bill.first_day for bill in bills] == [date(2024, 1, 1), date(2024, 1, 31)]
    assert [bill.energy_wh for bill in bills] == [612_000.0, 580_000.0]
    assert [bill.cost for bill in bills] == [84.12, 84.12]
    assert [bill.estimated for bill in bills] == [False, True]


def test_stated_zone_that_differs_from_the_files_own_is_said() -> None:
    path = DATA / "quarter_hours_23_hour_day.xml"
    same = read_usage(path, ReadOptions(timezone="America/New_York"))[0].series[0]
    other = read_usage(path, ReadOptions(timezone="America/Chicago"))[0].series[0]
    assert "differ" not in notes_of(same)
    assert "clock rules differ from America/Chicago" in notes_of(other)


def test_unknown_zone_and_channel(feed: Any) -> None:
    path = feed.plain(feed.hours(2))
    with pytest.raises(InputError, match="no time zone") as caught:
        read_usage(path, ReadOptions(timezone="America/New_Yrok"))
    assert "America/New_York" in (caught.value.hint or "")
    with pytest.raises(DataError, match="no channel 'barn'"):
        read_usage(path, ReadOptions(channel="barn"))


def test_two_channels_of_one_flow_are_not_added_up(feed: Any) -> None:
    path = feed.write(
        feed.entry(feed.reading_type(), href="ReadingType/1"),
        feed.entry(feed.block(feed.hours(2, 100)), up="M/1/IntervalBlock"),
        feed.entry(feed.block(feed.hours(2, 200)), up="M/2/IntervalBlock"),
    )
    result, _ = read_usage(path)
    assert len({series.channel for series in result.series}) == 2
    assert any("not added up" in note for note in result.notes)


@pytest.mark.parametrize("path", sorted(DATA.glob("*.xml")), ids=lambda path: path.stem)
def test_quick_and_exact_way_agree(path: Path) -> None:
    if path.name in NO_READINGS:
        with pytest.raises(DataError):
            parse_feed(path, quick=False)
        return
    quick, exact = parse_feed(path), parse_feed(path, quick=False)
    assert quick.meters.keys() == exact.meters.keys()
    for key, readings in quick.meters.items():
        other = exact.meters[key]
        assert readings.start_s == other.start_s
        assert readings.duration_s == other.duration_s
        assert readings.value == other.value
        assert (readings.flagged, readings.cost) == (other.flagged, other.cost)
    assert [r.fields for r in quick.resources] == [r.fields for r in exact.resources]


def test_progress_ends_at_one(feed: Any) -> None:
    shares: list[float] = []
    read_usage(feed.plain(feed.hours(3000)), progress=shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0


def test_no_such_file(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="no file"):
        read_usage(tmp_path / "none.xml")
