"""Bytes to text: byte-order marks, UTF-16, NUL bytes, other encodings; bounded lines."""

from __future__ import annotations

import codecs
import io
import re
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Final

from loadlib.errors import DataError
from loadlib.readers.delimited.parts import DateParts, find_parts, join_parts
from loadlib.readers.limits import LIMITS, Limits

__all__ = ["chunks_of_lines", "decode_head", "encoding_of"]

_CHUNK: Final = 1 << 22
_CUT_LOOK: Final = 100
_CUT: Final = re.compile(r"[,;\t|]-?\d*[.]\Z|[,;\t|]-\Z")
_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


def encoding_of(head: bytes) -> str:
    """Encoding of a file by its first bytes: by mark, by NUL pattern, UTF-8, else cp1252."""
    for mark, name in _MARKS:
        if head.startswith(mark):
            return name
    if head[1:200:2].count(0) > len(head[1:200:2]) * 0.7:
        return "utf-16-le"
    if head[:200:2].count(0) > len(head[:200:2]) * 0.7:
        return "utf-16-be"
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head)
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


@lru_cache(maxsize=4)
def decode_head(head: bytes) -> str:
    """The first bytes as text, with whatever does not decode replaced, and dates joined."""
    text = head.decode(encoding_of(head), "replace").replace("\r\n", "\n").replace("\r", "\n")
    parts = find_parts(text)
    return text if parts is None else join_parts(text, parts, heading=True)


def chunks_of_lines(
    path: Path, encoding: str, limits: Limits = LIMITS
) -> Iterator[tuple[int, str, float]]:
    """Pieces of whole lines: number of the first line, text, share of the file so far.

    Dates whose year, month and day stand in columns of their own are joined.

    Raises
    ------
    DataError
        for a file or line that is too long, NUL bytes, or bytes of another encoding.
    """
    size = path.stat().st_size
    if size > limits.bytes:
        raise DataError(f"{size} bytes, more than {limits.bytes}", path=str(path))
    line = 1
    read = 0
    parts: DateParts | None = None
    with path.open("rb") as raw, io.TextIOWrapper(raw, encoding=encoding) as stream:
        while True:
            text = _next_piece(stream, path, line, limits)
            if not text:
                return
            if "\0" in text:
                at = line + text.count("\n", 0, text.index("\0"))
                raise DataError("a NUL byte", path=str(path), line=at, hint="Download it again.")
            read += len(text)
            if _CUT.search(text[-_CUT_LOOK:]):
                raise DataError(
                    "the last line ends within a number",
                    path=str(path),
                    line=line + text.count("\n"),
                    hint="The download was probably cut off: fetch the file again.",
                )
            if line == 1:
                parts = find_parts(text)
            whole = text if parts is None else join_parts(text, parts, heading=line == 1)
            yield line, whole, min(read / max(size, 1), 1.0)
            line += text.count("\n")


def _next_piece(stream: io.TextIOWrapper, path: Path, line: int, limits: Limits) -> str:
    try:
        text = stream.read(_CHUNK)
        if text and not text.endswith("\n"):
            text += stream.readline(limits.token_bytes)
            if len(text) > limits.token_bytes and "\n" not in text[-limits.token_bytes :]:
                raise DataError("a line without end", path=str(path), line=line)
    except UnicodeDecodeError as broken:
        raise DataError(
            f"byte 0x{broken.object[broken.start]:02x} is not {broken.encoding}: mixed encodings?",
            path=str(path),
            hint="Save the file as UTF-8.",
        ) from None
    except UnicodeError as broken:
        raise DataError(str(broken), path=str(path), hint="Save the file as UTF-8.") from None
    return text
