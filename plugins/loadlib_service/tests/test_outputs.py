"""Text, JSON and the printed page; words that must not be in them."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from datetime import date
from html.parser import HTMLParser

import pytest

from loadlib_service.compare import Comparison, compare
from loadlib_service.document import comparison_document, diversity_document
from loadlib_service.facts import read_facts
from loadlib_service.nonus import diversity_230
from loadlib_service.page import page
from loadlib_service.tables import EDITIONS
from loadlib_service.tests.test_facts import GOOD
from loadlib_service.text import comparison_lines

FORBIDDEN = re.compile(r"compl(y|ies|ian)|\bsafe|\bunsafe|safety", re.IGNORECASE)


def comparison(edition: str = "2023", text: str = GOOD) -> Comparison:
    facts = read_facts(text)
    return compare(facts.dwelling, edition, added=facts.added, record=facts.record)


def outputs(edition: str) -> Iterator[str]:
    found = comparison(edition)
    yield "\n".join(comparison_lines(found))
    yield json.dumps(comparison_document(found), allow_nan=False)
    yield page(found)
    yield json.dumps(diversity_document(diversity_230([("lighting", [8.0])])))


@pytest.mark.parametrize("edition", EDITIONS)
def test_no_output_passes_judgement(edition: str) -> None:
    for text in outputs(edition):
        assert FORBIDDEN.search(text) is None


@pytest.mark.parametrize("edition", EDITIONS)
def test_edition_section_and_authority_stand_in_every_output(edition: str) -> None:
    found = comparison(edition)
    for text in ("\n".join(comparison_lines(found)), page(found)):
        flat = " ".join(text.split())
        assert edition in flat
        assert "authority having jurisdiction" in flat
        assert "licensed electrician" in flat
        assert "estimates" in flat
        for row in found.rows:
            assert row.section in flat


def test_every_line_is_in_every_output() -> None:
    found = comparison()
    flat = " ".join("\n".join(comparison_lines(found, 60)).split())
    html = page(found)
    for row in found.rows:
        for line in row.sheets[-1].lines:
            assert f"{line.va:,.0f}" in flat
            assert line.section in flat
            assert f"{line.va:,.0f}" in html
            assert f"{line.subtotal_va:,.0f}" in html


def test_narrow_text_keeps_its_width() -> None:
    assert max(len(line) for line in comparison_lines(comparison(), 60)) <= 100


def test_json_keys_carry_units() -> None:
    document = comparison_document(comparison())
    names = {row["method"] for row in document["methods"]}
    assert names == {"standard", "optional", "existing", "measured"}
    sheet = document["methods"][0]["worksheets"][-1]
    assert sheet["lines"][-1]["subtotal_va"] == pytest.approx(sheet["total_va"])
    numbers = {k for k, v in sheet.items() if isinstance(v, int | float)}
    assert all(k.endswith(("_va", "_a")) for k in numbers)


class Checker(HTMLParser):
    """Collects tags that a self-contained page must not have, and unclosed ones."""

    void = ("meta", "br", "hr", "link", "img", "input")

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: set[str] = set()
        self.outside: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.outside += [v or "" for k, v in attrs if k in ("src", "href")]
        if tag not in self.void:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_the_page_is_whole_and_self_contained() -> None:
    html = page(comparison(), printed_on=date(2024, 3, 5))
    checker = Checker()
    checker.feed(html)
    assert checker.open == []
    assert checker.outside == []
    assert not {"script", "link", "img", "iframe"} & checker.tags
    assert "Content-Security-Policy" in html
    assert "2024-03-05" in html
    for words in ("Signature", "Licence number", "Permit number", "Date"):
        assert words in html


def test_the_same_facts_give_the_same_page() -> None:
    assert page(comparison()) == page(comparison())


def test_the_style_is_the_one_that_the_policy_names() -> None:
    import base64
    import hashlib

    html = page(comparison())
    style = re.search(r"<style>(.*?)</style>", html, re.DOTALL)
    assert style is not None
    digest = base64.b64encode(hashlib.sha256(style[1].encode()).digest()).decode()
    assert f"sha256-{digest}" in html


def test_everything_from_a_person_is_escaped() -> None:
    hostile = GOOD.replace("Farmhouse on the ridge", "<script>alert(1)</script>").replace(
        '"dishwasher"', '"<img src=x onerror=alert(2)>"'
    )
    html = page(comparison(text=hostile))
    assert "<script" not in html
    assert "<img" not in html
    assert "&lt;script&gt;" in html
