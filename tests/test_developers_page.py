"""DEVELOPERS.md is held against the code: signatures, examples, files."""

from __future__ import annotations

import inspect
import re
from pathlib import Path

import pytest

from loadlib import hooks
from loadlib.core.claims import DEMAND_QUANTITIES, LOAD_QUANTITIES

ROOT = Path(__file__).parent.parent
PAGE = (ROOT / "DEVELOPERS.md").read_text("utf-8")
BLOCKS = re.findall(r"<!-- run -->\n```python\n(.*?)```", PAGE, re.DOTALL)
SPECIFICATIONS = [name for name in hooks.__all__ if name.startswith("loadlib_")]


def signature(function: object) -> str:
    text = str(inspect.signature(function))  # type: ignore[arg-type]
    return text.replace("'", "")


@pytest.mark.parametrize("name", SPECIFICATIONS)
def test_each_hook_stands_with_its_exact_signature(name: str) -> None:
    assert f"    {name}{signature(getattr(hooks, name))}\n" in PAGE


@pytest.mark.parametrize("kind", [hooks.Estimator, hooks.Reader])
def test_each_method_of_a_protocol_stands_with_its_exact_signature(kind: type) -> None:
    methods = [name for name, item in vars(kind).items() if inspect.isfunction(item)]
    public = [name for name in methods if not name.startswith("_")]
    assert public
    for name in public:
        assert f"    {name}{signature(getattr(kind, name))}\n" in PAGE


@pytest.mark.parametrize("code", BLOCKS)
def test_each_example_runs(code: str) -> None:
    exec(compile(code, "DEVELOPERS.md", "exec"), {"__name__": "example"})


def test_the_examples_are_there() -> None:
    assert len(BLOCKS) == 3


@pytest.mark.parametrize("quantity", [*LOAD_QUANTITIES, *DEMAND_QUANTITIES])
def test_each_quantity_is_named(quantity: str) -> None:
    assert f"`{quantity}`" in PAGE


@pytest.mark.parametrize(
    "path", sorted(set(re.findall(r"`((?:loadlib|tests|seed_data|plugins)/[a-z_0-9./]*)`", PAGE)))
)
def test_each_path_is_there(path: str) -> None:
    assert (ROOT / path).exists()
