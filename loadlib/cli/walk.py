"""loadlib walk: the round through the house, one line an appliance."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from typing import Annotated

import typer

app = typer.Typer(add_completion=False, rich_markup_mode=None)


@app.command()
def walk(
    house: Annotated[str, typer.Argument(help="Name of the house; asked for if new.")] = "",
    system: Annotated[
        str, typer.Option(help="Supply of a new house: 120/240, 120/208, 230, 230/400, 100/200.")
    ] = "120/240",
) -> None:
    """Walk through a house and note its appliances."""
    from loadlib.cli.houses import StoreDesk
    from loadlib.cli.output import out
    from loadlib.core.household import House
    from loadlib.store import houses
    from loadlib.walk.session import Session

    # Arrow keys and earlier lines at the prompt, where the system has them.
    with suppress(ImportError):
        import readline  # noqa: F401  (imported for what it does to input())

    stored = [one.name for one in houses.list_houses()]
    known = house.casefold() in {name.casefold() for name in stored} or (not house and stored)
    if known:
        name = houses.pick(house)
    else:
        name = house or (_ask("A name for the house: ") or "").strip() or "my house"
        houses.create(House(name, system))
        out.wrapped(f"New: {name}, {system} V. Everything you say is stored at once.")
    Session(StoreDesk(name), _say, _ask).run()


def _say(lines: Sequence[str]) -> None:
    from loadlib.cli.output import out

    for line in lines:
        out.wrapped(line)


def _ask(prompt: str) -> str | None:
    """One answer; None at the end of input or Ctrl-C. A long prompt breaks between words."""
    from loadlib.cli.output import out

    *above, last = out.broken(prompt)
    for line in above:
        print(line)
    try:
        return input(last if last.endswith(" ") else last + " ")
    except (EOFError, KeyboardInterrupt):
        print()
        return None
