"""The contract, the numbers of the invented log, and the refusals."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import ClassVar

import pytest

from loadlib import Appliance, DataError, Evidence, LoadClaim
from loadlib.testing import EstimatorContract, sample_evidence
from loadlib_heat_pump_log.estimator import HeatPumpLog
from loadlib_heat_pump_log.log import read_log

LOG = Path(__file__).parent / "data" / "heat_pump_minutes.csv"
HEAD = "time,outdoor_c,watts,defrost,strips\n"


def evidence(path: Path = LOG, timezone: str = "America/New_York") -> Evidence:
    base = sample_evidence(files={"heat_pump_log": (str(path),)})
    pump = Appliance("ridge_hp", "heat pump", "heat_pump_air_source")
    house = replace(base.house, timezone=timezone, appliances=(*base.house.appliances, pump))
    return replace(base, house=house)


class TestHeatPumpLog(EstimatorContract):
    plausible: ClassVar = {
        "running_w": (300, 12_000),
        "duty_share": (0, 1),
        "start_va": (300, 12_000),
    }

    def make(self) -> HeatPumpLog:
        return HeatPumpLog()

    def evidence(self) -> Evidence:
        return evidence()


def claims(path: Path = LOG) -> list[LoadClaim]:
    return list(HeatPumpLog().claims(evidence(path)))


def test_power_and_duty_follow_the_temperature_as_the_log_was_made() -> None:
    running = {
        c.when.outdoor_c: c.value for c in claims() if c.quantity == "running_w" and not c.part
    }
    # The log was made with 1900 W + 28 W/°C: at the middle of each band.
    for (low_c, high_c), value in running.items():
        assert value.typical == pytest.approx(1900 + 28 * (low_c + high_c) / 2, rel=0.03)
    duty = [c.value.typical for c in claims() if c.quantity == "duty_share" and not c.part]
    assert duty == sorted(duty, reverse=True), "colder means longer"


def test_strips_are_a_load_of_their_own_and_off_on_standby() -> None:
    strips = [c for c in claims() if c.part == "strip heat"]
    assert {c.load_id for c in strips} == {"ridge_hp/strip heat"}
    assert {c.priority for c in strips} == {"off"}
    (power,) = [c.value for c in strips if c.quantity == "running_w"]
    assert power.low <= 5000 <= power.high


def test_a_compressor_without_inverter_gets_no_start_claim_and_an_inverter_does(
    tmp_path: Path,
) -> None:
    assert not [c for c in claims() if c.quantity == "start_va"]
    rows = LOG.read_text().splitlines()
    path = tmp_path / "inverter.csv"
    path.write_text("\n".join([rows[0] + ",compressor_hz", *(r + ",40" for r in rows[1:])]))
    (start,) = [c for c in claims(path) if c.quantity == "start_va"]
    assert "without a step" in start.note


@pytest.mark.parametrize(
    ("text", "words", "line"),
    [
        ("time,watts\n", "no column outdoor_c", 1),
        (HEAD + "2026-01-10T06:00,-8,two,0,0\n", "watts is 'two'", 2),
        (HEAD + "2026-01-10T06:00,-8,1e9,0,0\n", "watts is '1e9'", 2),
        (HEAD + "2026-01-10T06:00,-8,nan,0,0\n", "watts is 'nan'", 2),
        (HEAD + "soon,-8,100,0,0\n", "'soon' is no time", 2),
        (HEAD + "2026-03-08T02:30,-8,100,0,0\n", "does not exist in America/New_York", 2),
        (HEAD, "0 rows", None),
    ],
)
def test_a_fault_names_its_line(text: str, words: str, line: int | None, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(text)
    with pytest.raises(DataError, match=words) as caught:
        read_log(str(path), "America/New_York")
    assert caught.value.line == line


def test_without_a_zone_the_mend_is_named(tmp_path: Path) -> None:
    with pytest.raises(DataError) as caught:
        read_log(str(LOG), "")
    assert "time zone" in str(caught.value.hint)


def test_without_a_log_or_a_heat_pump_it_says_what_it_needs() -> None:
    assert len(HeatPumpLog().needs(sample_evidence())) == 2
    assert HeatPumpLog().needs(evidence()) == []
