"""Documents in and out: a path, or ``-`` for a pipe; written whole or not at all."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

from loadlib.core.profile import LoadProfile
from loadlib.errors import DataError, LoadlibError, NotFound

__all__ = ["read_profile", "read_text", "write_text"]

MOST_BYTES = 256 * 1024 * 1024


def read_text(path: Path) -> str:
    """The text of a file, or of stdin for ``-``; NotFound or DataError if it can't be read."""
    if str(path) == "-":
        return _piped()
    try:
        if path.stat().st_size > MOST_BYTES:
            raise DataError(f"larger than {MOST_BYTES // 2**20} MiB", path=str(path))
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise NotFound("file", str(path)) from None
    except (OSError, UnicodeDecodeError) as error:
        raise DataError(f"can't be read: {error}", path=str(path)) from None


def _piped() -> str:
    """What comes through the pipe, as UTF-8 whatever the terminal speaks."""
    try:
        data = sys.stdin.buffer.read(MOST_BYTES)
    except AttributeError:  # a text stream without bytes below, as tests put in its place
        return sys.stdin.read(MOST_BYTES)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise DataError(f"can't be read: {error}", path="-") from None


def read_profile(path: Path) -> LoadProfile:
    """The profile document in a file (JSON, or CSV by its name)."""
    text = read_text(path)
    try:
        if path.suffix == ".csv":
            from loadlib.exchange.tables import from_csv

            return from_csv(text)
        return LoadProfile.from_json(text)
    except DataError as error:
        if error.path is not None:
            raise
        raise DataError(error.message, path=str(path), line=error.line, hint=error.hint) from None


def write_text(path: Path, text: str | bytes) -> None:
    """Write a whole file or nothing: beside it first, then moved into place."""
    data = text.encode() if isinstance(text, str) else text
    if str(path) == "-":
        sys.stdout.flush()
        try:
            sys.stdout.buffer.write(data)
        except AttributeError:
            sys.stdout.write(data.decode())
        return
    partial = ""
    try:
        with tempfile.NamedTemporaryFile(dir=path.parent, delete=False) as file:
            partial = file.name
            file.write(data)
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(partial, 0o666 & ~mask)
        os.replace(partial, path)
    except OSError as error:
        if partial and os.path.exists(partial):
            os.unlink(partial)
        raise LoadlibError(
            f"{path}: can't be written: {error.strerror or error}",
            hint="Choose another folder or free some space.",
        ) from None
