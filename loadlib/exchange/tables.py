"""The profile as flat tables, as CSV, and as an Arrow stream.

Tables are for people and notebooks: one row a fact, units in the headings. The CSV of the
whole document (``path,value`` with JSON scalars) and the Arrow stream (table of demand,
document in the schema's metadata) give back an equal profile.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator, Sequence
from typing import Any

from loadlib.core.profile import LoadProfile
from loadlib.core.ranges import Range
from loadlib.errors import DataError, NotFound
from loadlib.exchange.json_document import from_json, to_json

__all__ = ["TABLES", "arrow_bytes", "arrow_table", "from_arrow", "from_csv", "rows_of", "to_csv"]

Row = tuple[object, ...]
METADATA_KEY = b"loadlib-profile"

TABLES: dict[str, tuple[str, ...]] = {
    "demand": ("place", "month", "hour", "mean_w", "p05_w", "p50_w", "p95_w", "p99_w"),
    "loads": (
        *("id", "name", "category", "count", "room", "circuit", "priority", "medical", "legs"),
        *("running_low_w", "running_typical_w", "running_high_w"),
        *("start_low_va", "start_typical_va", "start_high_va"),
        *("duty_mean_share", "starts_mean_per_h", "standby_typical_w", "known", "sources"),
    ),
    "peaks": ("place", "window_s", "period", "low_w", "typical_w", "high_w", "basis", "at"),
    "energy": ("month", "low_wh", "typical_wh", "high_wh"),
    "claims": (
        *("estimator", "about", "quantity", "unit", "low", "typical", "high"),
        *("result_low", "result_typical", "result_high", "sigmas", "weight", "source"),
    ),
}
"""Headings of each flat table."""


def _points(value: Range | None) -> tuple[object, object, object]:
    return ("", "", "") if value is None else (value.low, value.typical, value.high)


def _demand(profile: LoadProfile) -> Iterator[Row]:
    for demand in profile.demand:
        grids = (demand.mean_w, demand.p05_w, demand.p50_w, demand.p95_w, demand.p99_w)
        for month in range(12):
            for hour in range(24):
                yield (demand.place, month + 1, hour, *(grid[month][hour] for grid in grids))


def _loads(profile: LoadProfile) -> Iterator[Row]:
    for load in profile.loads:
        on = [leg for leg, share in zip(profile.legs, load.leg_share, strict=False) if share > 0.0]
        yield (
            *(load.id, load.name, load.category, load.count, load.room, load.circuit),
            *(load.priority, load.medical, "".join(on)),
            *_points(load.running_w),
            *_points(load.start_va),
            *(float(load.duty_array().mean()), float(load.starts_array().mean())),
            *(load.standby_w.typical, load.known, "; ".join(load.sources)),
        )


def _peaks(profile: LoadProfile) -> Iterator[Row]:
    for peak in profile.peaks:
        yield (peak.place, peak.window_s, peak.period, *_points(peak.power_w), peak.basis, peak.at)


def _energy(profile: LoadProfile) -> Iterator[Row]:
    for month, energy in enumerate(profile.energy_wh_by_month, start=1):
        yield (month, *_points(energy))


def _claims(profile: LoadProfile) -> Iterator[Row]:
    for claim in profile.claims:
        yield (
            *(claim.estimator, claim.about, claim.quantity, claim.unit),
            *_points(claim.value),
            *_points(claim.result),
            *(claim.sigmas, claim.weight, claim.source),
        )


_ROWS = {
    "demand": _demand,
    "loads": _loads,
    "peaks": _peaks,
    "energy": _energy,
    "claims": _claims,
}


def rows_of(profile: LoadProfile, table: str) -> list[Row]:
    """Rows of one flat table, under the headings in ``TABLES``."""
    if table not in _ROWS:
        raise NotFound("table", table, near=tuple(TABLES))
    return list(_ROWS[table](profile))


def to_csv(profile: LoadProfile, table: str = "document") -> str:
    """One flat table as CSV, or ``"document"``: every value of the profile as path,value."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    if table == "document":
        writer.writerow(("path", "value"))
        writer.writerows(_flatten("", json.loads(to_json(profile))))
    else:
        rows = rows_of(profile, table)
        writer.writerow(TABLES[table])
        writer.writerows(rows)
    return out.getvalue()


