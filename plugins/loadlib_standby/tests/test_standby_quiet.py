"""Standard output carries our data: a C library's lines must not get into it."""

from __future__ import annotations

import os

import pytest

from loadlib_standby.quiet import quiet_stdout


def test_what_is_written_below_python_is_dropped(capfd: pytest.CaptureFixture[str]) -> None:
    print("before")
    with quiet_stdout():
        os.write(1, b"a stray line of the solver\n")
    print("after")
    assert capfd.readouterr().out == "before\nafter\n"


def test_it_comes_back_after_an_error(capfd: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(RuntimeError), quiet_stdout():
        raise RuntimeError("in the middle")
    os.write(1, b"heard again\n")
    assert capfd.readouterr().out == "heard again\n"
