"""What stands in an ESPI feed: resources with their links and fields, readings by meter.

Nothing is interpreted here. Memory holds the resources (bounded in number) and three numbers
for each reading, whatever the length of the file.
"""

from __future__ import annotations

from array import array
from dataclasses import dataclass, field
from typing import Final

from loadlib.errors import DataError
from loadlib.readers.limits import EARLIEST_S, INT48, LATEST_S, LONGEST_S, Limits

__all__ = ["ATOM", "ESPI", "SEPARATOR", "Feed", "Readings", "Resource", "espi_name", "local_name"]

#: Between namespace and name; XML text can't hold it, so a name is never taken for text.
SEPARATOR: Final = "\x1f"
ATOM: Final = "http://www.w3.org/2005/Atom"
ESPI: Final = "http://naesb.org/espi"

_LINKS: Final = 100_000
_TEXT: Final = 2_000
_FIELDS: Final = 5_000

KINDS: Final = frozenset(
    {
        "UsagePoint",
        "MeterReading",
        "ReadingType",
        "IntervalBlock",
        "UsageSummary",
        "ElectricPowerUsageSummary",
        "LocalTimeParameters",
    }
)


def espi_name(local: str) -> str:
    """Name of an ESPI element as the parser reports it."""
    return f"{ESPI}{SEPARATOR}{local}"


def local_name(name: str) -> str:
    """Name of an element without its namespace."""
    return name.rpartition(SEPARATOR)[2]


@dataclass(slots=True, eq=False)
class Resource:
    """One ESPI object: its links, its simple fields by path, and what it stands in."""

    kind: str
    order: int
    line: int
    parent: Resource | None = None
    fields: dict[str, str] = field(default_factory=dict)
    self_href: str = ""
    up_href: str = ""
    related: list[str] = field(default_factory=list)
    title: str = ""


@dataclass(slots=True, eq=False)
class Readings:
    """Readings of one meter in the order of the file.

    A reading without a time period of its own has the start of its block and the duration
    -1 - (place in the block). ``flagged`` holds (start, quality code) of readings whose
    quality is not plainly good. ``cost`` is in hundred-thousandths of the currency.
    """

    start_s: array[int] = field(default_factory=lambda: array("q"))
    duration_s: array[int] = field(default_factory=lambda: array("q"))
    value: array[float] = field(default_factory=lambda: array("d"))
    flagged: list[tuple[int, int]] = field(default_factory=list)
    cost: int = 0
    self_href: str = ""
    up_href: str = ""
    order: int = 0
    line: int = 0
    parent: Resource | None = None

    def take(self, other: Readings) -> None:
        """Append the readings of another block of the same meter."""
        self.start_s.extend(other.start_s)
        self.duration_s.extend(other.duration_s)
        self.value.extend(other.value)
        self.flagged.extend(other.flagged)
        self.cost += other.cost


