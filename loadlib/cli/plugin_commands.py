"""Commands that plugins add, remembered between runs.

Asking the plugins costs the import of all of them, which ``loadlib --help`` can't afford.
So the answer is kept in the user's cache folder, keyed by what would change it: the
folders that Python imports from with their times of change, and the LOADLIB_PLUGINS
variables. A name that is not in the cache is looked up afresh before it is refused.
"""

from __future__ import annotations

import os
import sys

__all__ = ["plugin_commands"]

Commands = dict[str, tuple[str, str]]


def plugin_commands(*, refresh: bool = False) -> Commands:
    """Name -> (one line of help, "module:attribute")."""
    key = _key()
    path = _cache_file()
    if not refresh:
        remembered = _remembered(path, key)
        if remembered is not None:
            return remembered
    found = _ask()
    _remember(path, key, found)
    return found


def _key() -> list[str]:
    stamps = []
    for folder in filter(None, sys.path):
        try:
            stamps.append(f"{folder}:{os.stat(folder).st_mtime_ns}")
        except OSError:
            continue
    switches = [os.environ.get(name, "") for name in ("LOADLIB_PLUGINS", "LOADLIB_PLUGINS_OFF")]
    return [*switches, *stamps]


def _cache_file() -> str:
    import platformdirs

    folder = platformdirs.user_cache_dir("loadlib", appauthor=False)
    return os.path.join(folder, "plugin-commands.txt")


def _remembered(path: str, key: list[str]) -> Commands | None:
    # Lines of text, since importing json would cost the help a millisecond or two.
    try:
        with open(path, encoding="utf-8") as file:
            first, *lines = file.read().splitlines()
        if first != repr(key):
            return None
        rows = [line.split("\t") for line in lines]
        return {name: (line, target) for name, line, target in rows}
    except (OSError, ValueError):
        return None


def _remember(path: str, key: list[str], commands: Commands) -> None:
    rows = ["\t".join(" ".join(cell.split()) for cell in (n, *c)) for n, c in commands.items()]
    try:
        os.makedirs(os.path.dirname(path), exist_ok=True)
        partial = f"{path}.{os.getpid()}"
        with open(partial, "w", encoding="utf-8") as file:
            file.write("\n".join([repr(key), *rows]) + "\n")
        os.replace(partial, path)
    except OSError:
        # No cache folder (read-only home): the next run asks the plugins again.
        return


def _ask() -> Commands:
    from loadlib.host import Host

    host = Host.load()
    for record in host.broken:
        print(f"loadlib: left out plugin {record.name}: {record.error}", file=sys.stderr)
    return {name: (entry.help, entry.target) for name, entry in host.commands()}
