"""Local time parameters of ESPI: offset from UTC and encoded daylight-saving rules.

Field layout and operators: DstRuleType in espi.xsd, version 4.0.20231213 (NAESB REQ.21).
"""

from __future__ import annotations

from calendar import monthrange
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from typing import Final
from zoneinfo import ZoneInfo

from loadlib.errors import InputError

__all__ = ["DstRule", "LocalTime", "decode_rule"]

_DISABLED: Final = 0xFFFFFFFF
_LAST: Final = 7

# Zones that people live in, one for each set of rules in force now. A name from this list is
# only given when offset and both changes agree in every year of the data.
_ZONES: Final = (
    "America/New_York",
    "America/Chicago",
    "America/Denver",
    "America/Los_Angeles",
    "America/Anchorage",
    "America/Halifax",
    "America/St_Johns",
    "America/Adak",
    "Europe/London",
    "Europe/Berlin",
    "Europe/Helsinki",
    "Australia/Sydney",
    "Australia/Adelaide",
    "Pacific/Auckland",
)


@dataclass(frozen=True, slots=True)
class DstRule:
    """When clocks change, within any year; fields as in the schema.

    ``day_of_week`` counts from Monday = 1; 0 means not used, as for ``day_of_month``.
    ``second_of_hour`` and ``hour`` are on the clock in force before the change. [s]
    """

    second_of_hour: int
    hour: int
    day_of_week: int
    day_of_month: int
    operator: int
    month: int

    def encode(self) -> str:
        """Eight hexadecimal digits, as the schema writes them."""
        packed = (
            self.second_of_hour
            | self.hour << 12
            | self.day_of_week << 17
            | self.day_of_month << 20
            | self.operator << 25
            | self.month << 28
        )
        return f"{packed:08X}"

    def local_change(self, year: int) -> datetime:
        """Clock time of the change in ``year``, before the hands are moved."""
        hours = timedelta(hours=self.hour, seconds=self.second_of_hour)
        return datetime.combine(self._day(year), datetime.min.time()) + hours

    def _day(self, year: int) -> date:
        days = monthrange(year, self.month)[1]
        if self.operator == 0:
            return date(year, self.month, min(self.day_of_month, days))
        if self.operator == 1:
            earliest = date(year, self.month, min(max(self.day_of_month, 1), days))
            return earliest + timedelta((self.day_of_week - earliest.isoweekday()) % 7)
        first = 1 + (self.day_of_week - date(year, self.month, 1).isoweekday()) % 7
        if self.operator == _LAST:
            return date(year, self.month, first + (days - first) // 7 * 7)
        # A month without a fifth such weekday has its last one taken.
        wanted = first + 7 * (self.operator - 2)
        return date(year, self.month, wanted if wanted <= days else wanted - 7)


def decode_rule(text: str) -> DstRule | None:
    """Decode eight hexadecimal digits; ``None`` when the rule says "no daylight saving".

    Raises
    ------
    InputError
        when the text is not hexadecimal or a field is out of its range.
    """
    try:
        packed = int(text.strip(), 16)
    except ValueError:
        raise InputError(f"daylight-saving rule {text.strip()!r} is not hexadecimal") from None
    if packed in (_DISABLED, 0):
        return None
    rule = DstRule(
        second_of_hour=packed & 0xFFF,
        hour=packed >> 12 & 0x1F,
        day_of_week=packed >> 17 & 0x7,
        day_of_month=packed >> 20 & 0x1F,
        operator=packed >> 25 & 0x7,
        month=packed >> 28 & 0xF,
    )
    weekday_missing = rule.operator > 0 and rule.day_of_week == 0
    day_missing = rule.operator == 0 and rule.day_of_month == 0
    in_range = 1 <= rule.month <= 12 and rule.hour <= 23 and rule.second_of_hour <= 3599
    if packed > _DISABLED or not in_range or weekday_missing or day_missing:
        raise InputError(f"daylight-saving rule {text.strip()!r} has a field out of range")
    return rule


@dataclass(frozen=True)
class LocalTime:
    """Local time as an ESPI file states it.

    Parameters
    ----------
    offset_s : int
        local standard time minus UTC. [s]
    dst_offset_s : int
        what is added while daylight saving is in force. [s]
    dst_start, dst_end : DstRule or None
        when it starts and ends; None when clocks never change.
    """

    offset_s: int
    dst_offset_s: int = 0
    dst_start: DstRule | None = None
    dst_end: DstRule | None = None

    def offset_at(self, utc_s: float) -> int:
        """Local time minus UTC at a moment. [s]"""
        if self.dst_start is None or self.dst_end is None or not self.dst_offset_s:
            return self.offset_s
        year = datetime.fromtimestamp(utc_s + self.offset_s, UTC).year
        start_s, end_s = self._changes(year)
        # South of the equator summer runs over the turn of the year.
        between = min(start_s, end_s) <= utc_s < max(start_s, end_s)
        summer = between if start_s <= end_s else not between
        return self.offset_s + (self.dst_offset_s if summer else 0)

    def zone_name(self, first_s: int, last_s: int) -> str:
        """An IANA zone whose clocks agree from ``first_s`` to ``last_s``, or ``""``. [s]"""
        if self.dst_start is None or self.dst_end is None or not self.dst_offset_s:
            hours, rest = divmod(-self.offset_s, 3600)
            return "" if rest or not -14 <= hours <= 12 else f"Etc/GMT{hours:+d}"
        fitting = (name for name in _ZONES if self.agrees(ZoneInfo(name), first_s, last_s))
        return next(fitting, "")

    def agrees(self, zone: ZoneInfo, first_s: int, last_s: int) -> bool:
        """Whether a zone shows the same time around every change in those years. [s]"""
        moments = self._moments(first_s, last_s)
        return all(self.offset_at(moment) == _offset_s(zone, moment) for moment in moments)

    def _changes(self, year: int) -> tuple[float, float]:
        return _changes_utc(self, year)

    def _moments(self, first_s: int, last_s: int) -> list[float]:
        """A second before and after each change in the years of the data."""
        years = range(
            datetime.fromtimestamp(first_s, UTC).year, datetime.fromtimestamp(last_s, UTC).year + 1
        )
        if self.dst_start is None or self.dst_end is None or not self.dst_offset_s:
            return [
                datetime(year, month, 1, tzinfo=UTC).timestamp()
                for year in years
                for month in (1, 7)
            ]
        changes = [change for year in years for change in self._changes(year)]
        return [moment for change in changes for moment in (change - 1, change)]


@lru_cache(maxsize=256)
def _changes_utc(local: LocalTime, year: int) -> tuple[float, float]:
    if local.dst_start is None or local.dst_end is None:
        raise InputError("these local time parameters have no daylight saving")
    start = local.dst_start.local_change(year).replace(tzinfo=UTC).timestamp()
    end = local.dst_end.local_change(year).replace(tzinfo=UTC).timestamp()
    return start - local.offset_s, end - local.offset_s - local.dst_offset_s


def _offset_s(zone: ZoneInfo, utc_s: float) -> int:
    offset = datetime.fromtimestamp(utc_s, zone).utcoffset()
    return int((offset or timedelta()).total_seconds())
