"""Measured series: bills, interval data and temperatures, as plain frozen objects.

A slot covers ``[start, start + step)``; its value is the mean over the slot. Missing slots
are NaN and are never filled in.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import InputError

__all__ = ["BillPeriod", "ReadOptions", "ReadResult", "Series", "Temperatures"]

WHOLE = "whole"


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """Mean power on a regular grid.

    Parameters
    ----------
    channel : str
        what it is called, e.g. the meter's id.
    place : str
        ``"whole"``, ``"leg A"``, ``"circuit NAME"`` or ``"appliance ID"``.
    flow : str
        ``"import"``, ``"export"``, ``"net"`` (import minus export) or ``"load"``.
    start_s : int
        UTC epoch seconds of the first slot's start. [s]
    step_s : int
        slot length. [s]
    mean_w : NDArray
        mean power of each slot, shape (n,), NaN where missing. [W]
    timezone : str
        IANA name, empty when unknown.
    source : str
        where it was read from, for the provenance.
    notes : tuple of str
        gaps, duplicates, folded hours: what the reader counted.
    """

    channel: str
    place: str
    flow: str
    start_s: int
    step_s: int
    mean_w: NDArray[np.float64]
    timezone: str = ""
    source: str = ""
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.step_s <= 0:
            raise InputError(f"series {self.channel}: step {self.step_s} s")
        if self.flow not in ("import", "export", "net", "load"):
            raise InputError(f"series {self.channel}: flow {self.flow!r}")

    @property
    def energy_wh(self) -> float:
        """Energy of the slots that are there. [Wh]"""
        return float(np.nansum(self.mean_w)) * self.step_s / 3600.0

    @property
    def missing(self) -> int:
        """How many slots are missing."""
        return int(np.isnan(self.mean_w).sum())

    @property
    def span_s(self) -> int:
        """From the first slot's start to the last one's end. [s]"""
        return int(self.mean_w.size) * self.step_s

    @property
    def end_s(self) -> int:
        """Where the last slot ends, UTC epoch seconds. [s]"""
        return self.start_s + self.span_s

    def times_s(self) -> NDArray[np.int64]:
        """Start of each slot, UTC epoch seconds, shape (n,). [s]"""
        return self.start_s + self.step_s * np.arange(self.mean_w.size, dtype=np.int64)


@dataclass(frozen=True, slots=True)
class BillPeriod:
    """One billing period: from ``first_day`` up to, not including, ``day_after``.

    ``cost`` is money and never used as energy.
    """

    first_day: date
    day_after: date
    energy_wh: float
    cost: float | None = None
    estimated: bool = False
    source: str = ""

    @property
    def duration_s(self) -> float:
        """Length of the period, whole days. [s]"""
        return (self.day_after - self.first_day).days * 86_400.0


@dataclass(frozen=True, slots=True, eq=False)
class Temperatures:
    """Outdoor temperature on a regular grid, shape (n,), NaN where missing. [°C]"""

    start_s: int
    step_s: int
    outdoor_c: NDArray[np.float64]
    source: str = ""


@dataclass(frozen=True, slots=True)
class ReadOptions:
    """What a person states about a file beforehand; empty means "work it out and say so".

    ``timezone`` is an IANA name; ``unit`` is ``"kWh"``, ``"Wh"``, ``"kW"`` or ``"W"``;
    ``stamp`` is ``"start"`` or ``"end"`` of the interval; ``columns`` maps a meaning (time,
    date, import, export, temperature …) to a column's heading; ``day_first`` settles dates
    such as 03/04; ``channel`` picks one meter where the file holds several.
    """

    timezone: str = ""
    unit: str = ""
    stamp: str = ""
    day_first: bool | None = None
    channel: str = ""
    columns: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class ReadResult:
    """What a reader found in a file: series, bills, temperatures, and remarks in words."""

    series: tuple[Series, ...] = ()
    bills: tuple[BillPeriod, ...] = ()
    temperatures: Temperatures | None = None
    notes: tuple[str, ...] = ()
