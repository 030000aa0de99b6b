"""Commands on what is in a house: appliances and circuits, one by one or as a list."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from loadlib.cli.houses import StoreDesk
    from loadlib.core.household import House

__all__ = ["AsJson", "OfHouse", "add", "change", "circuit", "done", "edit_house", "move", "take"]

AsJson = Annotated[bool, typer.Option("--json", help="Print JSON.")]
OfHouse = Annotated[str, typer.Option("--house", "-H", help="Which house, if there are several.")]


def add(
    line: Annotated[list[str], typer.Argument(help='E.g. "kitchen: refrigerator 115V 6.5A @9".')],
    house: OfHouse = "",
    category: Annotated[str, typer.Option(help="Catalog category, if the words are not it.")] = "",
    as_json: AsJson = False,
) -> None:
    """Add an appliance, written as on the walk."""
    from dataclasses import asdict

    from loadlib.cli.houses import StoreDesk
    from loadlib.store.houses import pick
    from loadlib.walk.grammar import parse_entry
    from loadlib.walk.session import Session

    desk = StoreDesk(pick(house))
    words: list[str] = []
    # Nobody is there to answer: what would have been asked is told as open.
    unanswered: list[str] = []
    session = Session(desk, words.extend, unanswered.append)
    entry = parse_entry(" ".join(line))
    session.enter(entry, category=_category(desk, category))
    text = "\n".join([*words, *(f"  open: {prompt}" for prompt in unanswered)])
    added = {} if entry.is_room_only else {"appliance": asdict(desk.house().appliances[-1])}
    done(text, desk.name, as_json, **added)


def change(
    appliance: Annotated[str, typer.Argument(help="Id or name of the appliance.")],
    house: OfHouse = "",
    name: Annotated[str | None, typer.Option(help="New name.")] = None,
    category: Annotated[str | None, typer.Option(help="Catalog category.")] = None,
    count: Annotated[int | None, typer.Option(help="How many alike.")] = None,
    label: Annotated[str | None, typer.Option(help="Text of the label, as it stands.")] = None,
    running: Annotated[
        str | None, typer.Option(help='Your own figure: "150 W", or "90 120 180" W; "" for none.')
    ] = None,
    legs: Annotated[str | None, typer.Option(help="A, B or AB, if it has no circuit.")] = None,
    priority: Annotated[str | None, typer.Option(help="must, wanted or off.")] = None,
    medical: Annotated[bool | None, typer.Option("--medical/--not-medical")] = None,
    off_for: Annotated[
        str | None, typer.Option(help='How long it may be off: 4h, 30min; "" for unknown.')
    ] = None,
    if_off: Annotated[str | None, typer.Option(help="What happens then.")] = None,
    note: Annotated[str | None, typer.Option(help="A note.")] = None,
    as_json: AsJson = False,
) -> None:
    """Change what is known of an appliance; what is not named stays."""
    from loadlib.cli.houses import StoreDesk, check_label
    from loadlib.cli.quantities import span_s, watts
    from loadlib.errors import InputError
    from loadlib.store import edits
    from loadlib.store.houses import load, pick

    given = (
        *(("name", name), ("count", count), ("label", label), ("priority", priority)),
        *(("legs", legs and legs.upper()), ("medical", medical), ("if_off", if_off)),
        *(("note", note),),
    )
    changes: dict[str, object] = {key: value for key, value in given if value is not None}
    house = pick(house)
    if label is not None:
        check_label(load(house).appliance(appliance).name, label)
    if category is not None:
        changes["category"] = _category(StoreDesk(house), category)
    if off_for is not None:
        changes["may_be_off_s"] = span_s(off_for)
    if running is not None:
        changes["running_w"] = watts(running)
    if not changes:
        raise InputError("nothing to change", hint="Say what, e.g.: --count 2")
    edit_house(
        house,
        lambda h: edits.change_appliance(h, appliance, **changes),
        f"changed {appliance}: {', '.join(changes)}",
        as_json,
    )


def move(
    appliance: Annotated[str, typer.Argument(help="Id or name of the appliance.")],
    house: OfHouse = "",
    room: Annotated[str | None, typer.Option(help="To this room.")] = None,
    circuit: Annotated[str | None, typer.Option(help="To this circuit or slot.")] = None,
    as_json: AsJson = False,
) -> None:
    """Move an appliance to another room or circuit."""
    from loadlib.store import edits
    from loadlib.walk.grammar import find_circuit

    def moved(old: House) -> House:
        said: dict[str, object] = {}
        if room is not None:
            said["room"] = room
        if circuit is not None:
            said["circuit"] = find_circuit(old, circuit) if circuit else ""
        return edits.change_appliance(old, appliance, **said)

    edit_house(house, moved, f"moved {appliance}", as_json)


def circuit(
    name: Annotated[str, typer.Argument(help="Name of the circuit; made if new.")],
    house: OfHouse = "",
    slots: Annotated[str | None, typer.Option(help="Slots in the panel: 11, or 2-4.")] = None,
    legs: Annotated[str | None, typer.Option(help="A, B or AB.")] = None,
    breaker_a: Annotated[str | None, typer.Option("--breaker-a", help="Breaker, A.")] = None,
    depends_on: Annotated[
        list[str] | None, typer.Option(help="Does nothing without this circuit.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Make a circuit or change it."""
    from loadlib.cli.quantities import amps
    from loadlib.store import edits
    from loadlib.walk.survey import guessed_circuit, slots_of

    said: dict[str, object] = {}
    if slots is not None:
        said["slots"] = slots_of(slots)
    if legs is not None:
        said |= {"legs": legs.upper(), "leg_guessed": False}
    if breaker_a is not None:
        said["breaker_a"] = amps(breaker_a)

    def changed(old: House) -> House:
        if depends_on is not None:
            said["depends_on"] = tuple(old.circuit(one).name for one in depends_on)
        if not any(c.name.casefold() == name.casefold() for c in old.circuits):
            # Without a leg it is guessed from the slot, and marked as guessed.
            old = edits.add_circuit(old, guessed_circuit(old, slots_of(slots or "1"), name))
        return edits.change_circuit(old, name, **said)

    edit_house(house, changed, f"circuit {name}", as_json)


