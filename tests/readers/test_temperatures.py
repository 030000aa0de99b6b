"""Temperature files: daily and hourly, °C and °F, asked where it can't be told."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from loadlib.core.series import ReadOptions, Temperatures
from loadlib.errors import DataError
from loadlib.readers import read_usage

Write = Callable[..., Path]
FIRST = date(2023, 3, 1)


def daily(heading: str, values: list[object]) -> str:
    rows = [f"{FIRST + timedelta(days=at)},{value}" for at, value in enumerate(values)]
    return f"date,{heading}\n" + "\n".join(rows) + "\n"


def read(path: Path, options: ReadOptions | None = None) -> Temperatures:
    result, reader = read_usage(path, options)
    assert reader == "temperatures"
    assert result.temperatures is not None
    return result.temperatures


@pytest.mark.parametrize(
    "heading", ["temp_c", "Temperature (°C)", "TAVG C", "Mean temperature, Celsius"]
)
def test_daily_celsius_stand_at_midnight_utc_of_their_date(write: Write, heading: str) -> None:
    found = read(write(daily(f'"{heading}"', [1.5, -4.0, 7.0])))
    assert datetime.fromtimestamp(found.start_s, UTC) == datetime(2023, 3, 1, tzinfo=UTC)
    assert found.step_s == 86_400
    assert found.outdoor_c == pytest.approx([1.5, -4.0, 7.0])


def test_fahrenheit_is_converted(write: Write) -> None:
    """Fixed points of the scales: 32 °F = 0 °C, 212 °F = 100 °C, -40 in both."""
    found = read(write(daily("TAVG (°F)", [32, 50, -40])))
    assert found.outdoor_c == pytest.approx([0.0, 10.0, -40.0])


def test_mean_of_highest_and_lowest(write: Write) -> None:
    text = "DATE,TMAX_F,TMIN_F\n2023-03-01,68,32\n2023-03-02,50,50\n"
    assert read(write(text)).outdoor_c == pytest.approx([10.0, 10.0])


def test_dew_point_and_wind_are_passed_over(write: Write) -> None:
    text = "date,dew point °C,temperature °C,wind\n2023-03-01,1,10,4\n2023-03-02,2,11,5\n"
    assert read(write(text)).outdoor_c == pytest.approx([10.0, 11.0])


def test_unit_is_told_by_heat_that_is_not_found_on_earth(write: Write) -> None:
    assert read(write(daily("temp", [41, 86]))).outdoor_c == pytest.approx([5.0, 30.0])


def test_unit_is_asked_for(write: Write) -> None:
    path = write(daily("temp", [20, 30]))
    with pytest.raises(DataError, match="may be in °C or °F"):
        read(path)
    assert read(path, ReadOptions(unit="°C")).outdoor_c == pytest.approx([20.0, 30.0])
    assert read(path, ReadOptions(unit="F")).outdoor_c[0] == pytest.approx(-6.667, abs=1e-3)


def test_hourly_local_time_with_a_gap(write: Write) -> None:
    text = "time,temp_c\n" + "".join(
        f"2023-03-12 {hour:02d}:00,{hour}\n" for hour in range(8) if hour != 5
    )
    found = read(write(text), ReadOptions(timezone="America/New_York"))
    assert datetime.fromtimestamp(found.start_s, UTC).hour == 5
    assert found.outdoor_c[:2] == pytest.approx([0.0, 1.0])
    assert int(np.isnan(found.outdoor_c).sum()) == 1
    with pytest.raises(DataError, match="zone"):
        read(write(text))


@pytest.mark.parametrize("blank", [9999, -99.9])
def test_blanks_written_as_numbers_are_refused(write: Write, blank: float) -> None:
    with pytest.raises(DataError, match="no outdoor temperature"):
        read(write(daily("temp_c", [10, blank])))


def test_temperature_beside_energy_is_read_as_energy(write: Write) -> None:
    text = "time,kWh,temp_c\n2023-03-01 00:00,1,5\n2023-03-01 01:00,2,5\n"
    _, reader = read_usage(write(text), ReadOptions(timezone="Etc/UTC"))
    assert reader == "delimited"
    asked, _ = read_usage(write(text), ReadOptions(timezone="Etc/UTC"), reader="temperatures")
    assert asked.temperatures is not None
    assert asked.temperatures.outdoor_c == pytest.approx([5.0, 5.0])
