"""ESPI files that are broken or meant to harm: one clear error, bounded time and memory."""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from loadlib.core.series import ReadOptions
from loadlib.errors import DataError
from loadlib.readers import read_usage
from loadlib.readers.espi import EspiReader
from loadlib.readers.espi.parse import parse_feed
from loadlib.readers.limits import Limits

DEMO = Path(__file__).parents[2] / "seed_data" / "demo" / "usage_hourly.xml"
ATOM = "http://www.w3.org/2005/Atom"
ESPI = "http://naesb.org/espi"
HEAD = f'<feed xmlns="{ATOM}"><entry><content><IntervalBlock xmlns="{ESPI}">'
Write = Callable[..., Path]

BILLION_LAUGHS = (
    '<?xml version="1.0"?><!DOCTYPE feed [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">'
    f'<!ENTITY c "&b;&b;&b;&b;">]><feed xmlns="{ATOM}"><title>&c;</title></feed>'
)
EXTERNAL = (
    '<?xml version="1.0"?><!DOCTYPE feed [<!ENTITY x SYSTEM "file:///etc/passwd">]>'
    f'<feed xmlns="{ATOM}"><title>&x;</title></feed>'
)
EXTERNAL_SUBSET = (
    '<?xml version="1.0"?><!DOCTYPE feed SYSTEM "http://example.org/feed.dtd">'
    f'<feed xmlns="{ATOM}"/>'
)


@pytest.mark.parametrize("text", [BILLION_LAUGHS, EXTERNAL, EXTERNAL_SUBSET])
def test_doctype_is_refused(write: Write, text: str) -> None:
    with pytest.raises(DataError, match="line 1: a DOCTYPE"):
        parse_feed(write(text, "bad.xml"))


def test_undefined_entity_is_refused(write: Write) -> None:
    with pytest.raises(DataError, match=r"line 1: not well-formed XML.*undefined entity"):
        parse_feed(write(f'<feed xmlns="{ATOM}"><title>&x;</title></feed>', "bad.xml"))


@pytest.mark.parametrize("quick", [True, False])
@pytest.mark.parametrize("inside", ["", HEAD])
def test_too_deep_is_refused(write: Write, inside: str, quick: bool) -> None:
    path = write((inside or f'<feed xmlns="{ATOM}">') + "<a>" * 1_000_000, "deep.xml")
    with pytest.raises(DataError, match="nested more than 64 deep, at <a>"):
        parse_feed(path, quick=quick)


def test_depth_takes_no_memory(write: Write) -> None:
    path = write(HEAD + "<a>" * 2_000_000, "deep.xml")
    tracemalloc.start()
    with pytest.raises(DataError):
        parse_feed(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 20 * 2**20


@pytest.mark.parametrize(
    "text",
    [
        f'<feed xmlns="{ATOM}"><!-- ' + "x > " * 600_000,
        f'<feed xmlns="{ATOM}"><!-- ' + "</IntervalBlock> " * 150_000,
        f'<feed xmlns="{ATOM}" title="' + "x" * 3_000_000,
        f'<feed xmlns="{ATOM}"><title>' + "x" * 3_000_000,
        HEAD + "<IntervalReading><value>" + "1" * 3_000_000,
    ],
    ids=["comment", "comment of block ends", "attribute", "title", "value"],
)
def test_endless_token_is_refused(write: Write, text: str) -> None:
    with pytest.raises(DataError, match="longer than 1048576 bytes"):
        parse_feed(write(text, "endless.xml"))


def test_endless_file_is_refused() -> None:
    with pytest.raises(DataError, match="295797 bytes, more than 1000"):
        parse_feed(DEMO, limits=Limits(bytes=1000))


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="needs an endless device")
def test_endless_device_is_refused() -> None:
    with pytest.raises(DataError, match="not a plain file"):
        read_usage("/dev/zero")
    with pytest.raises(DataError):
        parse_feed(Path("/dev/zero"), limits=Limits(bytes=10_000_000))


