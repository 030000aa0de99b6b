"""loadlib: what a house really draws, from labels, bills and meters.

The public names are below; each is imported when first used, so ``import loadlib`` stays
quick and loads no heavy library. ``loadlib.hooks`` is the door for plugins and
``loadlib.testing`` the kit that tests them.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from loadlib.core.category import Category as Category
    from loadlib.core.category import SourcedValue as SourcedValue
    from loadlib.core.claims import DemandClaim as DemandClaim
    from loadlib.core.claims import LoadClaim as LoadClaim
    from loadlib.core.claims import When as When
    from loadlib.core.evidence import Evidence as Evidence
    from loadlib.core.household import Appliance as Appliance
    from loadlib.core.household import Circuit as Circuit
    from loadlib.core.household import House as House
    from loadlib.core.load import Load as Load
    from loadlib.core.profile import LoadProfile as LoadProfile
    from loadlib.core.ranges import Range as Range
    from loadlib.core.readings import Reading as Reading
    from loadlib.core.series import BillPeriod as BillPeriod
    from loadlib.core.series import ReadOptions as ReadOptions
    from loadlib.core.series import ReadResult as ReadResult
    from loadlib.core.series import Series as Series
    from loadlib.core.series import Temperatures as Temperatures
    from loadlib.errors import CatalogError as CatalogError
    from loadlib.errors import DataError as DataError
    from loadlib.errors import InputError as InputError
    from loadlib.errors import LabelUnreadable as LabelUnreadable
    from loadlib.errors import LoadlibError as LoadlibError
    from loadlib.errors import NotFound as NotFound
    from loadlib.errors import PluginError as PluginError
    from loadlib.errors import UnitUnknown as UnitUnknown
    from loadlib.estimating import estimate as estimate
    from loadlib.labels import RatingLabel as RatingLabel
    from loadlib.labels import read_label as read_label
    from loadlib.peak import PeakEstimate as PeakEstimate
    from loadlib.peak import peak_from_bills as peak_from_bills
    from loadlib.peak import peak_from_series as peak_from_series
    from loadlib.store.seed import seed_root as seed_root

    __version__: str

_HOME = {
    "Appliance": "loadlib.core.household",
    "BillPeriod": "loadlib.core.series",
    "CatalogError": "loadlib.errors",
    "Category": "loadlib.core.category",
    "Circuit": "loadlib.core.household",
    "DataError": "loadlib.errors",
    "DemandClaim": "loadlib.core.claims",
    "Evidence": "loadlib.core.evidence",
    "House": "loadlib.core.household",
    "InputError": "loadlib.errors",
    "LabelUnreadable": "loadlib.errors",
    "Load": "loadlib.core.load",
    "LoadClaim": "loadlib.core.claims",
    "LoadProfile": "loadlib.core.profile",
    "LoadlibError": "loadlib.errors",
    "NotFound": "loadlib.errors",
    "PluginError": "loadlib.errors",
    "Range": "loadlib.core.ranges",
    "PeakEstimate": "loadlib.peak",
    "RatingLabel": "loadlib.labels",
    "ReadOptions": "loadlib.core.series",
    "ReadResult": "loadlib.core.series",
    "Reading": "loadlib.core.readings",
    "Series": "loadlib.core.series",
    "SourcedValue": "loadlib.core.category",
    "Temperatures": "loadlib.core.series",
    "UnitUnknown": "loadlib.errors",
    "When": "loadlib.core.claims",
    "estimate": "loadlib.estimating",
    "peak_from_bills": "loadlib.peak",
    "peak_from_series": "loadlib.peak",
    "read_label": "loadlib.labels",
    "seed_root": "loadlib.store.seed",
}

__all__ = sorted([*_HOME, "__version__"], key=str.casefold)


def __getattr__(name: str) -> object:
    if name == "__version__":
        from importlib.metadata import version

        return version("loadlib")
    if name in _HOME:
        value = getattr(import_module(_HOME[name]), name)
        globals()[name] = value
        return value
    raise AttributeError(f"module 'loadlib' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
