"""Which reading type, usage point and local time belong to which readings.

Feeds state this by links, by nesting or only by order; the ways are tried from the surest to
the least sure, and a choice by order alone is reported.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loadlib.errors import InputError
from loadlib.readers.dst import LocalTime, decode_rule
from loadlib.readers.espi.feed import Feed, Readings, Resource

__all__ = ["Meter", "find_meters", "local_time", "number", "owner_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Meter:
    """Readings with what says how to understand them; None where the file has nothing."""

    readings: Readings
    meter_reading: Resource | None
    reading_type: Resource | None
    usage_point: Resource | None
    local: LocalTime | None
    guessed: tuple[str, ...] = ()

    @property
    def service(self) -> int | None:
        """Code of the usage point's service, None when not stated."""
        return number(self.usage_point, "ServiceCategory/kind")

    def code(self, name: str) -> int | None:
        """A code of the reading type, None when not stated."""
        return number(self.reading_type, name)

    @property
    def name(self) -> str:
        """What people can recognise: title or last part of the address of the usage point."""
        point = self.usage_point
        if point is not None and (point.title or point.self_href):
            return point.title or point.self_href.rpartition("/")[2]
        if self.meter_reading is not None and self.meter_reading.title:
            return self.meter_reading.title
        return "meter"


def number(resource: Resource | None, key: str) -> int | None:
    """A whole number of a resource; None when absent or blank.

    Raises
    ------
    InputError
        when something else stands there.
    """
    text = resource.fields.get(key, "") if resource is not None else ""
    if not text.strip() or resource is None:
        return None
    try:
        return int(text)
    except ValueError:
        raise InputError(
            f"line {resource.line}: {key} {text.strip()[:40]!r} of {resource.kind}"
        ) from None


def find_meters(feed: Feed) -> list[Meter]:
    """One ``Meter`` for each set of readings, in the order of the file."""
    return [_meter(feed, readings) for readings in feed.meters.values()]


def _meter(feed: Feed, readings: Readings) -> Meter:
    guessed: list[str] = []
    as_block = Resource(
        "IntervalBlock",
        readings.order,
        readings.line,
        readings.parent,
        self_href=readings.self_href,
        up_href=readings.up_href,
    )
    meter_reading = owner_of(as_block, _of(feed, "MeterReading"), guessed)
    start = meter_reading or as_block
    reading_type = owner_of(start, _of(feed, "ReadingType"), guessed)
    usage_point = owner_of(start, _of(feed, "UsagePoint"), guessed)
    local = local_time(feed, usage_point or start, guessed)
    return Meter(readings, meter_reading, reading_type, usage_point, local, tuple(guessed))


def local_time(feed: Feed, resource: Resource, guessed: list[str]) -> LocalTime | None:
    """Local time parameters that a resource points to."""
    found = owner_of(resource, _of(feed, "LocalTimeParameters"), guessed)
    offset_s = number(found, "tzOffset")
    if found is None or offset_s is None:
        return None
    dst_s = number(found, "dstOffset") or 0
    if abs(offset_s) > 16 * 3600 or not 0 <= dst_s <= 4 * 3600:
        raise InputError(f"line {found.line}: local time offset {offset_s} s, daylight {dst_s} s")
    start, end = found.fields.get("dstStartRule", ""), found.fields.get("dstEndRule", "")
    if not start or not end:
        return LocalTime(offset_s)
    return LocalTime(offset_s, dst_s, decode_rule(start), decode_rule(end))


def owner_of(
    child: Resource, candidates: Sequence[Resource], guessed: list[str]
) -> Resource | None:
    """The candidate that a resource belongs to or refers to.

    Tried in turn: nesting; an address below or above the other; a link from either to the
    other; the only candidate; the nearest one before it in the file, else the first.
    """
    if not candidates:
        return None
    for linked in (_nested, _address_below, _listed, _refers):
        found = [other for other in candidates if linked(child, other)]
        if found:
            return max(found, key=lambda other: len(other.self_href))
    if len(candidates) > 1:
        guessed.append(
            f"{child.kind} at line {child.line} has no link to a {candidates[0].kind}: "
            "the nearest before it was taken"
        )
    before = [other for other in candidates if other.order < child.order]
    return before[-1] if before else candidates[0]


def _of(feed: Feed, kind: str) -> list[Resource]:
    return [resource for resource in feed.resources if resource.kind == kind]


def _nested(child: Resource, other: Resource) -> bool:
    return child.parent is other or other.parent is child


def _address_below(child: Resource, other: Resource) -> bool:
    above = other.self_href + "/"
    return bool(other.self_href) and (
        child.self_href.startswith(above) or child.up_href.startswith(above)
    )


def _listed(child: Resource, other: Resource) -> bool:
    own = {child.self_href, child.up_href} - {""}
    return not own.isdisjoint(other.related)


def _refers(child: Resource, other: Resource) -> bool:
    return bool(other.self_href) and other.self_href in child.related
