"""The one place that prints: results to stdout, talk to stderr, no colour when piped."""

from __future__ import annotations

import json
import os
import shutil
import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

__all__ = ["Output", "out"]


class Output:
    """Text, tables and JSON for commands."""

    @property
    def width(self) -> int:
        """Columns of the terminal; 80 when piped."""
        return shutil.get_terminal_size((80, 24)).columns

    @property
    def is_terminal(self) -> bool:
        """True when a person looks at stdout."""
        return sys.stdout.isatty()

    def text(self, *lines: str) -> None:
        """Lines of the result."""
        for line in lines:
            print(line)

    def wrapped(self, line: str) -> None:
        """A line broken between words to the terminal, later lines set in by two blanks more."""
        for part in self.broken(line):
            print(part)

    def broken(self, line: str) -> list[str]:
        """The same as a list, at least one line."""
        import textwrap

        indent = " " * (len(line) - len(line.lstrip()) + 2)
        return textwrap.wrap(line, max(self.width, 30), subsequent_indent=indent) or [""]

    def json(self, value: Any) -> None:
        """The result as JSON; NaN is refused, since nobody else reads it."""
        print(json.dumps(value, allow_nan=False, ensure_ascii=False, indent=2))

    def warn(self, *lines: str) -> None:
        """Talk that is not part of the result."""
        for line in lines:
            print(line, file=sys.stderr)

    def cautions(self, lines: Iterable[str]) -> None:
        """The cautions, as part of the result, wrapped to the terminal."""
        import textwrap

        print()
        print("CAUTION")
        for line in lines:
            print(
                textwrap.fill(
                    line, max(self.width, 30), initial_indent="- ", subsequent_indent="  "
                )
            )

    def table(self, headers: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
        """A table for a terminal; tab-separated values when piped."""
        cells = [[_cell(item) for item in row] for row in rows]
        if not self.is_terminal:
            for row in ([str(h) for h in headers], *cells):
                print("\t".join(row))
            return
        from rich import box
        from rich.console import Console
        from rich.table import Table

        table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
        for column, header in enumerate(headers):
            numeric = all(_is_number(row[column]) for row in cells)
            table.add_column(header, justify="right" if numeric else "left", overflow="fold")
        from rich.text import Text

        for row in cells:
            # Text, not markup: names come from people and may hold brackets.
            table.add_row(*(Text(item) for item in row))
        Console(no_color="NO_COLOR" in os.environ).print(table)

    @contextmanager
    def progress(self, what: str) -> Iterator[Any]:
        """A bar on stderr that appears after one second; yields ``update(share)``."""
        if not sys.stderr.isatty():
            yield lambda _share: None
            return
        import time

        from rich.console import Console
        from rich.progress import Progress

        started = time.monotonic()
        with Progress(console=Console(stderr=True), transient=True, disable=False) as bar:
            task = bar.add_task(what, total=1.0, visible=False)

            def update(share: float) -> None:
                bar.update(task, completed=share, visible=time.monotonic() - started > 1.0)

            yield update


def _cell(item: object) -> str:
    if isinstance(item, float):
        return f"{item:,.0f}" if abs(item) >= 100 else f"{item:.3g}"
    text = "" if item is None else str(item)
    # Control characters from a file must not steer the terminal.
    return "".join(c if c.isprintable() else "�" for c in text)


def _is_number(text: str) -> bool:
    try:
        float(text.replace(",", "") or "0")
    except ValueError:
        return False
    return True


out = Output()
"""The output of this process."""
