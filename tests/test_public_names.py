"""What is public is said once and is really there."""

from __future__ import annotations

import subprocess
import sys

import pytest

import loadlib
import loadlib.hooks
import loadlib.testing

HEAVY = ("sqlalchemy", "alembic", "pint", "pydantic", "typer", "rich", "scipy", "matplotlib")


@pytest.mark.parametrize("module", [loadlib, loadlib.hooks, loadlib.testing])
def test_all_names_are_there(module: object) -> None:
    names = list(module.__all__)  # type: ignore[attr-defined]
    assert len(names) == len(set(names))
    for name in names:
        assert getattr(module, name) is not None


def test_an_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = loadlib.nothing


def test_names_are_listed() -> None:
    assert set(loadlib.__all__) <= set(dir(loadlib))


@pytest.mark.parametrize("code", ["import loadlib", "import loadlib; loadlib.House"])
def test_import_is_light(code: str) -> None:
    show = f"{code}; import sys; print([m for m in {HEAVY!r} if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", show], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.strip() == "[]"


def test_no_module_stands_in_the_way_of_a_public_name() -> None:
    # ``import loadlib.x`` would put the module where the function x should be; only
    # ``figures`` is meant to be the module of its name.
    from pathlib import Path

    folder = Path(loadlib.__file__).parent
    modules = {path.stem for path in folder.iterdir() if path.suffix in ("", ".py")} - {"figures"}
    assert modules.isdisjoint(loadlib.__all__)