def test_too_many_readings_and_resources(feed: Any) -> None:
    with pytest.raises(DataError, match="more than 100 readings"):
        parse_feed(DEMO, limits=Limits(readings=100))
    path = feed.write(*[feed.entry(feed.reading_type())] * 20)
    with pytest.raises(DataError, match="more than 10 resources"):
        parse_feed(path, limits=Limits(resources=10))


@pytest.mark.parametrize("share", [0.1, 0.35, 0.5, 0.9, 0.999])
def test_half_written_download(write: Write, share: float) -> None:
    data = DEMO.read_bytes()
    cut = data[: int(len(data) * share)]
    with pytest.raises(DataError, match=r"ends .*before it is complete") as caught:
        read_usage(write(cut, "cut.xml"))
    assert caught.value.line is not None
    assert "fetch the file again" in (caught.value.hint or "")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (ESPI, "http://example.org/other", "namespace 'http://example.org/other'"),
        (f'<feed xmlns="{ATOM}"', '<feed xmlns="http://example.org/x"', "root element is <feed>"),
        (f'<feed xmlns="{ATOM}"', "<feed", r"namespace '\(none\)'"),
    ],
)
def test_wrong_namespace(write: Write, old: str, new: str, message: str) -> None:
    text = DEMO.read_text(encoding="utf-8").replace(old, new)
    with pytest.raises(DataError, match=message):
        parse_feed(write(text, "space.xml"))


def test_byte_order_marks_and_utf16_are_read(write: Write) -> None:
    text = DEMO.read_text(encoding="utf-8")
    plain = read_usage(DEMO)[0].series[0].energy_wh
    marked = write(b"\xef\xbb\xbf" + text.encode(), "marked.xml")
    wide = write(text.replace("UTF-8", "UTF-16").encode("utf-16"), "wide.xml")
    assert read_usage(marked)[0].series[0].energy_wh == plain
    assert read_usage(wide)[0].series[0].energy_wh == plain


@pytest.mark.parametrize("quick", [True, False])
def test_nul_bytes_and_mixed_encodings(write: Write, quick: bool) -> None:
    data = DEMO.read_bytes()
    middle = data.index(b"<value>", len(data) // 2)
    for wrong in (b"\0", b"\xe9", b"\x07"):
        path = write(data[:middle] + wrong + data[middle:], "bytes.xml")
        with pytest.raises(DataError, match="not well-formed XML") as caught:
            parse_feed(path, quick=quick)
        assert caught.value.line == data[:middle].count(b"\n") + 1


@pytest.mark.parametrize("encoding", ["utf-7", "shift_jis", "no-such", "hex", "idna"])
def test_other_encodings_are_refused(write: Write, encoding: str) -> None:
    path = write(f'<?xml version="1.0" encoding="{encoding}"?><feed xmlns="{ATOM}"/>', "e.xml")
    with pytest.raises(DataError, match=f"encoding '{encoding}'") as caught:
        parse_feed(path)
    assert "UTF-8" in (caught.value.hint or "")


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ((10, 3600, 1), "between 1980 and 2100"),
        ((9_999_999_999, 3600, 1), "between 1980 and 2100"),
        ((-1_700_000_000, 3600, 1), "between 1980 and 2100"),
        (("9" * 400, 3600, 1), "out of range"),
        (("soon", 3600, 1), "start 'soon' is not a number"),
        ((1_700_000_000, -5, 1), "a reading of -5 s"),
        ((1_700_000_000, 10**12, 1), "a reading of 1000000000000 s"),
        ((1_700_000_000, 3600, 2**50), "beyond 48 bits"),
        ((1_700_000_000, 3600, ""), "a reading without value"),
        ((1_700_000_000, 3600, "1_0"), "out of range"),
        ((1_700_000_000, 3600, "nan"), "value 'nan' is out of range"),
        ((1_700_000_000, 3600, "1<b/>2"), "text and elements mixed in <value>"),
    ],
)
def test_impossible_readings(feed: Any, row: tuple[object, ...], message: str) -> None:
    with pytest.raises(DataError, match=message) as caught:
        read_usage(feed.plain([*feed.hours(3), row]))
    assert caught.value.line is not None


