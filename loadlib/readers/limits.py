"""Bounds on what is read from outside, so that no file can fill memory or run for ever.

The defaults hold ten years of one-minute readings; a test sets them smaller.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

__all__ = [
    "EARLIEST_S",
    "INT48",
    "LATEST_S",
    "LIMITS",
    "LONGEST_S",
    "MOST_W",
    "MOST_WH_PER_DAY",
    "Limits",
]

#: Interval meters for homes are younger than this; an earlier stamp is a broken clock. [s]
EARLIEST_S: Final = int(datetime(1980, 1, 1, tzinfo=UTC).timestamp())
LATEST_S: Final = int(datetime(2100, 1, 1, tzinfo=UTC).timestamp())

#: No reading lasts a century. [s]
LONGEST_S: Final = 100 * 366 * 86_400

#: Values of ESPI readings are integers of 48 bits (type Int48 of the schema).
INT48: Final = 2**47

#: No house draws 10 MW: beyond it, unit or multiplier is wrong. [W]
MOST_W: Final = 1e7

#: No house draws 10 MWh in a day. [Wh]
MOST_WH_PER_DAY: Final = 1e7


@dataclass(frozen=True, slots=True)
class Limits:
    """How much of a file is read before it is refused.

    ``bytes`` of the whole file, ``token_bytes`` of one tag, comment or text, ``depth`` of
    nested elements, ``readings`` and ``resources`` (entries of a feed, meters, columns).
    """

    bytes: int = 2**30
    token_bytes: int = 2**20
    depth: int = 64
    readings: int = 6_000_000
    resources: int = 50_000


LIMITS: Final = Limits()
