"""Readers: files from outside to series, bills and temperatures."""

from __future__ import annotations

from loadlib.readers.sniff import built_in_readers, choose_reader, read_usage

__all__ = ["built_in_readers", "choose_reader", "read_usage"]
