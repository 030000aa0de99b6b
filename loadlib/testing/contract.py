"""EstimatorContract: what every estimator must hold, as tests to inherit.

    class TestRidgePump(EstimatorContract):
        plausible = {"running_w": (200, 3000)}

        def make(self):
            return RidgePump()

        def evidence(self):
            return sample_evidence()

The built-in estimators run the same tests.
"""

from __future__ import annotations

import multiprocessing
import pickle
import time
from collections.abc import Mapping
from concurrent.futures import ProcessPoolExecutor
from typing import ClassVar

from loadlib.core.claims import Claim, DemandClaim, LoadClaim
from loadlib.core.evidence import Evidence
from loadlib.hooks import Estimator
from loadlib.testing.guard import guard
from loadlib.testing.samples import empty_evidence, sample_evidence

__all__ = ["EstimatorContract"]


def _claims(estimator: Estimator, evidence: Evidence) -> list[Claim]:
    return [] if estimator.needs(evidence) else list(estimator.claims(evidence))


class EstimatorContract:
    """Inherit from this, define ``make`` and perhaps ``evidence`` and ``plausible``."""

    plausible: ClassVar[Mapping[str, tuple[float, float]]] = {}
    """For each quantity that you claim, the span in which every sane value lies, in the
    unit that its name ends in: this is what catches kW given as W."""

    limit_s: ClassVar[float] = 10.0
    """Longest time that one call of ``claims`` may take. [s]"""

    def make(self) -> Estimator:
        """Your estimator, ready to be asked."""
        raise AssertionError("define make() in your test class: return your estimator")

    def evidence(self) -> Evidence:
        """Evidence on which your estimator has something to say."""
        return sample_evidence()

    def test_it_is_an_estimator(self) -> None:
        estimator = self.make()
        assert isinstance(estimator, Estimator), "needs name, summary, needs() and claims()"
        assert estimator.name.strip()
        assert "\n" not in estimator.summary

    def test_it_says_something(self) -> None:
        estimator, evidence = self.make(), self.evidence()
        assert estimator.needs(evidence) == [], "evidence() must hold all that it needs"
        assert _claims(estimator, evidence), f"estimator {estimator.name} made no claim"

    def test_each_claim_is_a_claim_with_a_source(self) -> None:
        estimator = self.make()
        for index, claim in enumerate(_claims(estimator, self.evidence()), start=1):
            who = f"estimator {estimator.name}, claim {index}"
            assert isinstance(claim, LoadClaim | DemandClaim), f"{who}: got {claim!r}"
            assert claim.source.strip(), f"{who}: no source"
            assert claim.at is None or claim.at.tzinfo is not None, f"{who}: time without zone"

    def test_units_are_plausible(self) -> None:
        estimator = self.make()
        for index, claim in enumerate(_claims(estimator, self.evidence()), start=1):
            span = self.plausible.get(claim.quantity)
            if span is None:
                continue
            low, high = span
            assert low <= claim.value.low <= claim.value.high <= high, (
                f"estimator {estimator.name}, claim {index}: {claim.quantity} "
                f"{claim.value.low:g} to {claim.value.high:g} {claim.unit}, expected within "
                f"{low:g} to {high:g} {claim.unit}; given in another unit?"
            )

    def test_doubt_is_not_zero(self) -> None:
        estimator = self.make()
        for index, claim in enumerate(_claims(estimator, self.evidence()), start=1):
            # Exactly nothing is allowed: "it has no standby draw, it has no start".
            assert not claim.value.is_exact or claim.value.typical == 0.0, (
                f"estimator {estimator.name}, claim {index}: {claim.quantity} is exactly "
                f"{claim.value.typical:g} {claim.unit}; every measurement has a doubt"
            )

    def test_same_seed_same_claims(self) -> None:
        evidence = self.evidence()
        assert _claims(self.make(), evidence) == _claims(self.make(), evidence)

    def test_it_touches_nothing_outside(self) -> None:
        estimator, evidence = self.make(), self.evidence()
        _claims(estimator, evidence)  # imports happen here, before the watch
        with guard() as report:
            _claims(estimator, evidence)
        assert report.acts == [], f"estimator {estimator.name}: {'; '.join(report.acts)}"

    def test_evidence_is_left_as_it_was(self) -> None:
        estimator, evidence = self.make(), self.evidence()
        before = _frozen(evidence)
        _claims(estimator, evidence)
        assert _frozen(evidence) == before, f"estimator {estimator.name} changed the evidence"

    def test_an_empty_house_is_no_fault(self) -> None:
        for claim in _claims(self.make(), empty_evidence()):
            assert isinstance(claim, LoadClaim | DemandClaim)

    def test_it_survives_pickling_and_a_worker_process(self) -> None:
        estimator, evidence = self.make(), self.evidence()
        here = _claims(estimator, evidence)
        again = pickle.loads(pickle.dumps((estimator, evidence)))
        assert _claims(*again) == here
        context = multiprocessing.get_context("spawn")
        with ProcessPoolExecutor(1, mp_context=context) as pool:
            assert pool.submit(_claims, estimator, evidence).result(timeout=120) == here

    def test_it_keeps_the_time(self) -> None:
        estimator, evidence = self.make(), self.evidence()
        started = time.monotonic()
        _claims(estimator, evidence)
        took_s = time.monotonic() - started
        assert took_s <= self.limit_s, f"estimator {estimator.name} took {took_s:.1f} s"


def _frozen(evidence: Evidence) -> bytes:
    return pickle.dumps(evidence)
