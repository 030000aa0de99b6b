"""loadlib house: make, show and edit houses; every change is stored at once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from loadlib.cli.houses import StoreDesk
    from loadlib.core.household import House

app = typer.Typer(
    add_completion=False,
    rich_markup_mode=None,
    no_args_is_help=True,
    help="Make, show and edit houses.",
)
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON.")]
Name = Annotated[str, typer.Argument(help="Name of the house.")]
OfHouse = Annotated[str, typer.Option("--house", "-H", help="Which house, if there are several.")]
System = Annotated[str, typer.Option(help="120/240, 120/208, 230, 230/400 or 100/200.")]
ServiceA = Annotated[str | None, typer.Option("--service-a", help="Main breaker, A.")]
Area = Annotated[str | None, typer.Option("--area", help='Floor area: "1,800 ft2" or "170 m2".')]
Zone = Annotated[str | None, typer.Option(help="IANA name, e.g. America/New_York.")]


@app.command()
def new(
    name: Name,
    system: System = "120/240",
    service_a: ServiceA = None,
    area: Area = None,
    timezone: Zone = None,
    note: Annotated[str, typer.Option(help="A note.")] = "",
) -> None:
    """Make an empty house."""
    from loadlib.cli.output import out
    from loadlib.core.household import House
    from loadlib.store.houses import create

    facts = _facts(service_a=service_a, area=area, timezone=timezone)
    create(House(name, system, note=note).with_(**facts))
    out.text(f"made {name}")


@app.command("set")
def set_(
    house: Annotated[str, typer.Argument()] = "",
    system: Annotated[str | None, typer.Option(help="120/240, 120/208, 230, …")] = None,
    service_a: ServiceA = None,
    area: Area = None,
    timezone: Zone = None,
    note: Annotated[str | None, typer.Option(help="A note.")] = None,
) -> None:
    """Change what is known of the house as a whole; what is not named stays."""
    from loadlib.errors import InputError

    changes = _facts(service_a=service_a, area=area, timezone=timezone)
    changes |= {k: v for k, v in (("system", system), ("note", note)) if v is not None}
    if not changes:
        raise InputError("nothing to change", hint="Say what, e.g.: --service-a 100")
    _edit(house, lambda h: h.with_(**changes), f"set {', '.join(sorted(changes))}")


def _facts(*, service_a: str | None, area: str | None, timezone: str | None) -> dict[str, object]:
    """The facts that were typed, as fields of a House."""
    from loadlib.cli.quantities import amps, area_ft2, zone

    facts: dict[str, object] = {}
    if service_a is not None:
        facts["service_a"] = amps(service_a)
    if area is not None:
        facts["area_ft2"] = area_ft2(area)
    if timezone is not None:
        facts["timezone"] = zone(timezone)
    return facts


@app.command("list")
def list_(as_json: AsJson = False) -> None:
    """All houses, the one changed last first."""
    from loadlib.cli.output import out
    from loadlib.store.houses import list_houses

    found = list_houses()
    if as_json:
        out.json([one._asdict() for one in found])
        return
    out.table(("house", "system", "circuits", "appliances", "changed (UTC)"), found)


@app.command()
def show(house: Annotated[str, typer.Argument()] = "", as_json: AsJson = False) -> None:
    """Circuits and appliances of a house, and what is known, guessed, missing."""
    from dataclasses import asdict

    from loadlib.cli.output import out
    from loadlib.store.houses import load, pick
    from loadlib.walk.status import status

    found = load(pick(house))
    if as_json:
        tree = asdict(found)
        del tree["_by_id"]
        out.json(tree)
        return
    out.text(_head(found), *status(found)[1:], "")
    out.table(
        ("circuit", "slots", "legs", "breaker A"),
        [
            (c.name, "-".join(map(str, c.slots)), c.legs + "?" * c.leg_guessed, c.breaker_a)
            for c in found.circuits
        ],
    )
    out.table(
        ("id", "what", "no.", "room", "label", "circuit", "priority"),
        [
            (
                *(a.id, a.category, a.count, a.room, a.label, a.circuit),
                a.priority + " medical" * a.medical,
            )
            for a in found.appliances
        ],
    )


def _head(house: House) -> str:
    facts = [f"{house.name}: {house.supply.words}"]
    if house.service_a is not None:
        facts.append(f"{house.service_a:g} A service")
    if house.area_ft2 is not None:
        facts.append(f"{house.area_ft2:,.0f} ft²")
    return ", ".join([*facts, *filter(None, (house.timezone, house.note))])


@app.command()
def add(
    line: Annotated[list[str], typer.Argument(help='E.g. "kitchen: refrigerator 115V 6.5A @9".')],
    house: OfHouse = "",
    category: Annotated[str, typer.Option(help="Catalog category, if the words are not it.")] = "",
) -> None:
    """Add an appliance, written as on the walk."""
    from loadlib.cli.houses import StoreDesk
    from loadlib.cli.output import out
    from loadlib.store.houses import pick
    from loadlib.walk.grammar import parse_entry
    from loadlib.walk.session import Session

    desk = StoreDesk(pick(house))
    # Nobody is there to answer: what would have been asked is printed as open.
    session = Session(
        desk, lambda lines: out.text(*lines), lambda prompt: out.text(f"  open: {prompt}")
    )
    session.enter(parse_entry(" ".join(line)), category=_category(desk, category))


@app.command()
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
    _edit(
        house,
        lambda h: edits.change_appliance(h, appliance, **changes),
        f"changed {appliance}: {', '.join(changes)}",
    )


@app.command()
def move(
    appliance: Annotated[str, typer.Argument(help="Id or name of the appliance.")],
    house: OfHouse = "",
    room: Annotated[str | None, typer.Option(help="To this room.")] = None,
    circuit: Annotated[str | None, typer.Option(help="To this circuit or slot.")] = None,
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

    _edit(house, moved, f"moved {appliance}")


@app.command()
def circuit(
    name: Annotated[str, typer.Argument(help="Name of the circuit; made if new.")],
    house: OfHouse = "",
    slots: Annotated[str | None, typer.Option(help="Slots in the panel: 11, or 2-4.")] = None,
    legs: Annotated[str | None, typer.Option(help="A, B or AB.")] = None,
    breaker_a: Annotated[str | None, typer.Option("--breaker-a", help="Breaker, A.")] = None,
    depends_on: Annotated[
        list[str] | None, typer.Option(help="Does nothing without this circuit.")
    ] = None,
) -> None:
    """Make a circuit or change it."""
    from loadlib.cli.quantities import amps
    from loadlib.core.household import Circuit
    from loadlib.store import edits
    from loadlib.walk.survey import slots_of

    said: dict[str, object] = {}
    if slots is not None:
        said["slots"] = slots_of(slots)
    if legs is not None:
        said |= {"legs": legs.upper(), "leg_guessed": False}
    if breaker_a is not None:
        said["breaker_a"] = amps(breaker_a)
    if depends_on is not None:
        said["depends_on"] = tuple(depends_on)

    def changed(old: House) -> House:
        if not any(c.name.casefold() == name.casefold() for c in old.circuits):
            old = edits.add_circuit(old, Circuit(name))
        return edits.change_circuit(old, name, **said)

    _edit(house, changed, f"circuit {name}")


@app.command()
def rename(
    old: Annotated[str, typer.Argument(help="House, room or circuit.")],
    name: Annotated[str, typer.Argument(help="New name.")],
    what: Annotated[str, typer.Option("--what", help="house, room or circuit.")] = "house",
    house: OfHouse = "",
) -> None:
    """Rename a house, a room or a circuit, wherever it is named."""
    from loadlib.cli.output import out
    from loadlib.errors import NotFound
    from loadlib.store import edits, houses

    if what == "house":
        houses.rename(old, name)
    elif what == "circuit":
        houses.rename_circuit(houses.pick(house), old, name)
    elif what == "room":
        _edit(house, lambda h: edits.rename_room(h, old, name), f"renamed {old}")
        return
    else:
        raise NotFound("kind of thing", what, near=("house", "room", "circuit"))
    out.text(f"{old} is now {name}")


@app.command()
def remove(
    name: Annotated[str, typer.Argument(help="Appliance, circuit, room or house.")],
    what: Annotated[
        str, typer.Option("--what", help="appliance, circuit, room or house.")
    ] = "appliance",
    house: OfHouse = "",
) -> None:
    """Take something out; undo brings it back."""
    from loadlib.cli.output import out
    from loadlib.errors import NotFound
    from loadlib.store import edits, houses

    removers: dict[str, Callable[[House, str], House]] = {
        "appliance": edits.remove_appliance,
        "circuit": edits.remove_circuit,
        "room": edits.remove_room,
    }
    if what == "house":
        houses.remove(name)
        out.text(f"removed {name}; bring it back with: loadlib house restore {name!r}")
    elif what in removers:
        _edit(house, lambda h: removers[what](h, name), f"removed {name}")
    else:
        raise NotFound("kind of thing", what, near=("appliance", "circuit", "room", "house"))


@app.command()
def restore(name: Name) -> None:
    """Bring a removed house back."""
    from loadlib.cli.output import out
    from loadlib.store.houses import restore as bring_back

    bring_back(name)
    out.text(f"{name} is back")


@app.command()
def undo(house: Annotated[str, typer.Argument()] = "") -> None:
    """Take the last change back; once more takes the one before."""
    from loadlib.cli.output import out
    from loadlib.store.houses import pick
    from loadlib.store.houses import undo as back

    out.text(f"taken back: {back(pick(house))}")


@app.command()
def redo(house: Annotated[str, typer.Argument()] = "") -> None:
    """Do again what undo took back."""
    from loadlib.cli.output import out
    from loadlib.store.houses import pick
    from loadlib.store.houses import redo as forth

    out.text(f"done again: {forth(pick(house))}")


@app.command()
def history(house: Annotated[str, typer.Argument()] = "", as_json: AsJson = False) -> None:
    """The changes of a house, newest first."""
    from loadlib.cli.output import out
    from loadlib.store.houses import journal, pick

    found = journal(pick(house))
    if as_json:
        out.json([one._asdict() for one in found])
        return
    out.table(("when (UTC)", "what", "undone"), found)


@app.command("export")
def export_(
    house: Annotated[str, typer.Argument()] = "",
    output: Annotated[Path, typer.Option("--out", "-o", help="File; - for stdout.")] = Path("-"),
) -> None:
    """The house as one TOML file that a person can read and edit."""
    from loadlib.cli.profile_files import write_text
    from loadlib.exchange.house_toml import house_to_toml
    from loadlib.store.houses import load, pick

    write_text(output, house_to_toml(load(pick(house))))


@app.command("import")
def import_(
    file: Annotated[Path, typer.Argument(help="House file; - for stdin.")],
    replace: Annotated[
        bool, typer.Option("--replace", help="Over the house of that name; undo takes it back.")
    ] = False,
) -> None:
    """Take a house in from its TOML file."""
    from loadlib.cli.output import out
    from loadlib.cli.profile_files import read_text
    from loadlib.exchange.house_toml import house_from_toml
    from loadlib.store.houses import create, save

    house = house_from_toml(read_text(file), path=str(file))
    if replace:
        save(house, f"imported {file.name}")
    else:
        create(house)
    out.text(f"took in {house.name}: {len(house.appliances)} appliances")


@app.command()
def take(
    file: Annotated[Path, typer.Argument(help="CSV: name, and any of category, count, room, …")],
    house: OfHouse = "",
) -> None:
    """Take an appliance list in from a CSV file; all rows or none."""
    from loadlib.cli.houses import StoreDesk
    from loadlib.cli.output import out
    from loadlib.cli.profile_files import read_text
    from loadlib.exchange.appliance_list import appliances_from_csv
    from loadlib.store import edits
    from loadlib.store.houses import pick

    desk = StoreDesk(pick(house))
    found = appliances_from_csv(
        read_text(file), path=str(file), find=desk.find, circuits=desk.house().circuits
    )

    def added(old: House) -> House:
        for appliance in found:
            old = edits.add_appliance(old, appliance)
        return old

    desk.edit(added, f"took {len(found)} from {file.name}")
    out.text(f"took in {len(found)} appliances")
    out.table(("name", "category", "no."), [(a.name, a.category, a.count) for a in found])


def _category(desk: StoreDesk, words: str) -> str:
    """The catalog's category for its key or its very name; empty stays empty."""
    from loadlib.errors import NotFound

    if not words or desk.category(words) is not None:
        return words
    near = desk.find(words)
    if near and desk.is_exact(words):
        return near[0]
    raise NotFound("category", words, near=tuple(near))


def _edit(house: str, change: Callable[[House], House], what: str) -> None:
    from loadlib.cli.output import out
    from loadlib.store.houses import edit, pick

    edit(pick(house), change, what)
    out.text(what)
