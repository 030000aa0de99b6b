"""Reader of delimited text from any utility, meter or logger."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from loadlib.core.series import ReadOptions, ReadResult
from loadlib.readers.delimited.assemble import Progress, read_delimited
from loadlib.readers.delimited.table import find_table
from loadlib.readers.delimited.text import decode_head
from loadlib.readers.limits import LIMITS, Limits

__all__ = ["DelimitedReader"]


@dataclass(slots=True)
class DelimitedReader:
    """Interval data in rows or with one row a day, several meters, import and export."""

    name: str = "delimited"
    summary: str = "delimited text with interval data"
    limits: Limits = LIMITS
    progress: Progress | None = None

    def recognises(self, head: bytes, filename: str) -> float:
        """Fairly sure when rows of dates and numbers are found."""
        if head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<"):
            return 0.0
        return 0.7 if find_table(decode_head(head)) is not None else 0.0

    def read(self, path: Path, options: ReadOptions) -> ReadResult:
        """Read it whole, or raise DataError naming the line."""
        return read_delimited(path, options, limits=self.limits, progress=self.progress)

    def with_progress(self, progress: Progress) -> DelimitedReader:
        """A reader that also tells how far it is, as a share."""
        return replace(self, progress=progress)
