"""The command line: thin, and imported late so that a look-up starts at once."""

from __future__ import annotations

import os
import sys

__all__ = ["main"]


def main() -> None:
    """Entry point: turns errors of the library into one message and an exit code."""
    from loadlib.cli.app import app
    from loadlib.errors import LoadlibError

    try:
        app()
    except LoadlibError as error:
        if os.environ.get("LOADLIB_DEBUG") == "1":
            raise
        print(f"loadlib: {error}", file=sys.stderr)
        sys.exit(error.exit_code)
    except BrokenPipeError:
        # The reader of our output went away (| head): not worth a word.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(141)
