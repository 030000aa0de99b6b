"""Everything that this plugin takes from loadlib, in one place: public names only."""

from __future__ import annotations

from loadlib import (
    SYSTEMS,
    UNLISTED,
    Circuit,
    Crossings,
    DataError,
    Distribution,
    InputError,
    Laws,
    Load,
    LoadlibError,
    LoadProfile,
    NoOverload,
    NotFound,
    Processes,
    Range,
    Reading,
    System,
    bridged_neutral_a,
    catch_up_s,
    cautions,
    crossings,
    distribution,
    neutral_a,
    no_overload,
    processes,
    seed_root,
    system,
)
from loadlib.errors import EXIT_VERDICT

__all__ = [
    "ESTIMATE",
    "EXIT_VERDICT",
    "SOURCE",
    "SYSTEMS",
    "UNLISTED",
    "Circuit",
    "Crossings",
    "DataError",
    "Distribution",
    "InputError",
    "Laws",
    "Load",
    "LoadProfile",
    "LoadlibError",
    "NoOverload",
    "NotFound",
    "Processes",
    "Range",
    "Reading",
    "System",
    "bridged_neutral_a",
    "catch_up_s",
    "crossings",
    "distribution",
    "neutral_a",
    "no_overload",
    "processes",
    "seed_root",
    "system",
]

ESTIMATE = cautions.ESTIMATE
SOURCE = cautions.SOURCE
