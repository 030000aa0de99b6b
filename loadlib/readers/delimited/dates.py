"""Dates and clock times as people and utilities write them, to days and seconds.

Every way of writing is parsed once per different text, so a million rows cost a look-up each.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from itertools import pairwise
from typing import Final

from loadlib.errors import InputError
from loadlib.readers.unsure import AmbiguousOrder

__all__ = [
    "ZONE_LETTERS",
    "NoSuchDay",
    "clock_seconds",
    "day_number",
    "decide_order",
    "is_date",
    "split_stamp",
]

_EPOCH: Final = date(1970, 1, 1).toordinal()
MONTHS: Final = {
    name: number
    for number, name in enumerate(
        ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"), 1
    )
}
_YEAR_FIRST: Final = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})")
_PACKED: Final = re.compile(r"(19[89]\d|20\d\d)(\d\d)(\d\d)")
_YEAR_LAST: Final = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4}|\d{2})")
_DAY_NAME_YEAR: Final = re.compile(r"(\d{1,2})[-\s./]*([a-z]{3})[a-z]*\.?[-\s,./]*(\d{4}|\d{2})")
_NAME_DAY_YEAR: Final = re.compile(
    r"([a-z]{3})[a-z]*\.?[-\s]*(\d{1,2})(?:st|nd|rd|th)?,?[-\s]+(\d{4})"
)
_WEEKDAY: Final = re.compile(r"^(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,?\s+")
_CLOCK: Final = re.compile(
    r"(\d{1,2})(?:[:.h](\d{2})(?:[:.](\d{2})(?:[.,]\d+)?)?)?\s*([ap])?\.?\s*(?:m\.?)?"
)
#: Letters behind a stamp, in seconds east of UTC; a place that uses letters otherwise (EST in
#: Australia) goes by its own. Common practice, no source; letters of several meanings on one
#: continent (IST) are left out.
ZONE_LETTERS: Final = {
    letters: round(hours * 3600)
    for hours, several in (
        (0, "Z UTC GMT WET"), (1, "BST CET MEZ WEST"), (2, "CEST MESZ EET"), (3, "EEST"),
        (-4, "EDT AST"), (-3, "ADT"), (-5, "EST CDT"), (-6, "CST MDT"), (-7, "MST PDT"),
        (-8, "PST AKDT"), (-9, "AKST"), (-10, "HST"), (8, "AWST"), (9, "JST"), (9.5, "ACST"),
        (10, "AEST"), (10.5, "ACDT"), (11, "AEDT"), (12, "NZST"), (13, "NZDT"),
    )
    for letters in several.split()
}  # fmt: skip
_OFFSET: Final = re.compile(rf"\s*({'|'.join(ZONE_LETTERS)}|[+-]\d{{2}}:?\d{{2}})$", re.IGNORECASE)
#: The end of an interval behind its start, in one cell.
_UNTIL: Final = re.compile(r"\s+(?:to|until|bis|[-–])\s+\d.*:\d\d.*$")
_STAMP: Final = re.compile(r"^(.*?\d)[T\s,]+(\d{1,2}[:.h]?\d{0,2}(?:[:.]\d{2}.*|\s*[aApP].*|))$")


class NoSuchDay(InputError):
    """A date text such as 30 February; ``text`` is as it stood."""

    def __init__(self, text: str) -> None:
        super().__init__(f"there is no day {text.strip()!r}")
        self.text = text


def is_date(text: str) -> bool:
    """Whether a text starts with a date, whatever its order."""
    return _fields(text.strip().lower()) is not None


def day_number(text: str, *, day_first: bool) -> int:
    """Days since 1970-01-01 of a date text.

    Raises
    ------
    InputError
        when it is no date, or no such day exists.
    """
    fields = _fields(text.strip().lower())
    if fields is None:
        raise InputError(f"{text!r} is not a date")
    year, first, second, fixed = fields
    month, day = (first, second) if fixed or not day_first else (second, first)
    try:
        return date(year, month, day).toordinal() - _EPOCH
    except ValueError:
        raise NoSuchDay(text) from None


def clock_seconds(text: str) -> int:
    """Seconds since midnight of a clock text; 24:00 is 86,400. [s]

    Raises
    ------
    InputError
        when it is no time of day.
    """
    found = _CLOCK.fullmatch(text.strip().lower())
    if found is None:
        raise InputError(f"{text!r} is not a time of day")
    hour, minute, second = (int(part or 0) for part in found.group(1, 2, 3))
    half = found.group(4)
    if half is not None:
        if not 1 <= hour <= 12:
            raise InputError(f"{text!r} is not a time of day")
        hour = hour % 12 + (12 if half == "p" else 0)
    seconds = hour * 3600 + minute * 60 + second
    if minute > 59 or second > 59 or seconds > 86_400:
        raise InputError(f"{text!r} is not a time of day")
    return seconds


def split_stamp(text: str) -> tuple[str, str, str]:
    """Date, clock and offset texts of a stamp; empty where absent.

    Of a stamp that runs from a moment to another in one cell, the start.
    """
    stamp = _UNTIL.sub("", text.strip())
    offset = ""
    found = _OFFSET.search(stamp)
    if found is not None and ":" in stamp[: found.start()]:
        offset, stamp = found.group(1), stamp[: found.start()]
    parts = _STAMP.match(stamp)
    if parts is not None and is_date(parts.group(1)):
        return parts.group(1), parts.group(2), offset
    return stamp, "", offset


def decide_order(
    texts: Iterable[str], stated: bool | None, *, daily: bool = True
) -> tuple[bool, str]:
    """Whether dates are day first, over all different date texts of a file in their order.

    ``daily`` says that the file has every day, so that the order in which day follows day is
    the right one. Returns the choice and a remark on what it rests on, empty when there was
    nothing to choose.

    Raises
    ------
    AmbiguousOrder
        when both orders are possible and nothing decides.
    InputError
        when the dates fit neither order, or contradict what was stated.
    """
    pairs = []
    dots = True
    for text in texts:
        fields = _fields(text.strip().lower())
        if fields is not None and not fields[3]:
            pairs.append(fields[:3])
            dots = dots and "." in text
    if not pairs:
        return bool(stated), ""
    month_possible = all(first <= 12 for _, first, _ in pairs)
    day_possible = all(second <= 12 for _, _, second in pairs)
    if not month_possible and not day_possible:
        raise InputError(
            "dates fit neither day first nor month first throughout the file",
            hint="Two layouts are probably mixed in one file: split it.",
        )
    if stated is not None:
        if not (day_possible if stated else month_possible):
            raise InputError(f"dates can't be {'day' if stated else 'month'} first")
        return stated, f"dates are {'day' if stated else 'month'} first, as stated"
    if month_possible != day_possible:
        return day_possible, f"dates are {'day' if day_possible else 'month'} first: no other fits"
    return _by_sequence(pairs, dots=dots, daily=daily)


def _by_sequence(pairs: list[tuple[int, int, int]], *, dots: bool, daily: bool) -> tuple[bool, str]:
    """Of two possible orders, the one in which day follows day."""
    follows = {order: daily and _day_follows_day(pairs, day_first=order) for order in (True, False)}
    if follows[True] != follows[False]:
        order = follows[True]
        word = "day" if order else "month"
        return order, f"dates are {word} first: only so does day follow day"
    if dots:
        return True, "dates are day first: common practice where dots part the numbers"
    raise AmbiguousOrder(
        "dates such as {1:02d}/{2:02d}/{0} may be day first or month first".format(*pairs[0]),
        hint="State which (mapping: day_first; command line: --day-first or --month-first).",
    )


def _day_follows_day(pairs: list[tuple[int, int, int]], *, day_first: bool) -> bool:
    days = []
    for year, first, second in pairs:
        month, day = (second, first) if day_first else (first, second)
        try:
            days.append(date(year, month, day).toordinal())
        except ValueError:
            return False
    return len(days) > 1 and all(abs(later - earlier) <= 1 for earlier, later in pairwise(days))


def _fields(text: str) -> tuple[int, int, int, bool] | None:
    """(year, first, second, fixed) of a date; ``fixed`` means first is surely the month."""
    text = _WEEKDAY.sub("", text)
    if found := _YEAR_FIRST.fullmatch(text):
        return int(found[1]), int(found[3]), int(found[4]), True
    if found := _PACKED.fullmatch(text):
        return int(found[1]), int(found[2]), int(found[3]), True
    if found := _YEAR_LAST.fullmatch(text):
        return _year(found[4]), int(found[1]), int(found[3]), False
    if (found := _DAY_NAME_YEAR.fullmatch(text)) and found[2] in MONTHS:
        return _year(found[3]), MONTHS[found[2]], int(found[1]), True
    if (found := _NAME_DAY_YEAR.fullmatch(text)) and found[1] in MONTHS:
        return int(found[3]), MONTHS[found[1]], int(found[2]), True
    return None


def _year(text: str) -> int:
    return int(text) if len(text) == 4 else 2000 + int(text)