def take(
    file: Annotated[Path, typer.Argument(help="CSV: name, and any of category, count, room, …")],
    house: OfHouse = "",
    as_json: AsJson = False,
) -> None:
    """Take an appliance list in from a CSV file; all rows or none."""
    from loadlib.cli.houses import StoreDesk, check_label
    from loadlib.cli.output import out
    from loadlib.exchange.appliance_list import appliances_from_csv
    from loadlib.files import read_text
    from loadlib.store import edits
    from loadlib.store.houses import pick

    desk = StoreDesk(pick(house))
    found = appliances_from_csv(
        read_text(file),
        path=str(file),
        find=desk.find,
        circuits=desk.house().circuits,
        check_label=check_label,
    )

    def added(old: House) -> House:
        for appliance in found:
            old = edits.add_appliance(old, appliance)
        return old

    desk.edit(added, f"took {len(found)} from {file.name}")
    rows = [(a.name, a.category, a.count) for a in found]
    headings = ("name", "category", "count")
    listed = [dict(zip(headings, row, strict=True)) for row in rows]
    done(f"took in {len(found)} appliances", desk.name, as_json, appliances=listed)
    if not as_json:
        out.table(headings, rows)


def _category(desk: StoreDesk, words: str) -> str:
    """The catalog's category for its key or its very name; empty stays empty."""
    from loadlib.errors import NotFound

    if not words or desk.category(words) is not None:
        return words
    near = desk.find(words)
    if near and desk.is_exact(words):
        return near[0]
    raise NotFound("category", words, near=tuple(near))


def edit_house(house: str, change: Callable[[House], House], what: str, as_json: bool) -> None:
    """Change the stored house and say what was done."""
    from loadlib.store.houses import edit, pick

    name = pick(house)
    edit(name, change, what)
    done(what, name, as_json)


def done(what: str, house: str, as_json: bool, **more: object) -> None:
    """Say what was done to which house."""
    from loadlib.cli.output import out

    if as_json:
        out.json({"done": what, "house": house, **more})
    else:
        out.text(what)
