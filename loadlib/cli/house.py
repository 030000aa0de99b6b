"""loadlib house: make, show and edit houses; every change is stored at once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from loadlib.cli import house_parts as parts
from loadlib.cli.house_files import file
from loadlib.cli.house_parts import AsJson, OfHouse, done, edit_house

if TYPE_CHECKING:
    from loadlib.core.household import House

app = typer.Typer(
    add_completion=False,
    rich_markup_mode=None,
    no_args_is_help=True,
    help="Make, show and edit houses.",
)
Name = Annotated[str, typer.Argument(help="Name of the house.")]
System = Annotated[str, typer.Option(help="120/240, 120/208, 230, 230/400 or 100/200.")]
ServiceA = Annotated[str | None, typer.Option("--service-a", help="Main breaker, A.")]
Area = Annotated[str | None, typer.Option("--area", help='Floor area: "1,800 ft2" or "170 m2".')]
Zone = Annotated[str | None, typer.Option(help="IANA name, e.g. America/New_York.")]

for _command in (parts.add, parts.change, parts.move, parts.circuit, parts.take, file):
    app.command()(_command)


@app.command()
def new(
    name: Name,
    system: System = "120/240",
    service_a: ServiceA = None,
    area: Area = None,
    timezone: Zone = None,
    note: Annotated[str, typer.Option(help="A note.")] = "",
    as_json: AsJson = False,
) -> None:
    """Make an empty house."""
    from loadlib.core.household import House
    from loadlib.store.houses import create

    facts = _facts(service_a=service_a, area=area, timezone=timezone)
    create(House(name, system, note=note).with_(**facts))
    done(f"made {name}", name, as_json)


@app.command("set")
def set_(
    house: Annotated[str, typer.Argument()] = "",
    system: Annotated[str | None, typer.Option(help="120/240, 120/208, 230, …")] = None,
    service_a: ServiceA = None,
    area: Area = None,
    timezone: Zone = None,
    note: Annotated[str | None, typer.Option(help="A note.")] = None,
    as_json: AsJson = False,
) -> None:
    """Change what is known of the house as a whole; what is not named stays."""
    from loadlib.errors import InputError

    changes = _facts(service_a=service_a, area=area, timezone=timezone)
    changes |= {k: v for k, v in (("system", system), ("note", note)) if v is not None}
    if not changes:
        raise InputError("nothing to change", hint="Say what, e.g.: --service-a 100")
    what = f"set {', '.join(sorted(changes))}"
    edit_house(house, lambda h: h.with_(**changes), what, as_json)


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
    from loadlib.store.readings import list_files
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
    kept = [
        f"{path} for {plugin}" for plugin, paths in list_files(found.name).items() for path in paths
    ]
    if kept:
        out.text("", *(f"keeps {line}" for line in kept))


def _head(house: House) -> str:
    facts = [f"{house.name}: {house.supply.words}"]
    if house.service_a is not None:
        facts.append(f"{house.service_a:g} A service")
    if house.area_ft2 is not None:
        facts.append(f"{house.area_ft2:,.0f} ft²")
    return ", ".join([*facts, *filter(None, (house.timezone, house.note))])


@app.command()
def rename(
    old: Annotated[str, typer.Argument(help="House, room or circuit.")],
    name: Annotated[str, typer.Argument(help="New name.")],
    what: Annotated[str, typer.Option("--what", help="house, room or circuit.")] = "house",
    house: OfHouse = "",
    as_json: AsJson = False,
) -> None:
    """Rename a house, a room or a circuit, wherever it is named."""
    from loadlib.errors import NotFound
    from loadlib.store import edits, houses

    said = f"{old} is now {name}"
    if what == "house":
        houses.rename(old, name)
        done(said, name, as_json)
    elif what == "circuit":
        of = houses.pick(house)
        houses.rename_circuit(of, old, name)
        done(said, of, as_json)
    elif what == "room":
        edit_house(house, lambda h: edits.rename_room(h, old, name), said, as_json)
    else:
        raise NotFound("kind of thing", what, near=("house", "room", "circuit"))


@app.command()
def remove(
    name: Annotated[str, typer.Argument(help="Appliance, circuit, room or house.")],
    what: Annotated[
        str, typer.Option("--what", help="appliance, circuit, room or house.")
    ] = "appliance",
    house: OfHouse = "",
    as_json: AsJson = False,
) -> None:
    """Take something out; undo brings it back."""
    from loadlib.errors import NotFound
    from loadlib.store import edits, houses

    removers: dict[str, Callable[[House, str], House]] = {
        "appliance": edits.remove_appliance,
        "circuit": edits.remove_circuit,
        "room": edits.remove_room,
    }
    if what == "house":
        houses.remove(name)
        again = f"removed {name}; bring it back with: loadlib house restore {name!r}"
        done(again, name, as_json)
    elif what in removers:
        edit_house(house, lambda h: removers[what](h, name), f"removed {name}", as_json)
    else:
        raise NotFound("kind of thing", what, near=("appliance", "circuit", "room", "house"))


@app.command()
def restore(name: Name, as_json: AsJson = False) -> None:
    """Bring a removed house back."""
    from loadlib.store.houses import restore as bring_back

    bring_back(name)
    done(f"{name} is back", name, as_json)


@app.command()
def undo(house: Annotated[str, typer.Argument()] = "", as_json: AsJson = False) -> None:
    """Take the last change back; once more takes the one before."""
    from loadlib.store.houses import pick
    from loadlib.store.houses import undo as back

    name = pick(house)
    done(f"taken back: {back(name)}", name, as_json)


@app.command()
def redo(house: Annotated[str, typer.Argument()] = "", as_json: AsJson = False) -> None:
    """Do again what undo took back."""
    from loadlib.store.houses import pick
    from loadlib.store.houses import redo as forth

    name = pick(house)
    done(f"done again: {forth(name)}", name, as_json)


@app.command()
def history(house: Annotated[str, typer.Argument()] = "", as_json: AsJson = False) -> None:
    """The changes of a house, newest first."""
    from loadlib.cli.output import out
    from loadlib.store.houses import journal, pick

    found = journal(pick(house))[::-1]
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
    from loadlib.exchange.house_toml import house_to_toml
    from loadlib.files import write_text
    from loadlib.store.houses import load, pick

    write_text(output, house_to_toml(load(pick(house))))


@app.command("import")
def import_(
    file: Annotated[Path, typer.Argument(help="House file; - for stdin.")],
    replace: Annotated[
        bool, typer.Option("--replace", help="Over the house of that name; undo takes it back.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Take a house in from its TOML file."""
    from loadlib.exchange.house_toml import house_from_toml
    from loadlib.files import read_text
    from loadlib.store.houses import create, save

    house = house_from_toml(read_text(file), path=str(file))
    if replace:
        save(house, f"imported {file.name}")
    else:
        create(house)
    done(f"took in {house.name}: {len(house.appliances)} appliances", house.name, as_json)
