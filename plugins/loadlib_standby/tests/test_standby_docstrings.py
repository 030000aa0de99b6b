"""The numbers in the docstrings, and the table of questions in the package's own."""

from __future__ import annotations

import doctest
import importlib
import pkgutil
import re

import pytest

import loadlib
import loadlib_standby

MODULES = sorted(
    m.name for m in pkgutil.iter_modules(loadlib_standby.__path__) if m.name != "tests"
)


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_docstrings(name: str) -> None:
    module = importlib.import_module(f"loadlib_standby.{name}")
    assert doctest.testmod(module).failed == 0


def test_every_function_in_the_table_of_questions_is_there() -> None:
    text = (loadlib_standby.__doc__ or "").split("question   ", 1)[1]
    module = ""
    names = re.findall(r"``([a-z_.]+)``", text)
    assert len(names) > 50
    for name in names:
        if name == "loadlib_service":
            continue
        owner, _, function = name.rpartition(".")
        module = owner or module  # "``legs.a``, ``b``": b is of the same module
        place = loadlib if module == "loadlib" else None
        found = place or importlib.import_module(f"loadlib_standby.{module}")
        assert callable(getattr(found, function)), name
