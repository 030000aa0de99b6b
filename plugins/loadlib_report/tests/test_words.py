"""Numbers in words and the three sentences."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from loadlib import LoadProfile, Range
from loadlib_report.amounts import energy, in_sentence, often, plain, power, powers, window
from loadlib_report.answer import answer
from loadlib_report.loads import believed, hardest, load_rows, yearly_wh
from loadlib_report.overloads import overloads

Variant = Callable[..., LoadProfile]


def spaced(text: str) -> str:
    return text.replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "0"), (0.0284, "0.028"), (9.0, "9"), (99.4, "99"), (100.0, "100"), (9297.4, "9,300"),
     (12376.9, "12,400"), (1.0, "1"), (0.30, "0.3"), (-3.25, "-3.2"), (1e-9, "0")],
)  # fmt: skip
def test_plain(value: float, text: str) -> None:
    assert plain(value) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [(120.0, "120 W"), (999.6, "1 kW"), (1330.0, "1.3 kW"), (12600.0, "13 kW"), (0.4, "0.4 W")],
)
def test_power(value: float, text: str) -> None:
    assert spaced(power(value)) == text


def test_ranges() -> None:
    assert spaced(powers(Range(90, 120, 200))) == "90 to 200 W"
    assert spaced(powers(Range(900, 950, 1100), "VA")) == "900 VA to 1.1 kVA"
    assert spaced(powers(Range.exact(1500))) == "1.5 kW"
    assert spaced(energy(Range(640e3, 700e3, 910e3))) == "640 to 910 kWh"


@pytest.mark.parametrize(
    ("per_day", "text"),
    [(48.0, "2 an hour"), (24.0, "1 an hour"), (3.0, "3 a day"), (2 / 7, "2 a week"),
     (12 / 365, "1 a month"), (5 / 365, "5 a year"), (0.0, "almost never")],
)  # fmt: skip
def test_often(per_day: float, text: str) -> None:
    assert often(per_day) == text


def test_small_words() -> None:
    assert [window(s) for s in (3600, 1800, 60, 10)] == [
        "hour", "30 minutes", "minute", "10 seconds",
    ]  # fmt: skip
    assert len(in_sentence("n" * 500)) == 62  # with the two marks around what is not ASCII
    assert in_sentence("deep-well pump") == "deep-well pump"
    assert in_sentence("مضخة \u202egnp.exe") == "\u2068مضخة gnp.exe\u2069"


def test_three_sentences(profile: LoadProfile) -> None:
    first, second, third = map(spaced, answer(profile, overloads(profile)))
    assert first == (
        "Farmhouse on the ridge uses about 6,000 kWh a year (5,100 to 8,100 kWh), a mean of 685 W; "
        "its highest hour of the year takes about 4.6 kW (3.9 to 5.8 kW; calibrated)."
    )
    assert second == (
        "The hardest start is that of the deep-well pump: about 13 kVA (10 to 15 kVA) for 0.3 s, "
        "against 2.4 kVA while running."
    )
    assert third.startswith(
        "With everything left switched on, at typical values, a source that carries every start "
    )
    for sentence in (first, second, third):
        assert sentence.endswith(".")
        assert ". " not in sentence
        assert "safe" not in sentence


def test_answers_where_little_is_known(variant: Variant) -> None:
    nothing = variant(loads=(), demand=(), peaks=())
    first, second, third = answer(nothing, None)
    assert "highest demand is not known" in first
    assert second.startswith("No load is known")
    assert third.startswith("Nothing is known to switch")
    still = variant(loads=tuple(replace(one, start_va=None) for one in nothing.loads) or ())
    assert answer(still, None)[1].startswith("No load")


def test_the_best_founded_peak_is_told(profile: LoadProfile, variant: Variant) -> None:
    model = replace(profile.peaks[0], basis="model, uncalibrated", power_w=Range.exact(9e3))
    measured = replace(model, basis="measured", power_w=Range.exact(4.1e3))
    half = replace(measured, window_s=1800, power_w=Range.exact(5e3))
    for peaks in ((model, half, measured), (measured, half, model)):
        assert "4.1 kW; measured)" in spaced(answer(variant(peaks=peaks), None)[0])
    first = spaced(answer(variant(peaks=(half,)), None)[0])
    assert "its highest 30 minutes of the year takes about 5 kW" in first


def test_a_house_without_steps_at_a_start(profile: LoadProfile, variant: Variant) -> None:
    plain_loads = tuple(replace(one, start_va=None) for one in profile.loads)
    second = spaced(answer(variant(loads=plain_loads), None)[1])
    assert "water heater, 4.4 kVA" in second


def test_energy_of_a_load(profile: LoadProfile) -> None:
    # 4400 W on 7 % of 8760 h.
    assert yearly_wh(profile.load("water-heater")) == pytest.approx(4400 * 0.07 * 8760)
    lamps = profile.load("lamps")
    on = (17 * 0.05 + 7 * 0.5) / 24
    assert yearly_wh(lamps) == pytest.approx(14 * 8760 * (9 * on + 0.2 * (1 - on)))


def test_rows_hold_range_source_and_belief(profile: LoadProfile) -> None:
    heard = believed(profile)
    rows = load_rows(profile, heard)
    assert rows[0].name == "water heater"
    pump = next(row for row in rows if row.name == "deep-well pump")
    assert pump.known == "its label"
    assert pump.sources == ("running: label, 2000 W",)
    assert [(c.quantity, c.belief) for c in pump.believed] == [
        ("running", "believed, 0.2 σ off"),
        ("share of time on", "in part (60 %), 0.1 σ off"),
    ]
    assert ("In an outage", "must run, may be off for 4 h") in pump.facts
    aid = next(row for row in rows if row.name == "breathing aid")
    assert aid.facts[-1] == ("In an outage", "wanted; medical: never shed by default")
    assert aid.known == "a guess"
    assert [c.about for c in heard if c.doubted] == ["refrigerator"]
    assert next(c for c in heard if c.doubted).belief == "hardly believed (5 %), 8.2 σ off"


def test_hardest_first(profile: LoadProfile) -> None:
    assert [load.id for load in hardest(profile, 3)] == ["well-pump", "water-heater", "sump-pump"]
