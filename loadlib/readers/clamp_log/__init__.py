"""Logs of clamp and plug-in meters: delimited text, read a stretch at a time.

A stretch of the file goes from ``headings`` (which column is what) through ``checks`` (what
can't be is refused) and ``power`` (watts or volt-amperes by place) to ``clock`` (UTC, in order,
one row a moment) and ``slots`` (a regular grid), so that a month of seconds takes no more
memory than a day.
"""

from loadlib.readers.clamp_log.reader import ClampLogReader

__all__ = ["ClampLogReader"]
