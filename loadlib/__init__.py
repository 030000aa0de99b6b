"""loadlib: what a house really draws, from labels, bills and meters.

The public names are below; each is imported when first used, so ``import loadlib`` stays
quick and loads no heavy library. ``loadlib.hooks`` is the door for plugins and
``loadlib.testing`` the kit that tests them.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from loadlib import figures as figures
    from loadlib.core import cautions as cautions
    from loadlib.core.category import Category as Category
    from loadlib.core.category import SourcedValue as SourcedValue
    from loadlib.core.claims import DemandClaim as DemandClaim
    from loadlib.core.claims import LoadClaim as LoadClaim
    from loadlib.core.claims import When as When
    from loadlib.core.demand import Crossings as Crossings
    from loadlib.core.demand import Distribution as Distribution
    from loadlib.core.demand import Processes as Processes
    from loadlib.core.demand import crossings as crossings
    from loadlib.core.demand import distribution as distribution
    from loadlib.core.demand import processes as processes
    from loadlib.core.electrical import SYSTEMS as SYSTEMS
    from loadlib.core.electrical import System as System
    from loadlib.core.electrical import bridged_neutral_a as bridged_neutral_a
    from loadlib.core.electrical import neutral_a as neutral_a
    from loadlib.core.electrical import open_neutral_v as open_neutral_v
    from loadlib.core.electrical import system as system
    from loadlib.core.evidence import Evidence as Evidence
    from loadlib.core.household import Appliance as Appliance
    from loadlib.core.household import Circuit as Circuit
    from loadlib.core.household import House as House
    from loadlib.core.load import UNLISTED as UNLISTED
    from loadlib.core.load import Load as Load
    from loadlib.core.pickup import catch_up_s as catch_up_s
    from loadlib.core.pickup import energy_deficit_s as energy_deficit_s
    from loadlib.core.pickup import inflow_deficit_s as inflow_deficit_s
    from loadlib.core.profile import ClaimRecord as ClaimRecord
    from loadlib.core.profile import Demand as Demand
    from loadlib.core.profile import EvidenceRecord as EvidenceRecord
    from loadlib.core.profile import LoadProfile as LoadProfile
    from loadlib.core.profile import Peak as Peak
    from loadlib.core.profile import Suggestion as Suggestion
    from loadlib.core.ranges import Range as Range
    from loadlib.core.readings import Reading as Reading
    from loadlib.core.series import BillPeriod as BillPeriod
    from loadlib.core.series import ReadOptions as ReadOptions
    from loadlib.core.series import ReadResult as ReadResult
    from loadlib.core.series import Series as Series
    from loadlib.core.series import Temperatures as Temperatures
    from loadlib.core.simulate import Laws as Laws
    from loadlib.core.simulate import NoOverload as NoOverload
    from loadlib.core.simulate import no_overload as no_overload
    from loadlib.errors import EXIT_VERDICT as EXIT_VERDICT
    from loadlib.errors import CatalogError as CatalogError
    from loadlib.errors import DataError as DataError
    from loadlib.errors import InputError as InputError
    from loadlib.errors import LabelUnreadable as LabelUnreadable
    from loadlib.errors import LoadlibError as LoadlibError
    from loadlib.errors import NotFound as NotFound
    from loadlib.errors import PluginError as PluginError
    from loadlib.errors import UnitUnknown as UnitUnknown
    from loadlib.estimating import estimate as estimate
    from loadlib.exchange.house_toml import house_from_toml as house_from_toml
    from loadlib.exchange.house_toml import house_to_toml as house_to_toml
    from loadlib.files import read_profile as read_profile
    from loadlib.files import read_text as read_text
    from loadlib.files import write_text as write_text
    from loadlib.labels import RatingLabel as RatingLabel
    from loadlib.labels import read_label as read_label
    from loadlib.peak import PeakEstimate as PeakEstimate
    from loadlib.peak import peak_from_bills as peak_from_bills
    from loadlib.peak import peak_from_series as peak_from_series
    from loadlib.readers import read_usage as read_usage
    from loadlib.store.seed import seed_root as seed_root

    __version__: str

_HOME = {
    "Appliance": "loadlib.core.household",
    "BillPeriod": "loadlib.core.series",
    "bridged_neutral_a": "loadlib.core.electrical",
    "CatalogError": "loadlib.errors",
    "catch_up_s": "loadlib.core.pickup",
    "Category": "loadlib.core.category",
    "Circuit": "loadlib.core.household",
    "ClaimRecord": "loadlib.core.profile",
    "Crossings": "loadlib.core.demand",
    "crossings": "loadlib.core.demand",
    "DataError": "loadlib.errors",
    "Demand": "loadlib.core.profile",
    "DemandClaim": "loadlib.core.claims",
    "Distribution": "loadlib.core.demand",
    "distribution": "loadlib.core.demand",
    "energy_deficit_s": "loadlib.core.pickup",
    "estimate": "loadlib.estimating",
    "Evidence": "loadlib.core.evidence",
    "EvidenceRecord": "loadlib.core.profile",
    "EXIT_VERDICT": "loadlib.errors",
    "House": "loadlib.core.household",
    "house_from_toml": "loadlib.exchange.house_toml",
    "house_to_toml": "loadlib.exchange.house_toml",
    "inflow_deficit_s": "loadlib.core.pickup",
    "InputError": "loadlib.errors",
    "LabelUnreadable": "loadlib.errors",
    "Laws": "loadlib.core.simulate",
    "Load": "loadlib.core.load",
    "LoadClaim": "loadlib.core.claims",
    "LoadlibError": "loadlib.errors",
    "LoadProfile": "loadlib.core.profile",
    "neutral_a": "loadlib.core.electrical",
    "no_overload": "loadlib.core.simulate",
    "NoOverload": "loadlib.core.simulate",
    "NotFound": "loadlib.errors",
    "open_neutral_v": "loadlib.core.electrical",
    "Peak": "loadlib.core.profile",
    "peak_from_bills": "loadlib.peak",
    "peak_from_series": "loadlib.peak",
    "PeakEstimate": "loadlib.peak",
    "PluginError": "loadlib.errors",
    "Processes": "loadlib.core.demand",
    "processes": "loadlib.core.demand",
    "Range": "loadlib.core.ranges",
    "RatingLabel": "loadlib.labels",
    "read_label": "loadlib.labels",
    "read_profile": "loadlib.files",
    "read_text": "loadlib.files",
    "read_usage": "loadlib.readers",
    "Reading": "loadlib.core.readings",
    "ReadOptions": "loadlib.core.series",
    "ReadResult": "loadlib.core.series",
    "seed_root": "loadlib.store.seed",
    "Series": "loadlib.core.series",
    "SourcedValue": "loadlib.core.category",
    "Suggestion": "loadlib.core.profile",
    "System": "loadlib.core.electrical",
    "system": "loadlib.core.electrical",
    "SYSTEMS": "loadlib.core.electrical",
    "Temperatures": "loadlib.core.series",
    "UnitUnknown": "loadlib.errors",
    "UNLISTED": "loadlib.core.load",
    "When": "loadlib.core.claims",
    "write_text": "loadlib.files",
}

__all__ = sorted([*_HOME, "__version__", "cautions", "figures"], key=str.casefold)


def __getattr__(name: str) -> object:
    if name == "__version__":
        from importlib.metadata import version

        return version("loadlib")
    if name == "cautions":
        return import_module("loadlib.core.cautions")
    if name == "figures":
        return import_module("loadlib.figures")
    if name in _HOME:
        value = getattr(import_module(_HOME[name]), name)
        globals()[name] = value
        return value
    raise AttributeError(f"module 'loadlib' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
