"""Where loadlib keeps its files, and the ``LOADLIB_*`` variables that change it.

==================  ============================================================
``LOADLIB_DB``      path of the database file (catalog and houses)
``LOADLIB_WAIT_S``  seconds to wait for a database that another program is writing
==================  ============================================================
"""

from __future__ import annotations

import os
from pathlib import Path

from loadlib.errors import InputError

__all__ = ["data_folder", "database_path", "wait_s"]

DATABASE_NAME = "loadlib.db"
DEFAULT_WAIT_S = 5.0


def data_folder() -> Path:
    """The user's data folder for loadlib, as the platform has it; it may not exist yet."""
    import platformdirs

    return Path(platformdirs.user_data_dir("loadlib", appauthor=False))


def database_path() -> Path:
    """``LOADLIB_DB`` if set, else ``loadlib.db`` in the user's data folder."""
    named = os.environ.get("LOADLIB_DB", "").strip()
    return Path(named).expanduser() if named else data_folder() / DATABASE_NAME


def wait_s() -> float:
    """How long to wait for another writer before giving up. [s]

    Raises
    ------
    InputError
        when ``LOADLIB_WAIT_S`` is not a number from 0 to 3600.
    """
    text = os.environ.get("LOADLIB_WAIT_S", "").strip()
    if not text:
        return DEFAULT_WAIT_S
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0.0 <= value <= 3600.0:
        raise InputError(
            f"LOADLIB_WAIT_S is {text!r}", hint="Give seconds, a number from 0 to 3600."
        )
    return value