@pytest.mark.parametrize("power", [13, 40, 308, -20])
def test_multiplier_outside_the_standard(feed: Any, power: int) -> None:
    with pytest.raises(DataError, match=f"multiplier 10\\^{power}"):
        read_usage(feed.plain(feed.hours(2), powerOfTenMultiplier=power))


def test_multiplier_that_no_house_draws(feed: Any) -> None:
    with pytest.raises(DataError, match="more than any house draws") as caught:
        read_usage(feed.plain(feed.hours(2), powerOfTenMultiplier=9))
    assert "multiplier" in (caught.value.hint or "")


def test_readings_a_century_apart(feed: Any) -> None:
    rows = [(400_000_000, 60, 1), (400_000_060, 60, 1), (4_000_000_000, 60, 1)]
    with pytest.raises(DataError, match="where 60000001 would be"):
        read_usage(feed.plain(rows))


@pytest.mark.parametrize(
    ("field", "text"),
    [("uom", "Wh"), ("commodity", "electric"), ("flowDirection", "in"), ("uom", "7" * 300)],
)
def test_codes_that_are_no_numbers(feed: Any, field: str, text: str) -> None:
    with pytest.raises(DataError, match=f"{field}|unit"):
        read_usage(feed.plain(feed.hours(2), **{field: text}))


@pytest.mark.parametrize("rule", ["ZZZZ", "000E2000", "360FE000", "3600FFFF", "1360E2000"])
def test_broken_clock_rules(feed: Any, rule: str) -> None:
    local = feed.element(
        "LocalTimeParameters",
        dstEndRule=rule,
        dstOffset=3600,
        dstStartRule="360E2000",
        tzOffset=-18000,
    )
    path = feed.write(
        feed.entry(local), feed.entry(feed.reading_type()), feed.entry(feed.block(feed.hours(2)))
    )
    with pytest.raises(DataError, match="daylight-saving rule"):
        read_usage(path)


def test_comments_full_of_tags_are_passed_over(feed: Any) -> None:
    noise = "<!-- " + "<IntervalReading>" * 20_000 + " -->"
    block = feed.block(feed.hours(2)).replace("</IntervalBlock>", noise + "</IntervalBlock>")
    path = feed.write(feed.entry(feed.reading_type()), feed.entry(block))
    assert read_usage(path)[0].series[0].energy_wh == pytest.approx(2000.0)


def test_extension_elements_are_passed_over(feed: Any) -> None:
    extra = '<extension><x xmlns="http://example.org/x">1</x></extension>'
    path = feed.write(
        feed.entry(feed.reading_type()), feed.entry(feed.block(feed.hours(2, 8), extra=extra))
    )
    assert read_usage(path)[0].series[0].mean_w == pytest.approx([8.0, 8.0])


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "empty"),
        (b"\0" * 4000, "empty"),
        (b"PK\x03\x04junk", "ZIP archive"),
        (b"\x1f\x8bjunk", "gzip"),
        (b"%PDF-1.7\n", "this is a PDF"),
        (b"\xef\xbb\xbf<!DOCTYPE html><html><title>Sign in</title></html>", "a web page"),
        (b"hello\nworld\n", "no reader knows this file"),
    ],
)
def test_what_is_no_usage_file(write: Write, data: bytes, message: str) -> None:
    with pytest.raises(DataError, match=message):
        read_usage(write(data, "what.bin"))


def test_memory_stays_flat_for_a_longer_file(feed: Any) -> None:
    """Three numbers a reading are kept, 24 bytes; nothing else may grow with the file."""

    def peak_of(days: int) -> int:
        rows = [
            feed.block([(feed.start + (d * 96 + q) * 900, 900, q) for q in range(96)])
            for d in range(days)
        ]
        entries = [feed.entry(row, up="M/1/IntervalBlock") for row in rows]
        path = feed.write(feed.entry(feed.reading_type()), *entries, name=f"{days}.xml")
        tracemalloc.start()
        EspiReader().read(path, ReadOptions())
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return peak

    peak_of(1)
    short, long = peak_of(30), peak_of(300)
    assert long - short < 270 * 96 * 150
