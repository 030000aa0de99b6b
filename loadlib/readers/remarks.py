"""Remarks in plain words: counts with their nouns."""

from __future__ import annotations

__all__ = ["counted"]


def counted(count: int, noun: str) -> str:
    """``3 readings``, ``1 reading``, ``2 summaries``."""
    if count == 1:
        return f"1 {noun}"
    return f"{count} {noun[:-1]}ies" if noun.endswith("ry") else f"{count} {noun}s"
