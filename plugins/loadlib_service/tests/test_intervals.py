"""Interval table of two columns."""

from __future__ import annotations

import math

import pytest

from loadlib import DataError
from loadlib_service.intervals import series_from_csv


def test_gaps_stay_gaps() -> None:
    text = (
        "start,kwh\n2024-01-14T07:00-05:00,0.5\n2024-01-14T07:15-05:00,1.175\n\n"
        "2024-01-14T07:45-05:00,\n2024-01-14T08:00-05:00,0.25\n"
    )
    found = series_from_csv(text, path="a.csv")
    assert found.step_s == 900
    assert [None if math.isnan(w) else round(w) for w in found.mean_w] == [
        2000,
        4700,
        None,
        None,
        1000,
    ]


@pytest.mark.parametrize(
    ("text", "words", "line"),
    [
        ("time,kw\n", "heading", 1),
        ("start,kwh\n2024-01-14T07:00,1\n", "no offset", 2),
        ("start,kwh\nyesterday,1\n", "not a start and kWh", 2),
        ("start,kwh\n2024-01-14T07:00-05:00\n", "not a start and kWh", 2),
        ("start,kwh\n2024-01-14T07:00-05:00,inf\n", "inf", 2),
        (
            "start,kwh\n2024-01-14T07:15-05:00,1\n2024-01-14T07:00-05:00,1\n",
            "not later",
            3,
        ),
        (
            "start,kwh\n2024-01-14T07:00-05:00,1\n2024-01-14T07:15-05:00,1\n"
            "2024-01-14T07:40-05:00,1\n",
            "grid",
            4,
        ),
    ],
)
def test_broken_tables_name_the_line(text: str, words: str, line: int) -> None:
    with pytest.raises(DataError, match=words) as caught:
        series_from_csv(text, path="a.csv")
    assert caught.value.line == line


def test_too_few_and_too_far() -> None:
    with pytest.raises(DataError, match="fewer than two"):
        series_from_csv("start,kwh\n2024-01-14T07:00-05:00,1\n")
    far = "start,kwh\n0001-01-01T00:00+00:00,1\n0001-01-01T00:01+00:00,1\n9000-01-01T00:00+00:00,1"
    with pytest.raises(DataError, match="gap too long"):
        series_from_csv(far)
