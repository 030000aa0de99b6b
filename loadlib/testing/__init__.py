"""The kit for authors of plugins.

``EstimatorContract`` is a test class to inherit from; ``sample_evidence`` makes a small
invented house to test on; ``guard`` runs code and reports whatever it touched outside.
pytest loads the fixtures of ``loadlib.testing.plugin`` by itself.
"""

from __future__ import annotations

from loadlib.testing.contract import EstimatorContract
from loadlib.testing.guard import Trespass, guard
from loadlib.testing.samples import empty_evidence, sample_evidence

__all__ = ["EstimatorContract", "Trespass", "empty_evidence", "guard", "sample_evidence"]
