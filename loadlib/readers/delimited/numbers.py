"""Numbers as spreadsheets write them: decimal comma, thousands, blanks, flags behind them."""

from __future__ import annotations

import math
import re
from typing import Final

from loadlib.errors import InputError

__all__ = ["BLANKS", "decimal_mark", "is_number", "parse_number"]

#: What stands where nothing was measured.
BLANKS: Final = frozenset(
    {"", "-", "--", "n/a", "na", "nan", "null", "none", "missing", "#n/a", "no data", "."}
)
_NUMBER: Final = re.compile(
    r"([-+−]?)\s*((?:\d[\d\s'.,]*|[.,]\d+)(?:e[-+]?\d+)?)\s*(kwh|wh|kw|w|°?[cf])?\s*([a-z*]{0,2})",
    re.IGNORECASE,
)


def is_number(text: str) -> bool:
    """Whether a cell holds a number, with either decimal mark."""
    return _NUMBER.fullmatch(text.strip()) is not None


def decimal_mark(cells: list[str]) -> str:
    """``"."`` or ``","``, by the last mark that parts fewer or more than three digits."""
    for mark, other in ((",", "."), (".", ",")):
        for cell in cells:
            text = cell.strip()
            if text.count(mark) != 1 or not is_number(text):
                continue
            tail = re.match(r"\d*", text.rpartition(mark)[2])
            behind = len(tail.group()) if tail else 0
            if (
                other in text.rpartition(mark)[0]
                or behind != 3
                or text.lstrip("-+").startswith("0")
            ):
                if mark == "," and other in text.rpartition(mark)[2]:
                    continue
                return mark
    return "."


def parse_number(text: str, decimal: str) -> tuple[float, str]:
    """A cell's number and the flag behind it; NaN for a blank.

    Raises
    ------
    InputError
        when something else stands there.
    """
    cell = text.strip().strip('"').strip()
    if cell.lower() in BLANKS:
        return float("nan"), ""
    found = _NUMBER.fullmatch(cell)
    if found is None:
        raise InputError(f"{text.strip()[:40]!r} is not a number")
    digits = found[2].replace(" ", "").replace("\xa0", "").replace("\u202f", "").replace("'", "")
    digits = digits.replace("." if decimal == "," else ",", "").replace(",", ".")
    try:
        number = float(digits)
    except ValueError:
        raise InputError(f"{text.strip()[:40]!r} is not a number") from None
    if number == math.inf:
        raise InputError(f"{text.strip()[:40]!r} is too large a number")
    return (-number if found[1] in ("-", "−") else number), found[4].lower()
