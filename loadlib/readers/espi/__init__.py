"""Reader of ESPI (NAESB REQ.21) usage files in XML."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from loadlib.core.series import ReadOptions, ReadResult
from loadlib.readers.espi.assemble import assemble
from loadlib.readers.espi.feed import ATOM, ESPI
from loadlib.readers.espi.parse import Progress, parse_feed
from loadlib.readers.limits import LIMITS, Limits

__all__ = ["EspiReader"]


@dataclass(slots=True)
class EspiReader:
    """Reads ESPI feeds and single entries: interval data, usage summaries, local time."""

    name: str = "espi"
    summary: str = "ESPI (NAESB REQ.21) usage file in XML"
    limits: Limits = LIMITS
    progress: Progress | None = None

    def recognises(self, head: bytes, filename: str) -> float:
        """Certain when the namespace of ESPI is in the head, likely when it is an Atom feed."""
        text = head.replace(b"\0", b"")
        if ESPI.encode() in text:
            return 1.0
        if ATOM.encode() in text:
            return 0.6
        return 0.3 if text.lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n").startswith(b"<") else 0.0

    def read(self, path: Path, options: ReadOptions) -> ReadResult:
        """Read it whole, or raise DataError naming line or element."""
        feed = parse_feed(path, limits=self.limits, progress=self.progress)
        return assemble(feed, options, self.limits)

    def with_progress(self, progress: Progress) -> EspiReader:
        """A reader that also tells how far it is, as a share."""
        return replace(self, progress=progress)
