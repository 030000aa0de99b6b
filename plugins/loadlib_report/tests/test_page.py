"""The page as text: what stands on it, that it is well formed, and the same each time."""

from __future__ import annotations

import base64
import hashlib
import os
import re
import subprocess
import sys
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path

import pytest

from loadlib import LoadProfile, Range, cautions
from loadlib_report.page import page

Variant = Callable[..., LoadProfile]
GOLDEN = Path(__file__).with_name("golden_farmhouse.txt")
VOID = {"meta", "link", "br", "img", "hr", "input"}


class Outline(HTMLParser):
    """Checks that elements close in order; collects ids, links, and the text by block."""

    BLOCKS = (
        "p", "li", "h1", "h2", "h3", "th", "td", "caption", "dt", "dd", "title", "desc",
        "figcaption", "summary",
    )  # fmt: skip
    UNREAD = frozenset({"style", "script", "text"})

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.tags: set[str] = set()
        self.lines: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        if tag not in VOID:
            self.open.append(tag)
        self.ids += [value or "" for name, value in attrs if name == "id"]
        self.links += [value or "" for name, value in attrs if name in ("href", "src")]
        if tag == "tr":
            self.lines.append("|")
        elif tag in self.BLOCKS and tag not in ("th", "td"):
            self.lines.append("")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag
        if tag in ("th", "td"):
            self.lines[-1] += " |"

    def handle_data(self, data: str) -> None:
        words = " ".join(data.split())
        if words and not self.UNREAD & set(self.open):
            if not self.lines:
                self.lines.append("")
            self.lines[-1] += (" " if self.lines[-1] else "") + words

    def text(self) -> str:
        return "\n".join(line for line in self.lines if line) + "\n"


@pytest.fixture(scope="module")
def html(profile: LoadProfile) -> str:
    return page(profile)


def test_it_is_well_formed(html: str) -> None:
    outline = Outline(html)
    assert outline.open == []
    assert len(outline.ids) == len(set(outline.ids))
    for link in outline.links:
        assert link.startswith(("#", "data:")), link
        if link.startswith("#"):
            assert link[1:] in outline.ids


def test_the_data_on_the_page(html: str) -> None:
    """Everything that can be read, block by block; write it anew with LOADLIB_GOLDEN=write."""
    text = Outline(html).text()
    if os.environ.get("LOADLIB_GOLDEN") == "write":
        GOLDEN.write_text(text, encoding="utf-8")
    assert text == GOLDEN.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "words",
    [
        *cautions.SOURCE,
        "Run the refrigerator on a plug-in meter for a day.",
        "For a qualified person only.",
        *cautions.CLAMP,
        *cautions.SURVEY,
        "the plug meter says 1,000 W",
        "water heater: no start rate known",
        "bill of January 2026",
        "12 bills",
    ],
)
def test_every_part_is_there(words: str, html: str) -> None:
    assert " ".join(words.split()) in Outline(html).text()


def test_the_policy_names_the_style_and_no_script(html: str) -> None:
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', html)
    style = re.search(r"<style>(.*?)</style>", html, re.DOTALL)
    assert policy is not None
    assert style is not None
    digest = base64.b64encode(hashlib.sha256(style[1].encode()).digest()).decode()
    assert f"style-src 'sha256-{digest}'" in policy[1]
    assert "default-src 'none'" in policy[1]
    assert "script" not in policy[1]
    assert "script" not in Outline(html).tags
    assert " style=" not in html
    assert "http" not in re.sub(r'xmlns="[^"]+"|http-equiv', "", html)


def test_the_document_is_in_the_page(html: str, profile: LoadProfile) -> None:
    link = re.search(r'href="data:application/json;base64,([^"]+)"', html)
    assert link is not None
    assert LoadProfile.from_json(base64.b64decode(link[1])) == profile
    assert 'download="farmhouse-on-the-ridge-profile.json"' in html


