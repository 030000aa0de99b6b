"""The command line: thin, and imported late so that a look-up starts at once."""

from __future__ import annotations

import io
import os
import sys

__all__ = ["main"]


def main() -> None:
    """Entry point: turns errors of the library into one message and an exit code."""
    code = _run()
    if "loadlib.timelimit" in sys.modules:
        from loadlib.timelimit import leave_threads_behind

        leave_threads_behind(code)
    sys.exit(code)


def _run() -> int:
    from loadlib.cli.app import app
    from loadlib.errors import LoadlibError

    for stream in (sys.stdout, sys.stderr):
        # A terminal that can't show a letter gets a question mark, not a traceback.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    try:
        app()
    except SystemExit as stop:
        return stop.code if isinstance(stop.code, int) else int(stop.code is not None)
    except LoadlibError as error:
        if os.environ.get("LOADLIB_DEBUG") == "1":
            raise
        print(f"loadlib: {error}", file=sys.stderr)
        return error.exit_code
    except BrokenPipeError:
        # The reader of our output went away (| head): not worth a word.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 141
    return 0
