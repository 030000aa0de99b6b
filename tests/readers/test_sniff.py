"""Choice of the reader: stated, overridable, independent of the order of plugins."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from loadlib.core.series import ReadOptions, ReadResult
from loadlib.errors import DataError, NotFound
from loadlib.hooks import Reader
from loadlib.readers import built_in_readers, choose_reader, read_usage
from loadlib.readers.hooks import loadlib_readers

Write = Callable[..., Path]


@dataclass
class Fixed:
    """A reader that is as sure as it is told to be."""

    name: str
    sure: float
    summary: str = "a stranger's format"

    def recognises(self, head: bytes, filename: str) -> float:
        return self.sure

    def read(self, path: Path, options: ReadOptions) -> ReadResult:
        return ReadResult(notes=(f"by {self.name}",))


def test_built_in_readers_come_through_the_hook() -> None:
    names = [reader.name for reader in loadlib_readers()]
    assert names == ["bills", "clamp_log", "delimited", "espi", "temperatures"]
    assert all(isinstance(reader, Reader) and reader.summary for reader in built_in_readers())


def test_the_choice_is_the_first_note(write: Write) -> None:
    path = write("time,kWh\n2023-03-01 00:00,1\n2023-03-01 01:00,2\n")
    result, name = read_usage(path, ReadOptions(timezone="Etc/UTC"))
    assert name == "delimited"
    assert result.notes[0].endswith("(delimited), recognised by its content")


def test_a_reader_can_be_asked_for(write: Write) -> None:
    path = write("anything")
    result, name = read_usage(path, reader="a", readers=[Fixed("a", 0.0), Fixed("b", 1.0)])
    assert (name, result.notes[1]) == ("a", "by a")
    assert result.notes[0].endswith("as asked")
    with pytest.raises(NotFound, match="no reader 'c'"):
        read_usage(path, reader="c", readers=[Fixed("a", 1.0)])


def test_ties_do_not_depend_on_the_order() -> None:
    one, two = Fixed("ash", 0.5), Fixed("birch", 0.5)
    for order in ([one, two], [two, one]):
        assert choose_reader(b"x", "x", order)[0].name == "ash"


def test_a_stranger_beats_a_built_in_reader_that_is_less_sure(write: Write) -> None:
    path = write("time,kWh\n2023-03-01 00:00,1\n2023-03-01 01:00,2\n")
    _, name = read_usage(path, readers=[*built_in_readers(), Fixed("own", 0.95)])
    assert name == "own"


def test_unknown_content_lists_the_readers(write: Write) -> None:
    with pytest.raises(DataError, match="no reader knows") as caught:
        read_usage(write("nothing in particular"), readers=[Fixed("a", 0.1)])
    assert "Name one of: a" in (caught.value.hint or "")


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(DataError, match="not a plain file"):
        read_usage(tmp_path)


def test_a_stamp_in_german_is_no_temperature(write: Write) -> None:
    text = "Zeitstempel;Menge kWh\n2023-03-01 00:00;0,5\n2023-03-01 01:00;0,6\n"
    assert read_usage(write(text), ReadOptions(timezone="Europe/Berlin"))[1] == "delimited"
    text = "Zeitstempel;Menge\n2023-03-01 00:00;0,5\n2023-03-01 01:00;0,6\n"
    assert choose_reader(text.encode(), "x.csv", built_in_readers())[0].name == "delimited"


def test_a_source_names_the_file_and_not_its_folder(tmp_path: Path) -> None:
    path = tmp_path / "hourly.csv"
    rows = [f"2025-01-{1 + h // 24:02}T{h % 24:02}:00:00-05:00,0.5" for h in range(48)]
    path.write_text("start,kwh\n" + "\n".join(rows) + "\n")
    result, _ = read_usage(path)
    assert result.series[0].source == "hourly.csv"
