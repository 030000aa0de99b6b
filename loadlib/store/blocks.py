"""Blocks: a regular grid of float32 values, cut by UTC month and by length, packed into bytes.

A block is one byte of format number, then zlib over the values' bytes put plane by plane
(all first bytes, all second bytes …): neighbouring readings share their high bytes, so
planes shrink far better than whole floats. Exact within float32.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import DataError

__all__ = ["MOST_SLOTS", "month_slices", "pack", "unpack"]

FORMAT = 1
MOST_SLOTS = 1 << 17
"""Slots of one block, about a day and a half of seconds: a long log passes through the memory
a stretch at a time, in either direction."""

_LEVEL = 1  # on interval data level 6 saves a tenth more and takes three times as long


def pack(values: NDArray[np.float32]) -> bytes:
    """Bytes of ``values``, shape (n,)."""
    planes = np.ascontiguousarray(values, dtype="<f4").view(np.uint8).reshape(-1, 4).T
    return bytes([FORMAT]) + zlib.compress(planes.tobytes(), _LEVEL)


def unpack(packed: bytes, slots: int) -> NDArray[np.float32]:
    """The values of a block, shape (slots,).

    Raises
    ------
    DataError
        when the bytes are no block of that many slots.
    """
    try:
        if packed[0] != FORMAT:
            raise ValueError(f"format {packed[0]}")
        # At most one byte more than there should be: a damaged block can't fill the memory.
        inflate = zlib.decompressobj()
        plain = inflate.decompress(packed[1:], 4 * slots + 1)
        if not inflate.eof:
            raise ValueError("cut short or too long")
        planes = np.frombuffer(plain, dtype=np.uint8).reshape(4, slots)
    except (IndexError, ValueError, zlib.error) as error:
        raise DataError(
            f"a block of measured values is damaged ({error})",
            hint="Run: loadlib database check. The import that it came from can be made again.",
        ) from error
    return np.ascontiguousarray(planes.T).view("<f4").reshape(slots)


def month_slices(start_s: int, step_s: int, slots: int) -> Iterator[tuple[int, slice]]:
    """(year × 100 + month, slice of slots that start in it), each up to ``MOST_SLOTS`` long."""
    first = 0
    while first < slots:
        at = datetime.fromtimestamp(start_s + first * step_s, UTC)
        year, month = (at.year + 1, 1) if at.month == 12 else (at.year, at.month + 1)
        next_s = int(datetime(year, month, 1, tzinfo=UTC).timestamp())
        last = min(slots, -((start_s - next_s) // step_s), first + MOST_SLOTS)
        yield at.year * 100 + at.month, slice(first, last)
        first = last
