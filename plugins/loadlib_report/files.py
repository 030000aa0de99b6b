"""Files of the command line: a profile document in, the page out."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

from loadlib import DataError, LoadlibError, LoadProfile

__all__ = ["read_profile", "write_page"]

MOST_BYTES = 256 * 1024 * 1024


def read_profile(path: Path) -> LoadProfile:
    """The profile document in a file, or from stdin for ``-``."""
    try:
        return LoadProfile.from_json(_text(path))
    except DataError as error:
        if error.path is not None:
            raise
        raise DataError(error.message, path=str(path), line=error.line, hint=error.hint) from None


def _text(path: Path) -> str:
    """UTF-8 whatever the locale says, as JSON is."""
    try:
        if str(path) == "-":
            data = sys.stdin.buffer.read(MOST_BYTES + 1)
        else:
            with path.open("rb") as file:
                data = file.read(MOST_BYTES + 1)
        if len(data) > MOST_BYTES:
            raise DataError(f"larger than {MOST_BYTES // 2**20} MiB", path=str(path))
        return data.decode("utf-8-sig")
    except FileNotFoundError:
        raise DataError("no such file", path=str(path)) from None
    except (OSError, UnicodeDecodeError) as error:
        raise DataError(f"can't be read: {error}", path=str(path)) from None


def write_page(path: Path, html: str) -> None:
    """Write the page whole or not at all; ``-`` is stdout."""
    if str(path) == "-":
        sys.stdout.buffer.write(html.encode())
        return
    partial = ""
    try:
        with tempfile.NamedTemporaryFile(
            "w", dir=path.parent, delete=False, encoding="utf-8", newline="\n"
        ) as file:
            partial = file.name
            file.write(html)
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
