"""A column of clock times: times of day, packed digits, or numbers that count intervals."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from loadlib.errors import InputError
from loadlib.readers.delimited.dates import clock_seconds
from loadlib.readers.delimited.wide import PER_DAY

__all__ = ["counted_per_day", "is_clock", "seconds_of_clocks"]

_MOST_COUNTED: Final = max(PER_DAY)


def is_clock(text: str) -> bool:
    """Whether a text may stand in a column of clock times: 7:15 pm, 0715, or the 43rd interval."""
    text = text.strip()
    if _is_digits(text):
        return int(text) <= _MOST_COUNTED or _is_packed(text)
    try:
        clock_seconds(text)
    except InputError:
        return False
    return True


def counted_per_day(texts: Iterable[str]) -> int:
    """Intervals of a plain day, where a column counts them from one; 0 where it does not.

    24 for 1 to 23, 24 or 25; 48 for 1 to 46, 48 or 50; 96 for 1 to 92, 96 or 100.
    """
    found = {text.strip() for text in texts}
    if not found or not all(map(_is_digits, found)):
        return 0
    numbers = {int(text) for text in found}
    return PER_DAY.get(max(numbers), 0) if 1 in numbers and 0 not in numbers else 0


def seconds_of_clocks(texts: Iterable[str]) -> dict[str, int]:
    """Seconds since midnight of each different text of a column; blanks are midnight. [s]

    Digits alone are hours, or packed hours and minutes where one of them is above 100.

    Raises
    ------
    InputError
        for what is no time of day.
    """
    found = list(texts)
    digits = [text.strip() for text in found if text.strip()]
    packed = bool(digits) and all(map(_is_digits, digits)) and max(map(int, digits)) >= 100
    return {
        text: (_unpacked(text) if packed else clock_seconds(text)) if text.strip() else 0
        for text in found
    }


def _is_digits(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) <= 4


def _is_packed(text: str) -> bool:
    hours, minutes = divmod(int(text), 100)
    return minutes < 60 and hours * 60 + minutes <= 24 * 60


def _unpacked(text: str) -> int:
    if not _is_packed(text):
        raise InputError(f"{text!r} is not a time of day")
    hours, minutes = divmod(int(text), 100)
    return hours * 3600 + minutes * 60
