"""The conformance kit catches what it promises to catch."""

from __future__ import annotations

import socket
import time
from collections.abc import Callable, Iterable
from datetime import datetime
from pathlib import Path
from typing import Any, ClassVar

import pytest

from loadlib.core.claims import Claim, LoadClaim
from loadlib.core.evidence import Evidence
from loadlib.core.ranges import Range
from loadlib.errors import InputError
from loadlib.testing import EstimatorContract, guard, sample_evidence

_calls = 0


def good(evidence: Evidence) -> list[Claim]:
    return [LoadClaim("pump", "running_w", Range(900, 1000, 1100), source="a clamp")]


class Acting:
    name = "acting"
    summary = "does what a test wants"

    def __init__(self, act: Callable[[Evidence], Iterable[Claim]] = good) -> None:
        self.act = act

    def needs(self, evidence: Evidence) -> list[str]:
        return []

    def claims(self, evidence: Evidence) -> Iterable[Claim]:
        return self.act(evidence)


class TestGood(EstimatorContract):
    plausible: ClassVar = {"running_w": (200, 3000)}

    def make(self) -> Acting:
        return Acting()


def contract(act: Callable[[Evidence], Iterable[Claim]]) -> Any:
    class Contract(EstimatorContract):
        plausible: ClassVar = {"running_w": (200.0, 3000.0)}
        limit_s = 0.2

        def make(self) -> Acting:
            return Acting(act)

    return Contract()


def kilowatts(evidence: Evidence) -> list[Claim]:
    return [LoadClaim("pump", "running_w", Range(0.9, 1.0, 1.1), source="a clamp")]


def certain(evidence: Evidence) -> list[Claim]:
    return [LoadClaim("pump", "running_w", Range.exact(1000), source="a clamp")]


def moody(evidence: Evidence) -> list[Claim]:
    global _calls
    _calls += 1
    return [LoadClaim("pump", "running_w", Range(900, 1000, 1100 + _calls), source="a clamp")]


def writing(evidence: Evidence) -> list[Claim]:
    with open("/dev/null", "w") as file:
        file.write("x")
    return good(evidence)


def calling(evidence: Evidence) -> list[Claim]:
    with socket.socket() as link:
        link.settimeout(0.01)
        try:
            link.connect(("127.0.0.1", 9))
        except OSError:
            return good(evidence)
    return []


def meddling(evidence: Evidence) -> list[Claim]:
    evidence.categories.clear()  # type: ignore[attr-defined]  # the wrong that is tested
    return good(evidence)


def stumbling(evidence: Evidence) -> list[Claim]:
    return [good(evidence)[0]] if evidence.house.appliances[0] else []


def slow(evidence: Evidence) -> list[Claim]:
    time.sleep(0.3)
    return good(evidence)


@pytest.mark.parametrize(
    ("act", "test", "words"),
    [
        (kilowatts, "test_units_are_plausible", "claim 1: running_w 0.9 to 1.1 W, expected within"),
        (certain, "test_doubt_is_not_zero", "exactly 1000 W"),
        (moody, "test_same_seed_same_claims", ""),
        (writing, "test_it_touches_nothing_outside", "opened a file for writing: '/dev/null'"),
        (calling, "test_it_touches_nothing_outside", "opened a network connection"),
        (meddling, "test_evidence_is_left_as_it_was", "changed the evidence"),
        (lambda evidence: [], "test_it_says_something", "made no claim"),
        (lambda evidence: [1], "test_each_claim_is_a_claim_with_a_source", "claim 1: got 1"),
        (slow, "test_it_keeps_the_time", "took 0.3 s"),
    ],
)
def test_a_fault_is_caught_with_its_words(
    act: Callable[[Evidence], Iterable[Claim]], test: str, words: str
) -> None:
    with pytest.raises(AssertionError) as caught:
        getattr(contract(act), test)()
    assert words in str(caught.value)


def test_an_empty_house_that_breaks_is_caught() -> None:
    with pytest.raises(IndexError):
        contract(stumbling).test_an_empty_house_is_no_fault()


def test_what_can_not_be_pickled_is_caught() -> None:
    with pytest.raises(Exception, match="pickle"):
        contract(lambda evidence: good(evidence)).test_it_survives_pickling_and_a_worker_process()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"quantity": "running_kw"}, r"unknown quantity 'running_kw'"),
        ({"value": "2.1 kW"}, "expected a Range of plain numbers"),
        ({"source": " "}, "has no source"),
        ({"at": datetime(2026, 3, 29, 2, 30)}, "has no zone"),
        ({"value": Range(-5, 1, 2)}, "negative"),
        ({"quantity": "duty_share", "value": Range(0, 1, 20)}, "between 0 and 1"),
        ({"shape": ((1.0,),)}, "12 months of 24 hours"),
        ({"standing": "sure"}, "expected prior or evidence"),
    ],
)
def test_a_wrong_claim_can_not_be_made(changes: dict[str, Any], words: str) -> None:
    fields: dict[str, Any] = {
        "about": "pump",
        "quantity": "running_w",
        "value": Range(1, 2, 3),
        "source": "a clamp",
    }
    with pytest.raises(InputError, match=words):
        LoadClaim(**(fields | changes))


def test_reading_a_file_is_no_trespass(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("x")
    with guard() as report:
        assert path.read_text() == "x"
    assert report.acts == []


def test_fixtures_reach_plugin_authors(
    farmhouse_evidence: Evidence, empty_house_evidence: Evidence
) -> None:
    assert farmhouse_evidence.house == sample_evidence().house
    assert empty_house_evidence.house.appliances == ()
