"""Labels on the command line: what was read, what is no load, what can't be."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

Run = Callable[..., Any]


def test_a_label_is_read_in_words_and_as_json(run: Run) -> None:
    done = run("label", "115V", "60Hz", "6.5A")
    assert done.code == 0
    assert "at most 748 VA" in done.out
    tree = json.loads(run("label", "115V 60Hz 6.5A", "--json").out)
    assert (tree["volts"], tree["amps"], tree["watts"], tree["refused"]) == (115, 6.5, None, None)


@pytest.mark.parametrize(
    ("text", "code", "words"),
    [
        ("0V 5A", 2, "impossible: 0 V"),
        ("10MW", 2, "impossible: 10,000,000 W"),
        ("115V -5A", 2, "impossible: a negative figure"),
        ("asdfgh qqq", 2, "nothing electrical to read"),
        ("", 2, "empty: no text to read"),
        ("GENERATOR 7500W", 10, "a source rating"),
        ("30A breaker", 10, "breaker size"),
        ("200A service", 10, "a service rating"),
    ],
)
def test_what_is_no_load_is_told_with_an_exit_code(
    text: str, code: int, words: str, run: Run
) -> None:
    done = run("label", text)
    assert done.code == code
    assert words in " ".join((done.out + done.err).split())
    assert "Traceback" not in done.err
    # As JSON the refusal is a part of the answer.
    done = run("label", text, "--json")
    assert done.code == 0
    assert json.loads(done.out)["refused"]
