"""Imports point inwards, and each heavy library has one home."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import loadlib

PACKAGE = Path(loadlib.__file__).parent
PLUGINS = PACKAGE.parent / "plugins"

ALLOWED: dict[str, set[str]] = {
    "core": {"core", "errors"},
    "labels": {"labels", "core", "errors", "units"},
    "store": {"store", "core", "errors", "settings", ""},
    "readers": {"readers", "core", "errors", "units", "hooks"},
    "peak": {"peak", "core", "errors"},
    "clamp": {"clamp", "core", "errors"},
    "estimators": {"estimators", "core", "errors", "hooks", "", "peak", "clamp"},
    "exchange": {"exchange", "core", "errors"},
    "walk": {"walk", "core", "errors", ""},
    "figures": {"figures", "core", "errors"},
    "testing": {"testing", "core", "errors", "hooks", ""},
}
"""Package -> what of loadlib it may import; "" is the public face, ``import loadlib``."""

EXCEPTIONS = {
    # The two document methods of LoadProfile are part of its public face and reach out late.
    ("core/profile.py", "exchange"),
}

HOMES: dict[str, set[str]] = {
    "sqlalchemy": {"store"},
    "alembic": {"store"},
    "pint": {"units.py"},
    "pydantic": {"exchange"},
    "typer": {"cli"},
    "rich": {"cli"},
    "pluggy": {"hooks.py", "host.py"},
    "rapidfuzz": {"store"},
    "matplotlib": {"figures"},
}
"""Library -> the only places of the package that import it."""


def modules(root: Path) -> Iterator[tuple[str, ast.Module]]:
    for path in sorted(root.rglob("*.py")):
        relative = path.relative_to(root).as_posix()
        if "/tests/" not in f"/{relative}":
            yield relative, ast.parse(path.read_text("utf-8"))


def imported(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            yield node.module


@pytest.mark.parametrize("package", sorted(ALLOWED))
def test_a_package_imports_only_what_it_may(package: str) -> None:
    wrong = []
    for path, tree in modules(PACKAGE / package):
        for name in imported(tree):
            if name != "loadlib" and not name.startswith("loadlib."):
                continue
            part = name.split(".")[1] if "." in name else ""
            if part not in ALLOWED[package] and (f"{package}/{path}", part) not in EXCEPTIONS:
                wrong.append(f"{package}/{path} imports {name}")
    assert wrong == []


@pytest.mark.parametrize("library", sorted(HOMES))
def test_a_heavy_library_has_one_home(library: str) -> None:
    wrong = [
        path
        for path, tree in modules(PACKAGE)
        if path.split("/")[0] not in HOMES[library]
        and any(name.split(".")[0] == library for name in imported(tree))
    ]
    assert wrong == []


@pytest.mark.parametrize("plugin", ["loadlib_standby", "loadlib_service", "loadlib_report"])
def test_a_first_party_plugin_uses_public_names_only(plugin: str) -> None:
    public = {"loadlib", "loadlib.hooks", "loadlib.testing"}
    wrong = [
        f"{path} imports {name}"
        for path, tree in modules(PLUGINS / plugin)
        for name in imported(tree)
        if name.split(".")[0] == "loadlib" and name not in public
    ]
    assert wrong == []
