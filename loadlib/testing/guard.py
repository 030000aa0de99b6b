"""Watch what a piece of code touches: files opened for writing, the network, processes."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

__all__ = ["Trespass", "guard"]

_WRITE_FLAGS = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
_FORBIDDEN = {
    "socket.connect": "opened a network connection",
    "socket.bind": "opened a network port",
    "socket.getaddrinfo": "looked up a network name",
    "socket.sendto": "sent to the network",
    "subprocess.Popen": "started a program",
    "os.system": "started a program",
    "os.remove": "removed a file",
    "os.rename": "renamed a file",
    "os.mkdir": "made a folder",
    "os.rmdir": "removed a folder",
    "os.truncate": "changed a file",
    "shutil.rmtree": "removed a folder",
    "sqlite3.connect": "opened a database",
}


@dataclass(slots=True)
class Trespass:
    """What the watched code did that an estimator must not do, in words."""

    acts: list[str] = field(default_factory=list)


_watching: dict[int, Trespass] = {}
_installed = False


def _audit(event: str, args: tuple[Any, ...]) -> None:
    # Keyed by thread: other threads of the test run are not the plugin's doing.
    report = _watching.get(threading.get_ident())
    if report is None:
        return
    if event in _FORBIDDEN:
        report.acts.append(f"{_FORBIDDEN[event]}: {args[0]!r:.80}")
    elif event == "open":
        path, mode, flags = (*args, None, None)[:3]
        text_mode = isinstance(mode, str) and any(letter in mode for letter in "wax+")
        low_level = mode is None and isinstance(flags, int) and flags & _WRITE_FLAGS
        if (text_mode or low_level) and not _is_bytecode(path):
            report.acts.append(f"opened a file for writing: {path!r:.80}")


def _is_bytecode(path: object) -> bool:
    # The interpreter itself writes these when a module is imported for the first time.
    return isinstance(path, str) and "__pycache__" in path


@contextmanager
def guard() -> Iterator[Trespass]:
    """Record forbidden acts of the current thread while the body runs."""
    global _installed
    if not _installed:
        sys.addaudithook(_audit)
        _installed = True
    report = Trespass()
    _watching[threading.get_ident()] = report
    try:
        yield report
    finally:
        del _watching[threading.get_ident()]
