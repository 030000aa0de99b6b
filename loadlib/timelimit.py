"""A time limit around code that is not ours.

An alarm signal interrupts Python code, sleeping or looping, in the main thread of a POSIX
system. Elsewhere (another thread, another system) there is no way to stop foreign code
from outside, so the limit is not applied there; the plugin kit still measures the time.
"""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

from loadlib.errors import InputError

__all__ = ["DEFAULT_LIMIT_S", "limit_s", "time_limit"]

DEFAULT_LIMIT_S = 60.0


def limit_s() -> float:
    """Seconds that a plugin may take: ``LOADLIB_PLUGIN_LIMIT_S``, or 60. [s]"""
    text = os.environ.get("LOADLIB_PLUGIN_LIMIT_S")
    if text is None:
        return DEFAULT_LIMIT_S
    try:
        value = float(text)
    except ValueError:
        value = 0.0
    if not 0.0 < value < 1e6:
        raise InputError(
            f"LOADLIB_PLUGIN_LIMIT_S is {text!r}", hint="Give seconds, for example 30."
        )
    return value


@contextmanager
def time_limit(seconds: float | None = None) -> Iterator[None]:
    """Raise TimeoutError in the body after ``seconds`` (default ``limit_s()``)."""
    allowed_s = limit_s() if seconds is None else seconds
    if not hasattr(signal, "setitimer") or (
        threading.current_thread() is not threading.main_thread()
    ):
        yield
        return

    def stop(_signal: int, _frame: FrameType | None) -> None:
        raise TimeoutError(f"took longer than {allowed_s:g} s")

    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, allowed_s)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
        signal.signal(signal.SIGALRM, before)