def test_a_long_document_stands_in_a_script_element(large_profile: LoadProfile) -> None:
    html = page(large_profile)
    inside = re.search(
        r'<script type="application/json" id="profile-document">(.*?)</script>', html, re.DOTALL
    )
    assert inside is not None
    assert LoadProfile.from_json(inside[1]) == large_profile
    assert "script-src 'sha256-" in html
    assert "The other 260 loads" in html
    assert len(html) < 2.5 * len(large_profile.to_json())


def test_hostile_texts_are_text(hostile_profile: LoadProfile) -> None:
    html = page(hostile_profile)
    outline = Outline(html)
    assert outline.open == []
    assert {"script", "img"} & outline.tags == set()
    assert "alert(1)" in outline.text()
    assert "n" * 500 in outline.text()
    assert "{{ 7 * 7 }} {% raw %}" in outline.text()
    assert not re.search(r"[\x00-\x08\x0b\x0c\x0e-\x1f]", html)
    assert "What </title></style><img src=x onerror=alert(2)> draws" in outline.text()


def test_the_closing_of_a_script_element_in_a_name(large_profile: LoadProfile) -> None:
    from dataclasses import replace

    house = "</script><script>alert(3)</script><!--"
    html = page(replace(large_profile, house=house))
    assert html.count("<script") == 2
    inside = html.split('id="profile-document">')[1].split("</script>")[0]
    assert LoadProfile.from_json(inside).house == house


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"loads": (), "demand": ()}, "No load is known."),
        ({"demand": ()}, "hour"),
        ({"energy_wh_by_month": ()}, "The document has no energy by month."),
        ({"peaks": ()}, "The document states no highest demand."),
        ({"suggestions": ()}, "Nothing is suggested in the document."),
        ({"disagreements": ()}, "None was found."),
        ({"claims": (), "evidence": (), "method": (), "missing": ()}, "No claim about it"),
        ({"service_a": None, "area_ft2": None, "house": ""}, "7 loads"),
        ({"energy_wh_per_year": Range.exact(0.0)}, "about 0 kWh a year"),
    ],
)
def test_what_is_not_known_is_said(
    changes: dict[str, object], words: str, variant: Variant
) -> None:
    outline = Outline(page(variant(**changes)))
    assert outline.open == []
    assert words in outline.text().replace("\u00a0", " ")


def test_the_month_can_be_chosen(profile: LoadProfile) -> None:
    assert "Demand of the whole house in January" in page(profile)
    assert "Demand of the whole house in July" in page(profile, month=7)


def test_one_leg_or_three(profile: LoadProfile, variant: Variant) -> None:
    from dataclasses import replace

    for system, legs in (("230", ("A",)), ("230/400", ("A", "B", "C"))):
        share = tuple(1.0 if leg == "A" else 0.0 for leg in legs)
        loads = tuple(replace(one, leg_share=share) for one in profile.loads)
        html = page(variant(system=system, legs=legs, loads=loads, demand=profile.demand[:1]))
        assert Outline(html).open == []


def test_the_same_bytes_in_every_process(profile: LoadProfile, tmp_path: Path) -> None:
    source = tmp_path / "p.json"
    source.write_text(profile.to_json(), encoding="utf-8")
    code = (
        "import hashlib, sys, pathlib, loadlib; from loadlib_report.page import page;"
        "text = pathlib.Path(sys.argv[1]).read_text('utf-8');"
        "html = page(loadlib.LoadProfile.from_json(text));"
        "print(hashlib.sha256(html.encode()).hexdigest())"
    )
    path = os.pathsep.join(filter(None, sys.path))
    found = {
        subprocess.run(
            [sys.executable, "-c", code, str(source)],
            capture_output=True, text=True, check=True, timeout=300,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": path},
        ).stdout
        for seed in ("1", "2")
    }  # fmt: skip
    assert len(found) == 1
