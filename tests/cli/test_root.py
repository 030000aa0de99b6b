"""The root command: help from a table, late imports, errors as text and exit codes."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
import typer

from loadlib.cli.output import out
from loadlib.cli.plugin_commands import plugin_commands
from loadlib.cli.table import BUILT_IN_COMMANDS

Run = Callable[..., Any]


@pytest.mark.parametrize("name", sorted(BUILT_IN_COMMANDS))
def test_the_table_of_commands_is_true(name: str) -> None:
    line, target = BUILT_IN_COMMANDS[name]
    module, _, attribute = target.partition(":")
    command = typer.main.get_command(getattr(import_module(module), attribute))
    assert (command.help or "").splitlines()[0] == line
    assert len(line) <= 55


def test_help_names_every_command(run: Run) -> None:
    done = run("--help")
    assert done.code == 0
    for name in [*BUILT_IN_COMMANDS, *plugin_commands()]:
        assert re.search(rf"^  {name} ", done.out, re.MULTILINE)


@pytest.mark.parametrize("words", [["--help"], ["lookup", "fridge"]])
def test_a_light_command_imports_nothing_heavy(words: list[str], run: Run, tmp_path: Path) -> None:
    run("lookup", "fridge")  # the database is there now, as it is for a person
    run("--help")  # and the commands of plugins are remembered
    code = (
        f"import sys; sys.argv = ['loadlib', *{words!r}]\n"
        "from loadlib.cli import main\n"
        "try: main()\nexcept SystemExit: pass\n"
        "heavy = 'sqlalchemy alembic pint rich scipy numpy pluggy'.split()\n"
        "print([m for m in heavy if m in sys.modules], file=sys.stderr)"
    )
    # The cache is keyed by the import path, so this first run may ask the plugins.
    for _ in range(2):
        done = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=120
        )
    assert done.stderr.splitlines()[-1] == "[]"


@pytest.mark.parametrize(
    ("words", "code", "text"),
    [
        (["nothing"], 2, "No such command"),
        (["house", "show", "ghost"], 3, "no house 'ghost'"),
        (["profile", "show", "ghost.json"], 3, "no file 'ghost.json'"),
        (["house", "new", "ridge", "--system", "110"], 3, "no voltage system '110'"),
        (["usage", "bill", "soon", "2026-01-01", "5"], 2, "'soon' is no day"),
        (["plugins", "new", "Bad-Name"], 2, "Bad-Name"),
    ],
)
def test_a_mistake_is_one_message_and_an_exit_code(
    words: list[str], code: int, text: str, run: Run
) -> None:
    done = run(*words)
    assert done.code == code
    assert text in done.err
    assert "Traceback" not in done.err
    assert done.out == ""


ONE_LINE = {"walk", "house export", "profile export", "plugins new", "usage bill", "usage remove"}
"""Commands without a table: a dialogue, a document in a form of its own, or one line."""


@pytest.mark.parametrize("name", sorted(BUILT_IN_COMMANDS))
def test_every_command_prints_json_and_has_help(name: str) -> None:
    module, _, attribute = BUILT_IN_COMMANDS[name][1].partition(":")
    command = typer.main.get_command(getattr(import_module(module), attribute))
    found = getattr(command, "commands", None)
    leaves = {f"{name} {sub}": leaf for sub, leaf in found.items()} if found else {name: command}
    for words, leaf in leaves.items():
        options = {option for parameter in leaf.params for option in parameter.opts}
        assert leaf.help, words
        if words not in ONE_LINE and words != "profile schema":  # which is JSON itself
            assert "--json" in options, words


def test_debug_shows_the_traceback(run: Run) -> None:
    from loadlib.errors import NotFound

    with pytest.raises(NotFound):
        run("--debug", "house", "show", "ghost")


def test_version(run: Run) -> None:
    assert re.fullmatch(r"loadlib \d+\.\d+\.\d+\n", run("--version").out)


def test_a_reader_that_goes_away_is_no_fault(run: Run) -> None:
    run("lookup", "fridge")
    code = "import sys; from loadlib.cli import main; sys.argv[1:] = ['lookup', '--all']; main()"
    done = subprocess.run(
        ["bash", "-c", f'{sys.executable} -c "{code}" | head -1'],
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
    )
    assert "Traceback" not in done.stderr


def test_output_is_tab_separated_when_piped_and_clean(capsys: pytest.CaptureFixture[str]) -> None:
    out.table(("name", "W"), [("a\x1b[31m\tb", 1234.5), (None, 0.25)])
    assert capsys.readouterr().out == "name\tW\na�[31m�b\t1,234\n\t0.25\n"


def test_json_refuses_nan() -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        out.json({"x": float("nan")})


def test_a_plugin_command_that_is_unknown_to_the_cache_is_asked_for(run: Run) -> None:
    cache = Path("cache/loadlib/plugin-commands.txt")
    run("--help")
    key, *rows = cache.read_text().splitlines()
    assert {row.split("\t")[0] for row in rows} >= {"standby", "service", "report"}
    cache.write_text(key + "\n")
    assert run("standby", "--help").code == 0


@pytest.mark.parametrize("text", ["", "{", "[]", '{"key": 1}', '{"key": [], "commands": 5}'])
def test_a_damaged_cache_is_made_anew(text: str, run: Run) -> None:
    cache = Path("cache/loadlib/plugin-commands.txt")
    cache.parent.mkdir(parents=True)
    cache.write_text(text)
    assert "standby" in run("--help").out


def test_a_terminal_without_the_letters_gets_marks_not_a_traceback(run: Run) -> None:
    run("house", "new", "Höfchen am Grat ☃")
    done = subprocess.run(
        [sys.executable, "-c", "from loadlib.cli import main; main()", "house", "list"],
        capture_output=True,
        timeout=120,
        check=True,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )
    assert b"H?fchen am Grat ?" in done.stdout
