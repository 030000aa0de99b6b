"""Words by which utilities, meters and loggers head their columns.

Common practice, no source, but for 1.8.0 / 2.8.0 and 1.29 / 2.29: OBIS codes of IEC 62056-6-1
for active energy import and export, as register and as interval value.
"""

from __future__ import annotations

import re
from typing import Final

__all__ = [
    "CLOCK_HEADING",
    "MEANING_WORDS",
    "OTHER_SERVICE",
    "OTHER_UNIT",
    "REGISTER",
    "UNIT",
    "VALUE_WORDS",
]


def _any(*words: str) -> re.Pattern[str]:
    return re.compile("|".join(words))


UNIT: Final = re.compile(r"(?<![a-z])(mwh|kwh|wh|kw|w)(?![a-z])", re.I)
OTHER_SERVICE: Final = _any("gas", "water", "steam", "sewer", "propane")
OTHER_UNIT: Final = _any(
    r"\bkva", r"\bva\b", r"\bvah\b", r"var(h|\b)", "volt", "amp", "power factor", "therm", "ccf",
    r"m3\b", "m³", r"\bgal", "reactive",
)  # fmt: skip

#: The first meaning whose words are found and whose cells fit is taken.
MEANING_WORDS: Final = (
    (
        "ignore",
        _any("total", "^sum", "sum$", "daily", "running", "rate", "tariff", r"\btier", "season",
             "note", "comment", "weekday", "day of week"),
    ),
    ("cost", _any("cost", "charge", "amount", "price", r"bill\b", "[$€£]",
                  r"\b(usd|cad|eur|gbp|chf)\b")),
    ("temperature", _any(r"(?<!s)temp", r"°[cf]\b", r"\bdeg", "tavg", "tmax", "tmin", "dry.?bulb")),
    ("quality", _any("qualit", "status", r"\bflag", "estimat", "read(ing)? type", "valid")),
    ("flow", _any("direction", "consumption.*generation", "^flow", "register type")),
    ("days", _any(r"^((number|no\.?) of |billing |billed )?days( billed| in period)?$", "^tage$")),
    ("unit", _any(r"^units?$", r"\buom\b", "unit of measure", "^einheit$", "^unit[aà]$")),
    ("service", _any("^type$", "commodity", "service type", r"\bfuel")),
    ("first day", _any("(period|bill|billing|service).*(start|begin|from)", "^from$",
                       "start date$", "first day", "^start$", "^begin")),
    ("last day", _any(r"(period|bill|billing|service).*(end|to\b)", "^to$", "end date$",
                      "read date", "last day")),
    ("end", _any(r"\bend(ing)?\b", r"\b(until|to)$")),
    ("meter", _any("meter (id|no|num|ser)", "^meter$", r"\besi", "mpan", r"\bnmi", "account",
                   "device", "channel", "service point", "point id", "serial", "household id",
                   r"\bhome\b", r"\bhouse\b", "premise", "site")),
    ("time", _any("time ?stamp", "date.*time", "datum.*zeit", "interval.*(start|begin)",
                  "^interval$", "moment", "epoch", "unix", r"\butc\b", "read time", "start local",
                  "local time")),
    ("month", _any("month", "monat", "billing period", "^period$")),
    ("date", _any("date", "datum", "^day$", "fecha", "giorno", "^jour$", "^tag$")),
    ("clock", _any("time", "zeit", "hour", "uhrzeit", r"\bhora", "heure", r"^hh?$",
                   r"\bperiod\b", r"\binterval\b")),
)  # fmt: skip

#: Seen from the house: delivered is what the utility delivered, received what it got.
VALUE_WORDS: Final = (
    (
        "export",
        _any("export", "generat", "to (the )?grid", "received", "return", "feed.?in", "surplus",
             "solar", r"2\.8\.", r"2\.29", "einspeis", "injection", r"\bsold", "backfeed"),
    ),
    ("net", _any(r"\bnet\b")),
    (
        "import",
        _any("import", "consum", "usage", r"\bused?\b", "from (the )?grid", "deliver",
             r"(?<![a-z])k?wh(?![a-z])",
             r"\bkw\b", r"\bw\b", "energy", "power", "load", "demand", "verbrauch", "bezug",
             r"1\.8\.", r"1\.29", "value", "read", "mains", "aggregate", "whole", "electric",
             r"\bwert", r"\bunits?$", r"\(a\+\)"),
    ),
)  # fmt: skip

REGISTER: Final = _any(
    "register", "cumul", r"1\.8\.", r"2\.8\.", r"\bindex", r"meter read(ing)?\b",
    "z[aä]hlerstand", r"\bdial", "odometer",
)  # fmt: skip

#: Headings of a table with one row a day: 0:00, 00:30, HE1, hh48, hour 7, 1 am.
CLOCK_HEADING: Final = re.compile(
    r"(?:h|he|hr|hh|hour|kwh|interval|int|p|period|usage|value)?[\s_]*"
    r"\d{1,4}(?:[:.h]\d{2}){0,2}\s*(?:[ap]\.?m?\.?)?\s*(?:\(?(?:kwh|kw|wh|2|dst)\)?)?",
    re.I,
)
