"""Everything that is stored about one house, as one frozen Evidence."""

from __future__ import annotations

from types import MappingProxyType

from loadlib.core.evidence import Evidence
from loadlib.core.household import House
from loadlib.store.catalog import categories_of
from loadlib.store.database import Database, open_database

__all__ = ["load_evidence"]


def load_evidence(house: str, db: Database | None = None, *, seed: int = 1) -> Evidence:
    """House, catalog entries, bills, series, readings and temperatures, of one moment.

    What was measured on a circuit or appliance that the house no longer has is left out.

    Raises
    ------
    NotFound
        no such house.
    """
    from loadlib.store.bills import read_bills
    from loadlib.store.engine import raw
    from loadlib.store.house_rows import read_house
    from loadlib.store.houses import house_key
    from loadlib.store.readings import read_files, read_readings
    from loadlib.store.series import read_series, read_temperatures

    with (db or open_database()).reading() as connection:
        key = house_key(connection, house)
        home = read_house(connection, key)
        places = _places(home)
        names = {appliance.category for appliance in home.appliances}
        return Evidence(
            house=home,
            categories=MappingProxyType(categories_of(raw(connection), sorted(names))),
            bills=tuple(read_bills(connection, key)),
            series=tuple(s for s in read_series(connection, key) if _known(s.place, places)),
            readings=tuple(
                r for r in read_readings(connection, key).values() if _known(r.place, places)
            ),
            temperatures=read_temperatures(connection, key),
            files=MappingProxyType(dict(read_files(connection, key))),
            seed=seed,
        )


def _places(house: House) -> set[str]:
    return {f"circuit {c.name}" for c in house.circuits} | {
        f"appliance {a.id}" for a in house.appliances
    }


def _known(place: str, places: set[str]) -> bool:
    return not place.startswith(("circuit ", "appliance ")) or place in places
