"""LoadProfile: the document that everything downstream reads, version 1.

Plain frozen objects of strings, numbers and tuples: ``loadlib.exchange`` turns them into
JSON, CSV and Arrow. Every number carries its unit in its key. Hours are local clock
hours; months are 1 to 12. A consumer needs nothing but this document.
"""

from __future__ import annotations

from dataclasses import dataclass

from loadlib.core.electrical import System, system
from loadlib.core.household import Circuit
from loadlib.core.load import Grid, Load
from loadlib.core.ranges import Range
from loadlib.errors import NotFound

__all__ = [
    "SCHEMA_NAME",
    "SCHEMA_VERSION",
    "ClaimRecord",
    "Demand",
    "EvidenceRecord",
    "LoadProfile",
    "Peak",
    "Suggestion",
]

SCHEMA_NAME = "loadlib-profile"
SCHEMA_VERSION = 1


@dataclass(frozen=True, slots=True)
class Demand:
    """Demand at a random instant of each hour of each month, at typical values.

    ``place`` is ``"whole"`` or ``"leg A"``. Spread over time only: belief about the
    numbers lies in ``Peak`` and in the loads. [W]
    """

    place: str
    mean_w: Grid
    p05_w: Grid
    p50_w: Grid
    p95_w: Grid
    p99_w: Grid


@dataclass(frozen=True, slots=True)
class Peak:
    """The highest mean over ``window_s`` in a period, as a belief.

    ``basis`` is ``"measured"``, ``"calibrated"`` (a ratio or band fitted on real homes) or
    ``"model, uncalibrated"``. ``period`` is ``"year"`` or ``"month 1"`` … ``"month 12"``.
    """

    place: str
    window_s: int
    period: str
    power_w: Range
    basis: str
    at: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class ClaimRecord:
    """One claim as it was heard: what it said, what came out, how far apart they are.

    ``sigmas`` is the distance of the claim from the result in its own standard
    deviations; ``weight`` (0 to 1) how far it was believed by the robust fit.
    """

    estimator: str
    text: str
    about: str
    quantity: str
    unit: str
    value: Range
    result: Range
    sigmas: float
    weight: float
    standing: str
    source: str


@dataclass(frozen=True, slots=True)
class EvidenceRecord:
    """A piece of evidence that was used: kind, what it is, period, counts."""

    kind: str
    text: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Suggestion:
    """What to measure next: by how much it narrows the answer, and how to do it.

    ``narrows_share`` is the expected cut of the answer's band (0 to 1);
    ``qualified_person`` is true where an open panel would be needed.
    """

    text: str
    instrument: str
    answer: str
    narrows_share: float
    qualified_person: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadProfile:
    """What a house draws, with how sure each number is and where it comes from."""

    schema: str = SCHEMA_NAME
    version: int = SCHEMA_VERSION
    house: str
    system: str
    legs: tuple[str, ...]
    service_a: float | None = None
    area_ft2: float | None = None
    timezone: str = ""
    circuits: tuple[Circuit, ...] = ()
    loads: tuple[Load, ...] = ()
    demand: tuple[Demand, ...] = ()
    peaks: tuple[Peak, ...] = ()
    energy_wh_by_month: tuple[Range, ...] = ()
    energy_wh_per_year: Range
    evidence: tuple[EvidenceRecord, ...] = ()
    claims: tuple[ClaimRecord, ...] = ()
    disagreements: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    suggestions: tuple[Suggestion, ...] = ()
    method: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    loadlib_version: str = ""
    seed: int = 1

    @property
    def supply(self) -> System:
        """The voltage system, resolved."""
        return system(self.system)

    def load(self, key: str) -> Load:
        """The load of that id or name."""
        for load in self.loads:
            if key.casefold() in (load.id.casefold(), load.name.casefold()):
                return load
        raise NotFound("load", key, near=tuple(load.id for load in self.loads)[:5])

    def demand_at(self, place: str = "whole") -> Demand:
        """Demand of ``"whole"`` or ``"leg A"``."""
        for demand in self.demand:
            if demand.place == place:
                return demand
        raise NotFound("place", place, near=tuple(d.place for d in self.demand))

    def hardest_start(self) -> Load | None:
        """The load with the largest typical start, or None in an empty house."""
        return max(self.loads, key=lambda load: load.largest_va.typical, default=None)

    def to_json(self) -> str:
        """The document as JSON text; ``from_json`` gives back an equal object."""
        from loadlib.exchange.json_document import to_json

        return to_json(self)

    @staticmethod
    def from_json(text: str | bytes) -> LoadProfile:
        """Read a document; DataError when it is broken or of a newer version."""
        from loadlib.exchange.json_document import from_json

        return from_json(text)

    def __arrow_c_stream__(self, requested_schema: object = None) -> object:
        """Demand as an Arrow stream (PyCapsule); the document travels in its metadata."""
        from loadlib.exchange.tables import arrow_table

        return arrow_table(self).__arrow_c_stream__(requested_schema)
