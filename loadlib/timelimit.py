"""A time limit around code that is not ours.

In the main thread of a POSIX system an alarm signal interrupts Python code, sleeping,
looping or waiting for its own worker threads. It rings again every second, so that clean-up
that waits as well is interrupted too. Elsewhere (another thread, another system) nothing can
stop foreign code from outside: there it runs in a thread of its own, which is left behind
when its time is up.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import TypeVar

from loadlib.errors import InputError

__all__ = ["DEFAULT_LIMIT_S", "leave_threads_behind", "limit_s", "run_limited"]

DEFAULT_LIMIT_S = 60.0
_RING_AGAIN_S = 1.0

T = TypeVar("T")

_left: list[threading.Thread] = []
"""Worker threads that stopped code had started and left running."""


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


def run_limited(work: Callable[[], T], seconds: float | None = None) -> T:
    """Do ``work``; TimeoutError after ``seconds`` (default ``limit_s()``)."""
    allowed_s = limit_s() if seconds is None else seconds
    in_main = threading.current_thread() is threading.main_thread()
    if in_main and hasattr(signal, "setitimer"):
        with _alarm(allowed_s):
            return work()
    return _in_own_thread(work, allowed_s)


def _late(allowed_s: float) -> TimeoutError:
    return TimeoutError(f"took longer than {allowed_s:g} s")


@contextmanager
def _alarm(allowed_s: float) -> Iterator[None]:
    threads = set(threading.enumerate())

    def stop(_signal: int, _frame: FrameType | None) -> None:
        _left.extend(t for t in threading.enumerate() if t not in threads and t not in _left)
        raise _late(allowed_s)

    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, allowed_s, _RING_AGAIN_S)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
        signal.signal(signal.SIGALRM, before)


def _in_own_thread(work: Callable[[], T], allowed_s: float) -> T:
    done: list[T] = []
    raised: list[BaseException] = []

    def run() -> None:
        try:
            done.append(work())
        except BaseException as error:
            raised.append(error)

    thread = threading.Thread(target=run, name="loadlib plugin", daemon=True)
    thread.start()
    thread.join(allowed_s)
    if raised:
        raise raised[0]
    if not done:
        raise _late(allowed_s)
    return done[0]


def leave_threads_behind(code: int) -> None:
    """End the process now if stopped code left threads that never end; else do nothing.

    Python waits at exit for every thread that is not a daemon.
    """
    if any(thread.is_alive() and not thread.daemon for thread in _left):
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)
