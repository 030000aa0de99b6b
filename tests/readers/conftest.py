"""Builders of small ESPI feeds and delimited files."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

import pytest

ATOM = "http://www.w3.org/2005/Atom"
ESPI = "http://naesb.org/espi"


class FeedBuilder:
    """Puts ESPI objects together as text and writes feeds."""

    start = 1_700_000_000 // 3600 * 3600

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def entry(self, content: str, href: str = "", up: str = "", related: Iterable[str] = ()) -> str:
        links = "".join(
            f'<link rel="{rel}" href="{address}"/>'
            for rel, address in (("self", href), ("up", up), *(("related", r) for r in related))
            if address
        )
        return f"<entry>{links}<title>Ridge meter</title><content>{content}</content></entry>"

    def element(self, name: str, **fields: object) -> str:
        inner = "".join(f"<{key}>{value}</{key}>" for key, value in fields.items())
        return f'<{name} xmlns="{ESPI}">{inner}</{name}>'

    def reading_type(self, **fields: object) -> str:
        stated = {"commodity": 1, "flowDirection": 1, "powerOfTenMultiplier": 0, "uom": 72}
        return self.element("ReadingType", **(stated | fields))

    def reading(self, start: object, duration: object, value: object, extra: str = "") -> str:
        return (
            f"<IntervalReading>{extra}<timePeriod><duration>{duration}</duration>"
            f"<start>{start}</start></timePeriod><value>{value}</value></IntervalReading>"
        )

    def block(self, rows: Iterable[Sequence[object]], extra: str = "") -> str:
        """An interval block; each row is (start, duration, value)."""
        readings = "".join(self.reading(*row, extra=extra) for row in rows)
        return f'<IntervalBlock xmlns="{ESPI}">{readings}</IntervalBlock>'

    def hours(
        self, count: int, value: object = 1000, start: int = start
    ) -> list[tuple[object, ...]]:
        return [(start + 3600 * at, 3600, value) for at in range(count)]

    def write(self, *entries: str, name: str = "usage.xml") -> Path:
        """Write entries as a feed; returns the path."""
        path = self.folder / name
        path.write_text(f'<feed xmlns="{ATOM}">{"".join(entries)}</feed>', encoding="utf-8")
        return path

    def plain(self, rows: Iterable[Sequence[object]], **fields: object) -> Path:
        """A feed of one reading type and one block."""
        return self.write(self.entry(self.reading_type(**fields)), self.entry(self.block(rows)))


@pytest.fixture
def feed(tmp_path: Path) -> FeedBuilder:
    """A builder of ESPI feeds in a fresh folder."""
    return FeedBuilder(tmp_path)


@pytest.fixture
def write(tmp_path: Path) -> Callable[..., Path]:
    """``write(text_or_bytes, name="usage.csv")`` writes a file and returns its path."""

    def to_file(text: str | bytes, name: str = "usage.csv") -> Path:
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return to_file
