"""Streaming parse of an ESPI file with expat: constant memory, hostile until proved otherwise.

DOCTYPE, entities and external references are refused, as are files that are too long, too
deep or hold a tag, comment or text without end.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import BinaryIO, Final
from xml.parsers import expat

from loadlib.errors import DataError
from loadlib.readers.espi.codes import GOOD_QUALITY
from loadlib.readers.espi.feed import (
    ATOM,
    ESPI,
    KINDS,
    SEPARATOR,
    Feed,
    Readings,
    Resource,
    local_name,
)
from loadlib.readers.espi.flat import BLOCK, Irregular, take_readings
from loadlib.readers.limits import LIMITS, Limits

__all__ = ["parse_feed"]

_CHUNK: Final = 1 << 16
_ENCODING: Final = re.compile(rb"^\s*<\?xml[^>]*encoding\s*=\s*[\"']([^\"']*)")
_READABLE: Final = re.compile(r"utf-?8|utf-?16|(us-)?ascii|(iso-?8859|latin|windows|cp)-?\d+")
_BLOCK_NAME: Final = b"IntervalBlock"
_ENTRY: Final = f"{ATOM}{SEPARATOR}entry"
_FEED: Final = f"{ATOM}{SEPARATOR}feed"
_LINK: Final = f"{ATOM}{SEPARATOR}link"
_TITLE: Final = f"{ATOM}{SEPARATOR}title"
_READING: Final = "IntervalReading"
_NUMBERS: Final = frozenset({"start", "duration", "value", "cost", "quality"})
_UNBALANCED: Final = 10_000
_STUCK: Final = 50
_CUT_OFF: Final = frozenset(
    expat.errors.codes[reason]
    for reason in (
        expat.errors.XML_ERROR_NO_ELEMENTS,
        expat.errors.XML_ERROR_UNCLOSED_TOKEN,
        expat.errors.XML_ERROR_UNCLOSED_CDATA_SECTION,
        expat.errors.XML_ERROR_PARTIAL_CHAR,
    )
)

Progress = Callable[[float], None]


def parse_feed(
    path: Path,
    *,
    limits: Limits = LIMITS,
    progress: Progress | None = None,
    quick: bool = True,
) -> Feed:
    """Read a file whole into a ``Feed``.

    ``progress`` is called with the share read, 0 to 1. ``quick=False`` forces the exact way,
    which gives the same result in about three times the time.

    Raises
    ------
    DataError
        naming line or element, for whatever is not a whole, plain ESPI file.
    """
    with path.open("rb") as stream:
        size = path.stat().st_size
        if size > limits.bytes:
            raise DataError(
                f"{size} bytes, more than {limits.bytes}", path=str(path), hint="Split the file."
            )
        head = stream.read(1024)
        stream.seek(0)
        _check_encoding(head, path)
        quick = quick and b"\0" not in head
        if quick:
            try:
                return _Parser(path, limits, quick=True).run(stream, size, progress)
            except Irregular:
                stream.seek(0)
        return _Parser(path, limits, quick=False).run(stream, size, progress)


class _Parser:
    """Expat handlers around a ``Feed``; one object a run."""

    def __init__(self, path: Path, limits: Limits, *, quick: bool) -> None:
        self.feed = Feed(limits, str(path))
        self._limits = limits
        self._quick = quick
        self._names: list[str] = []
        self._texts: list[str] = []
        self._open: list[Resource] = []
        self._depths: list[int] = []
        self._place = 0
        self._qualities: list[int] = []
        self._events: list[str] = []
        self._flat: Readings | None = None
        self._unbalanced = 0
        self._parsed = self._stuck = 0
        self._foreign = ""
        self._expat = expat.ParserCreate(namespace_separator=SEPARATOR)
        self._expat.buffer_text = True
        self._expat.StartDoctypeDeclHandler = self._refuse_doctype
        self._use_exact()

    def run(self, stream: BinaryIO, size: int, progress: Progress | None) -> Feed:
        """Parse to the end of the stream."""
        fed = 0
        try:
            for piece in self._pieces(stream):
                for part in _parts(piece) if self._quick else (piece,):
                    mark = len(self._events)
                    self._expat.Parse(part, False)
                    self._check_moving()
                    if self._flat is not None:
                        self._join_texts(mark)
                        self._take_flat(part)
                fed += len(piece)
                self._check_sizes(fed)
                if progress is not None:
                    progress(min(fed / size, 1.0) if size else 1.0)
            self._expat.Parse(b"", True)
        except expat.ExpatError as broken:
            raise self._translated(broken) from None
        self.feed.end_entry()
        self._check_content()
        return self.feed

    def _pieces(self, stream: BinaryIO) -> Iterator[bytes]:
        """Chunks that end after a ``>``, so that no number is cut in two."""
        rest = b""
        while chunk := stream.read(_CHUNK):
            cut = chunk.rfind(b">") + 1
            if cut:
                yield rest + chunk[:cut]
                rest = chunk[cut:]
            else:
                rest += chunk
                if len(rest) > self._limits.token_bytes:
                    raise self._endless()
        if rest:
            yield rest

    def _check_moving(self) -> None:
        """Small parts of one long token would each be scanned from its start: read it whole."""
        if not self._quick:
            return
        parsed = self._expat.CurrentByteIndex
        self._stuck = self._stuck + 1 if parsed == self._parsed else 0
        self._parsed = parsed
        if self._stuck > _STUCK:
            raise Irregular

    def _check_sizes(self, fed: int) -> None:
        if fed > self._limits.bytes:
            raise self.feed.error(f"more than {self._limits.bytes} bytes", self._line)
        parsed = self._expat.CurrentByteIndex
        text = sum(map(len, self._texts)) if len(self._texts) > 1 else 0
        if max(fed - parsed if parsed >= 0 else 0, text) > self._limits.token_bytes:
            raise self._endless()

    def _endless(self) -> DataError:
        return self.feed.error(
            f"a tag, comment or text longer than {self._limits.token_bytes} bytes", self._line
        )

    @property
    def _line(self) -> int:
        return self._expat.CurrentLineNumber

    # -- the exact way: a Python call for each element

    def _use_exact(self) -> None:
        self._expat.StartElementHandler = self._start
        self._expat.EndElementHandler = self._end
        self._expat.CharacterDataHandler = self._texts.append

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        if not self._names:
            self._check_root(name)
        elif len(self._names) >= self._limits.depth:
            raise self.feed.error(
                f"elements nested more than {self._limits.depth} deep, at <{local_name(name)}>",
                self._line,
            )
        if self._texts:
            self._check_mixed()
            self._texts.clear()
        self._names.append(name)
        space, _, local = name.rpartition(SEPARATOR)
        if name == _LINK:
            rel, href = attributes.get("rel", ""), attributes.get("href", "")
            self.feed.link(rel, href, self._line)
        elif local in KINDS:
            if space == ESPI:
                self._open_resource(local)
            elif not self._foreign:
                self._foreign = f"<{local}> in namespace {space or '(none)'!r}, line {self._line}"

    def _check_root(self, name: str) -> None:
        space, _, local = name.rpartition(SEPARATOR)
        if name in (_FEED, _ENTRY) or space == ESPI:
            return
        raise self.feed.error(
            f"the root element is <{local}> in namespace {space or '(none)'!r}, not an Atom feed "
            "or ESPI object",
            self._line,
            hint=f"ESPI files have the namespaces {ATOM} and {ESPI}.",
        )

    def _check_mixed(self) -> None:
        parent = self._names[-1] if self._names else ""
        if local_name(parent) in _NUMBERS and "".join(self._texts).strip():
            raise self.feed.error(f"text and elements mixed in <{local_name(parent)}>", self._line)

    def _open_resource(self, kind: str) -> None:
        parent = self._open[-1] if self._open else None
        resource = self.feed.open(kind, parent, self._line)
        self._open.append(resource)
        self._depths.append(len(self._names))
        if kind == "IntervalBlock":
            self._place = 0
            if self._quick:
                self._use_flat(self.feed.readings_for(resource))

    def _end(self, name: str) -> None:
        text = "".join(self._texts)
        self._texts.clear()
        if name == _ENTRY:
            self.feed.end_entry()
        elif name == _TITLE and _ENTRY in self._names:
            self.feed.title(text)
        elif self._open:
            self._end_inside(name, text)
        self._names.pop()

    def _end_inside(self, name: str, text: str) -> None:
        resource, depth = self._open[-1], self._depths[-1]
        if len(self._names) == depth:
            self._open.pop()
            self._depths.pop()
            return
        space, _, local = name.rpartition(SEPARATOR)
        if resource.kind == "IntervalBlock" and local == _READING and space == ESPI:
            self._end_reading(resource)
        elif local == "quality" and resource.kind == "IntervalBlock":
            self._qualities.append(self._code(text))
        elif text and not text.isspace():
            key = "/".join(local_name(step) for step in self._names[depth:])
            self.feed.set_field(resource, key, text, self._line)

    def _code(self, text: str) -> int:
        try:
            return int(text)
        except ValueError:
            raise self.feed.error(f"quality {text.strip()[:40]!r}", self._line) from None

    def _end_reading(self, block: Resource) -> None:
        prefix = f"{_READING}/"
        keys = [key for key in block.fields if key.startswith(prefix)]
        fields = {key[len(prefix) :]: block.fields.pop(key) for key in keys}
        into = self.feed.readings_for(block)
        self.feed.add_reading(into, block, fields, self._place, self._line)
        into.flagged += [
            (into.start_s[-1], code) for code in self._qualities if code not in GOOD_QUALITY
        ]
        self._qualities.clear()
        self._place += 1

    # -- the quick way: texts and ends of a block in one flat list

    def _use_flat(self, into: Readings) -> None:
        self._flat = into
        self._unbalanced = 0
        self._expat.StartElementHandler = None
        self._expat.EndElementHandler = self._events.append
        self._expat.CharacterDataHandler = self._events.append

    def _join_texts(self, mark: int) -> None:
        """Make one text of what the end of a part has cut in two."""
        events = self._events
        if 0 < mark < len(events) and SEPARATOR not in events[mark - 1] + events[mark]:
            events[mark - 1 : mark + 1] = [events[mark - 1] + events[mark]]

    def _take_flat(self, part: bytes) -> None:
        if self._flat is None:
            return
        events = self._events
        count, ended = take_readings(events, self._flat)
        self.feed.count(count, self._line)
        # An element has two "<"; many more than its ends explain are tags that never end.
        self._unbalanced = max(self._unbalanced + part.count(b"<") - 2 * ended, 0)
        if BLOCK in events:
            if [event for event in events if event != BLOCK and not event.isspace()]:
                raise Irregular
            events.clear()
            self._flat = None
            self._names.pop()
            self._open.pop()
            self._depths.pop()
            self._use_exact()
        elif self._unbalanced > _UNBALANCED or len(events) > _UNBALANCED:
            raise Irregular

    # -- refusals

    def _refuse_doctype(self, *_: object) -> None:
        raise self.feed.error(
            "a DOCTYPE, which a usage file never needs and a hostile one may",
            self._line,
            hint="Download the file again from the utility, or remove the DOCTYPE line.",
        )

    def _translated(self, broken: expat.ExpatError) -> DataError:
        inside = f" inside <{local_name(self._names[-1])}>" if self._names else ""
        reason = expat.ErrorString(broken.code) or str(broken)
        if broken.code in _CUT_OFF:
            return self.feed.error(
                f"the file ends{inside} before it is complete",
                broken.lineno,
                hint="The download was probably cut off; fetch the file again.",
            )
        return self.feed.error(f"not well-formed XML{inside}: {reason}", broken.lineno)

    def _check_content(self) -> None:
        if not self.feed.meters and not self.feed.seen_kinds & {
            "UsageSummary",
            "ElectricPowerUsageSummary",
        }:
            found = f"; it has {self._foreign}" if self._foreign else ""
            raise self.feed.error(
                f"no interval block and no usage summary in namespace {ESPI}{found}", None
            )


def _parts(piece: bytes) -> Iterator[bytes]:
    """Cut after each tag that names an interval block: at its end the way of reading changes."""
    at = 0
    while (named := piece.find(_BLOCK_NAME, at)) >= 0:
        end = piece.find(b">", named) + 1
        if not end:
            break
        yield piece[at:end]
        at = end
    if at < len(piece):
        yield piece[at:]


def _check_encoding(head: bytes, path: Path) -> None:
    """Refuse encodings that expat can't read, and those in which ``<`` is not itself."""
    declared = _ENCODING.match(head)
    if declared is None:
        return
    name = declared.group(1).decode("ascii", "replace")
    if not _READABLE.fullmatch(name.lower()):
        raise DataError(
            f"encoding {name[:40]!r}", path=str(path), line=1, hint="Save the file as UTF-8."
        )
