"""The built-in readers, offered through the same door as a stranger's."""

from __future__ import annotations

from collections.abc import Sequence

from loadlib.hooks import Reader, hookimpl
from loadlib.readers.sniff import built_in_readers

__all__ = ["loadlib_readers"]


@hookimpl
def loadlib_readers() -> Sequence[Reader]:
    """ESPI, delimited text, bills and temperatures."""
    return built_in_readers()
