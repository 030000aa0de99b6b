"""Keep a C library's stray lines off standard output, which carries our data."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["quiet_stdout"]


@contextmanager
def quiet_stdout() -> Iterator[None]:
    """Send the process's standard output to nowhere for the length of a call.

    HiGHS (seen with scipy 1.17, in 2 of 180 random plans) prints a debugging line past its own
    switch when a solution has to be repaired; it would end up in the middle of our JSON. File
    descriptor 1 is what such code writes to. Where there is none (a detached process) nothing
    is done.
    """
    try:
        sys.stdout.flush()
        kept = os.dup(1)
    except (OSError, ValueError):
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)
