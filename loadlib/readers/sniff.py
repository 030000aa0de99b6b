"""Choice of a reader for a file: by its first bytes, stated, and overridable by name."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final, Protocol, runtime_checkable

from loadlib.core.series import ReadOptions, ReadResult
from loadlib.errors import DataError, NotFound
from loadlib.hooks import Reader

__all__ = ["built_in_readers", "choose_reader", "read_usage"]

_HEAD: Final = 1 << 16
_UNSURE: Final = 0.2
_PACKED: Final = {
    b"PK\x03\x04": "a ZIP archive or spreadsheet",
    b"\x1f\x8b": "a gzip file",
    b"%PDF": "a PDF",
}
_WEB_PAGE: Final = (b"<!doctype html", b"<html")

Progress = Callable[[float], None]


@runtime_checkable
class TellsProgress(Protocol):
    """A reader that can tell how far it is."""

    def with_progress(self, progress: Progress) -> Reader:
        """The same reader, calling ``progress`` with the share read."""
        ...


def built_in_readers() -> tuple[Reader, ...]:
    """The readers that come with loadlib."""
    from loadlib.readers.bills import BillsReader
    from loadlib.readers.clamp_log import ClampLogReader
    from loadlib.readers.delimited import DelimitedReader
    from loadlib.readers.espi import EspiReader
    from loadlib.readers.temperatures import TemperaturesReader

    return (BillsReader(), ClampLogReader(), DelimitedReader(), EspiReader(), TemperaturesReader())


def choose_reader(head: bytes, filename: str, readers: Sequence[Reader]) -> tuple[Reader, float]:
    """The reader that is surest of a file, and how sure it is (0 to 1).

    Ties go to the first by name, so that the order of plugins does not matter.
    """
    rated = [(reader.recognises(head, filename), reader) for reader in readers]
    sure, reader = max(sorted(rated, key=lambda pair: pair[1].name), key=lambda pair: pair[0])
    return reader, sure


def read_usage(
    path: str | Path,
    options: ReadOptions | None = None,
    *,
    reader: str | None = None,
    readers: Sequence[Reader] | None = None,
    progress: Progress | None = None,
) -> tuple[ReadResult, str]:
    """Read a usage file, bill table or temperature file with the reader that knows it.

    Parameters
    ----------
    path : str or Path
        the file.
    options : ReadOptions, optional
        what is known about it beforehand.
    reader : str, optional
        name of the reader to use instead of the one that recognises the file.
    readers : sequence of Reader, optional
        to choose from; default the built-in ones.
    progress : callable, optional
        called with the share read (0 to 1) by readers that can tell.

    Returns
    -------
    tuple
        what was read, and the name of the reader. The first note says how it was chosen.

    Raises
    ------
    NotFound
        when there is no such file or reader.
    DataError
        when no reader knows the file, or it is broken; nothing partial is returned.
    """
    place = Path(path)
    candidates = tuple(built_in_readers() if readers is None else readers)
    head = _head(place)
    chosen, told = _pick(place, head, candidates, reader)
    if progress is not None and isinstance(chosen, TellsProgress):
        chosen = chosen.with_progress(progress)
    result = _by_name(chosen.read(place, options or ReadOptions()), place)
    return replace(result, notes=(told, *result.notes)), chosen.name


def _by_name(result: ReadResult, place: Path) -> ReadResult:
    """Sources name the file, not the folder: they travel with the profile to other people."""

    def named(source: str) -> str:
        return source.replace(str(place), place.name)

    weather = result.temperatures
    return replace(
        result,
        series=tuple(replace(s, source=named(s.source)) for s in result.series),
        bills=tuple(replace(b, source=named(b.source)) for b in result.bills),
        temperatures=replace(weather, source=named(weather.source)) if weather else None,
    )


def _pick(
    place: Path, head: bytes, candidates: Sequence[Reader], asked: str | None
) -> tuple[Reader, str]:
    if asked is not None:
        for candidate in candidates:
            if candidate.name == asked:
                return candidate, f"read as {candidate.summary} ({asked}), as asked"
        raise NotFound("reader", asked, near=tuple(sorted(c.name for c in candidates)))
    chosen, sure = choose_reader(head, place.name, candidates)
    if sure < _UNSURE:
        names = ", ".join(sorted(candidate.name for candidate in candidates))
        raise DataError("no reader knows this file", path=str(place), hint=f"Name one of: {names}.")
    return chosen, f"read as {chosen.summary} ({chosen.name}), recognised by its content"


def _head(place: Path) -> bytes:
    if place.exists() and not place.is_file():
        raise DataError("not a plain file", path=str(place), hint="Save it to a file first.")
    try:
        with place.open("rb") as stream:
            head = stream.read(_HEAD)
    except FileNotFoundError:
        raise NotFound("file", str(place)) from None
    except OSError as broken:
        raise DataError(broken.strerror or str(broken), path=str(place)) from None
    if not head.strip(b"\0 \t\r\n"):
        raise DataError("the file is empty", path=str(place), hint="Download it again.")
    if head.lstrip(b"\xef\xbb\xbf \t\r\n").lower().startswith(_WEB_PAGE):
        raise DataError(
            "this is a web page, perhaps the one to sign in",
            path=str(place),
            hint="Download the usage file again.",
        )
    for mark, what in _PACKED.items():
        if head.startswith(mark):
            raise DataError(
                f"this is {what}", path=str(place), hint="Unpack it, or save it as text (CSV)."
            )
    return head
