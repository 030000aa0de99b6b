"""pytest plugin of loadlib, loaded by its entry point; imports loadlib only when used."""

from __future__ import annotations

from typing import Any

import pytest


@pytest.fixture
def farmhouse_evidence() -> Any:
    """A small invented house with bills and readings, as an Evidence object."""
    from loadlib.testing.samples import sample_evidence

    return sample_evidence()


@pytest.fixture
def empty_house_evidence() -> Any:
    """A house in which nobody has entered anything."""
    from loadlib.testing.samples import empty_evidence

    return empty_evidence()
