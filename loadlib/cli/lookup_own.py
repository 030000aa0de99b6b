"""What ``loadlib lookup`` changes: a user's own values and names in the catalog."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from loadlib.core.ranges import Range
from loadlib.errors import InputError, NotFound
from loadlib.store import catalog
from loadlib.store.search import fold

if TYPE_CHECKING:
    from loadlib.cli.output import Output
    from loadlib.store.database import Database

__all__ = ["change_names", "change_values", "show_names"]


def change_values(
    database: Database, words: str, own: Sequence[str], shipped: Sequence[str]
) -> None:
    """Set and drop the user's own values of the one category that ``words`` name exactly."""
    category = _one_category(database, words)
    for text in own:
        quantity, low, typical, high = _own_value(text)
        catalog.set_value(category, quantity, Range(low, typical, high), db=database)
    for quantity in shipped:
        if not catalog.reset_value(category, quantity, database):
            raise NotFound("value of your own for", f"{category} {quantity}")


def _one_category(database: Database, words: str) -> str:
    """The category that ``words`` name exactly; InputError if they don't."""
    if not words.strip():
        raise InputError("which category?", hint="Name it: loadlib lookup --all lists them.")
    hits = catalog.search(words, 5, database).hits
    if not hits or not hits[0].exact:
        near = ", ".join(hit.category for hit in hits)
        hint = f"Name one: {near}" if near else "Name one: loadlib lookup --all lists them."
        raise InputError(f"{words!r} is not one category", hint=hint)
    return hits[0].category


def change_names(
    database: Database, words: str, add: Sequence[str], drop: Sequence[str]
) -> list[str]:
    """Add and drop names of the user's own; says what was done.

    Names are added to the one category that ``words`` name exactly, and dropped wherever they
    stand. InputError for a name that is no word or finds something else, NotFound for one that
    is not there; then nothing is changed.
    """
    category = _one_category(database, words) if add else ""
    own = [(fold(alias), where) for alias, where in catalog.own_aliases(database)]
    for name in drop:
        if fold(name) not in [folded for folded, _ in own]:
            near = tuple(alias for alias, _ in catalog.own_aliases(database))[:6]
            raise NotFound("name of your own", name, near=near)
    new = [name for name in add if _is_new(database, category, name)]
    for name in drop:
        for where in [where for folded, where in own if folded == fold(name)]:
            catalog.remove_alias(where, name, database)
    for name in new:
        catalog.add_alias(category, name, database)
    told = [f'"{name}" is no name of your own any more' for name in drop]
    told += [
        f'"{name}" finds {category} ' + ("from now on" if name in new else "already")
        for name in add
    ]
    return told


def _is_new(database: Database, category: str, name: str) -> bool:
    """False when the category has the name already; InputError when it can't have it."""
    if not any(letter.isalnum() for letter in name):
        raise InputError(f"{name!r} is no name", hint="It needs a letter or a figure.")
    found = catalog.search(name, 20, database)
    exact = [] if found.taken_as else [hit.category for hit in found.hits if hit.exact]
    if category in exact:
        return False
    if exact:
        raise InputError(
            f"{name!r} is a name of {exact[0]} already",
            hint=f"Another name for {category}, please; two would be mixed up.",
        )
    return True


def show_names(database: Database, out: Output, *, as_json: bool) -> None:
    """The names of the user's own with the categories that they find."""
    rows = catalog.own_aliases(database)
    if as_json:
        out.json([{"name": alias, "category": category} for alias, category in rows])
    elif rows:
        out.table(("name", "category"), rows)
    else:
        out.text(
            'No names of your own. Add one: loadlib lookup sump_pump_1_3_hp --name "crock pump"'
        )


def _own_value(text: str) -> tuple[str, float, float, float]:
    quantity, _, numbers = text.partition("=")
    try:
        low, typical, high = (float(part) for part in numbers.split(","))
    except ValueError:
        raise InputError(
            f"own value {text!r}", hint="Write it like running_w=90,120,200 (low, typical, high)."
        ) from None
    return quantity.strip(), low, typical, high
