"""Read a minute log; every fault names its line."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from loadlib import DataError

__all__ = ["Log", "read_log"]

NEEDED = ("time", "outdoor_c", "watts", "defrost", "strips")
MOST_ROWS = 2_000_000


@dataclass(frozen=True, slots=True)
class Log:
    """Columns of a log, one entry a row. Watts in W, temperatures in °C."""

    path: str
    last: datetime
    outdoor_c: tuple[float, ...]
    watts: tuple[float, ...]
    defrost: tuple[bool, ...]
    strips: tuple[bool, ...]
    inverter: bool


def read_log(path: str, timezone: str) -> Log:
    """Read a log; ``timezone`` (IANA) is used for times without an offset.

    Raises
    ------
    DataError
        no such file, a column or value that is wrong, a time that the clock skipped.
    """
    try:
        with open(path, newline="", encoding="utf-8-sig") as file:
            reader = csv.DictReader(file)
            headings = reader.fieldnames or []
            missing = [name for name in NEEDED if name not in headings]
            if missing:
                raise DataError(
                    f"no column {missing[0]}",
                    path=path,
                    line=1,
                    hint="Expected: " + ",".join(NEEDED),
                )
            rows = [_row(row, path, line, timezone) for line, row in enumerate(reader, start=2)]
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise DataError(f"can't be read: {error}", path=path) from None
    if not rows or len(rows) > MOST_ROWS:
        raise DataError(f"{len(rows)} rows; expected 1 to {MOST_ROWS}", path=path)
    times, outdoor, watts, defrost, strips = zip(*rows, strict=True)
    return Log(path, times[-1], outdoor, watts, defrost, strips, "compressor_hz" in headings)


def _row(
    row: dict[str, str | None], path: str, line: int, timezone: str
) -> tuple[datetime, float, float, bool, bool]:
    def number(name: str, low: float, high: float) -> float:
        try:
            value = float(row[name] or "")
        except ValueError:
            value = math.nan
        if not low <= value <= high:
            raise DataError(
                f"{name} is {row[name]!r}; expected {low:g} to {high:g}", path=path, line=line
            )
        return value

    return (
        _time(row["time"] or "", path, line, timezone),
        number("outdoor_c", -60.0, 60.0),
        number("watts", 0.0, 60_000.0),
        number("defrost", 0, 1) == 1.0,
        number("strips", 0, 1) == 1.0,
    )


def _time(text: str, path: str, line: int, timezone: str) -> datetime:
    try:
        when = datetime.fromisoformat(text)
    except ValueError:
        raise DataError(f"{text!r} is no time", path=path, line=line) from None
    if when.tzinfo is not None:
        return when
    try:
        zone = ZoneInfo(timezone)
    except (ZoneInfoNotFoundError, ValueError):
        raise DataError(
            f"{text} has no offset and the house no time zone",
            path=path,
            line=line,
            hint="Set the house's time zone, e.g. America/New_York.",
        ) from None
    local = when.replace(tzinfo=zone)
    back = local.astimezone(ZoneInfo("UTC")).astimezone(zone)
    if back.replace(tzinfo=None) != when:
        raise DataError(f"{text} does not exist in {timezone}", path=path, line=line)
    return local