class Feed:
    """Collects entries one by one; an entry is filed when it ends, since links may come last."""

    def __init__(self, limits: Limits, path: str) -> None:
        self.resources: list[Resource] = []
        self.meters: dict[str, Readings] = {}
        self.limits = limits
        self.path = path
        self.seen_kinds: set[str] = set()
        self._count = 0
        self._links = 0
        self._order = 0
        self._reset_entry()

    def _reset_entry(self) -> None:
        self._self = ""
        self._up = ""
        self._related: list[str] = []
        self._title = ""
        self._entry: list[Resource] = []
        self._blocks: dict[int, Readings] = {}

    # -- links and titles of an entry

    def link(self, rel: str, href: str, line: int) -> None:
        """Note a link of the entry that is being read."""
        self._links += 1
        if self._links > _LINKS:
            raise self.error(f"more than {_LINKS} links", line)
        address = _address(href)
        if rel == "self":
            self._self = address
        elif rel == "up":
            self._up = address
        else:
            self._related.append(address)

    def title(self, text: str) -> None:
        """Note the title of the entry that is being read."""
        self._title = " ".join(text[:_TEXT].split())

    # -- resources

    def open(self, kind: str, parent: Resource | None, line: int) -> Resource:
        """Start a resource inside the entry that is being read."""
        self._order += 1
        self.seen_kinds.add(kind)
        resource = Resource(kind, self._order, line, parent)
        if kind != "IntervalBlock":
            if len(self.resources) + len(self._entry) >= self.limits.resources:
                raise self.error(f"more than {self.limits.resources} resources", line)
            self._entry.append(resource)
        return resource

    def set_field(self, resource: Resource, key: str, text: str, line: int) -> None:
        """Keep a simple element of a resource by its path."""
        if len(resource.fields) >= _FIELDS:
            raise self.error(f"{resource.kind} with more than {_FIELDS} elements", line)
        resource.fields[key] = text[:_TEXT]

    def readings_for(self, block: Resource) -> Readings:
        """Where the readings of an open block go."""
        owner = block.parent
        while owner is not None and owner.kind != "MeterReading":
            owner = owner.parent
        key = owner.order if owner is not None else -1
        if key not in self._blocks:
            self._blocks[key] = Readings(order=block.order, line=block.line, parent=owner)
        return self._blocks[key]

    def count(self, more: int, line: int) -> None:
        """Count readings against the limit."""
        self._count += more
        if self._count > self.limits.readings:
            raise self.error(
                f"more than {self.limits.readings} readings", line, hint="Split the file by year."
            )

    def add_reading(
        self, into: Readings, block: Resource, fields: dict[str, str], place: int, line: int
    ) -> None:
        """Check one reading and append it.

        ``fields`` are its simple elements by path inside IntervalReading, ``place`` its place
        in the block.
        """
        start, duration = self._period(block, fields, place, line)
        value = self._number(fields, "value", line)
        if not abs(value) < INT48:
            raise self.error(f"value {fields['value']} of a reading is beyond 48 bits", line)
        self.count(1, line)
        into.start_s.append(start)
        into.duration_s.append(duration)
        into.value.append(value)
        if "cost" in fields:
            into.cost += int(self._number(fields, "cost", line))

    def _period(
        self, block: Resource, fields: dict[str, str], place: int, line: int
    ) -> tuple[int, int]:
        if "timePeriod/start" in fields:
            start = int(self._number(fields, "timePeriod/start", line))
            duration = 0
            if "timePeriod/duration" in fields:
                duration = int(self._number(fields, "timePeriod/duration", line))
            if not 0 <= duration <= LONGEST_S:
                raise self.error(f"a reading of {duration} s", line)
        elif "interval/start" in block.fields:
            start = int(self._number(block.fields, "interval/start", line))
            duration = -1 - place
        else:
            raise self.error("a reading without start, in a block without start", line)
        if not EARLIEST_S <= start < LATEST_S:
            raise self.error(f"a reading starts at {start}, not between 1980 and 2100", line)
        return start, duration

    def _number(self, fields: dict[str, str], key: str, line: int) -> float:
        """A whole number kept whole; a decimal one as it is (some files have them)."""
        text = fields.get(key)
        name = key.rpartition("/")[2]
        if text is None or not text.strip():
            raise self.error(f"a reading without {name}", line)
        try:
            number = float(text)
        except ValueError:
            raise self.error(f"{name} {text.strip()[:40]!r} is not a number", line) from None
        if not abs(number) < 1e18 or "_" in text:
            raise self.error(f"{name} {text.strip()[:40]!r} is out of range", line)
        return number

    # -- filing

    def end_entry(self) -> None:
        """File the resources and readings of the entry, now that its links are known."""
        for resource in self._entry:
            resource.self_href = self._self
            resource.up_href = self._up
            resource.related = self._related
            resource.title = self._title
        self.resources += self._entry
        for owner, readings in self._blocks.items():
            self._file(readings, f"#{owner}" if owner >= 0 else self._meter_key())
        self._reset_entry()

    def _file(self, readings: Readings, key: str) -> None:
        if key in self.meters:
            self.meters[key].take(readings)
            return
        if len(self.meters) >= self.limits.resources:
            raise self.error(f"more than {self.limits.resources} meters", readings.line)
        readings.self_href, readings.up_href = self._self, self._up
        self.meters[key] = readings

    def _meter_key(self) -> str:
        """What the blocks of one meter have in common: the address above IntervalBlock."""
        for address in (self._up, self._self):
            head, found, _ = address.rpartition("/IntervalBlock")
            if found:
                return head
        meters = [r.order for r in self.resources if r.kind in ("MeterReading", "ReadingType")]
        return self._up or f"#after {max(meters, default=0)}"

    def error(self, message: str, line: int | None, hint: str | None = None) -> DataError:
        """A DataError that names this file."""
        return DataError(message, path=self.path, line=line, hint=hint)


def _address(href: str) -> str:
    """A link without scheme, host and slashes at its ends, so that relative links agree."""
    text = href.strip()[:_TEXT]
    head, found, tail = text.partition("://")
    if found and "/" not in head:
        text = tail.partition("/")[2]
    return text.strip("/")
