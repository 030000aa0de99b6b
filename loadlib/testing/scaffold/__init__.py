"""Write the skeleton of a plugin package from the templates in this folder."""

from __future__ import annotations

import keyword
import re
from importlib import resources
from pathlib import Path
from string import Template

from loadlib.errors import InputError

__all__ = ["write_plugin"]

_FILES = {
    "pyproject.toml": "pyproject.toml.txt",
    "README.md": "README.md.txt",
    "loadlib_{name}/__init__.py": "init.py.txt",
    "loadlib_{name}/hooks.py": "hooks.py.txt",
    "loadlib_{name}/estimator.py": "estimator.py.txt",
    "tests/test_estimator.py": "test_estimator.py.txt",
}


def write_plugin(name: str, into: Path, *, appliance: str = "pump") -> list[Path]:
    """Write a complete plugin package ``into/loadlib-NAME``; returns the files written.

    Raises InputError for a name that is no Python name, or a folder that exists.
    """
    if not re.fullmatch(r"[a-z][a-z0-9_]{1,40}", name) or keyword.iskeyword(name):
        raise InputError(
            f"plugin name {name!r}", hint="Use lower-case letters, digits and _, e.g. ridge_pump."
        )
    root = into / f"loadlib-{name.replace('_', '-')}"
    if root.exists():
        raise InputError(f"{root} exists already", hint="Choose another name or folder.")
    import loadlib

    words = {
        "name": name,
        "dash": name.replace("_", "-"),
        "cls": "".join(part.capitalize() for part in name.split("_")),
        "appliance": appliance,
        "version": loadlib.__version__,
    }
    templates = resources.files("loadlib.testing.scaffold")
    written = []
    for target, template in _FILES.items():
        path = root / target.format(name=name)
        path.parent.mkdir(parents=True, exist_ok=True)
        text = templates.joinpath(template).read_text("utf-8")
        path.write_text(Template(text).substitute(words), encoding="utf-8")
        written.append(path)
    return written