def from_csv(text: str) -> LoadProfile:
    """Read back what ``to_csv(profile)`` wrote (the document form)."""
    reader = csv.reader(io.StringIO(text))
    if next(reader, None) != ["path", "value"]:
        raise DataError("not a profile document as CSV: the first line must be path,value", line=1)
    tree: dict[str, Any] = {}
    for line, row in enumerate(reader, start=2):
        if len(row) != 2:
            raise DataError(f"expected two columns, got {len(row)}", line=line)
        try:
            _put(tree, row[0].split("/"), json.loads(row[1]))
        except (ValueError, TypeError, IndexError, AttributeError):
            raise DataError(f"path or value can't be read: {row[0][:60]!r}", line=line) from None
    return from_json(json.dumps(_lists(tree)))


def _flatten(path: str, node: Any) -> Iterator[tuple[str, str]]:
    """Leaves of a JSON tree as (path, JSON text); empty containers are leaves too."""
    children: Sequence[tuple[str, Any]] = ()
    if isinstance(node, dict):
        children = list(node.items())
    elif isinstance(node, list):
        children = [(f"#{index}", item) for index, item in enumerate(node)]
    if not children:
        yield path, json.dumps(node, ensure_ascii=False)
    for key, item in children:
        yield from _flatten(f"{path}/{key}" if path else key, item)


def _put(tree: dict[str, Any], keys: list[str], value: Any) -> None:
    for key in keys[:-1]:
        tree = tree.setdefault(key, {})
    tree[keys[-1]] = value


def _lists(node: Any) -> Any:
    """Turn the dicts whose keys are #0, #1 … back into lists."""
    if not isinstance(node, dict):
        return node
    if node and all(key.startswith("#") for key in node):
        return [_lists(node[f"#{index}"]) for index in range(len(node))]
    return {key: _lists(item) for key, item in node.items()}


def arrow_table(profile: LoadProfile) -> Any:
    """Demand as a pyarrow Table, with the whole document in the schema's metadata.

    Needs the extra ``loadlib[arrow]``.
    """
    try:
        import pyarrow as pa
    except ImportError:
        raise DataError(
            "Arrow output needs pyarrow", hint="Install it: pip install 'loadlib[arrow]'."
        ) from None
    rows = rows_of(profile, "demand")
    types = [pa.string(), pa.int8(), pa.int8(), *[pa.float64()] * 5]
    columns = list(zip(*rows, strict=True)) if rows else [()] * len(types)
    arrays = [
        pa.array(list(column), type=kind) for column, kind in zip(columns, types, strict=True)
    ]
    schema = pa.schema(
        list(zip(TABLES["demand"], types, strict=True)),
        metadata={METADATA_KEY: to_json(profile).encode()},
    )
    return pa.Table.from_arrays(arrays, schema=schema)


def arrow_bytes(profile: LoadProfile) -> bytes:
    """The Arrow table as an IPC stream, for a file or a pipe."""
    table = arrow_table(profile)
    import pyarrow as pa  # after arrow_table, which says how to install it

    sink = pa.BufferOutputStream()
    with pa.ipc.new_stream(sink, table.schema) as writer:
        writer.write_table(table)
    return bytes(sink.getvalue())


def from_arrow(table: Any) -> LoadProfile:
    """Read back the profile that travels with an Arrow table or stream."""
    import pyarrow as pa

    schema = pa.table(table).schema
    document = (schema.metadata or {}).get(METADATA_KEY)
    if document is None:
        raise DataError("this Arrow table carries no load profile document")
    return from_json(document)
