"""The page in a real browser: no request, no error, accessible, on a phone, in print.

Needs Chromium (Debian's package ``chromium``; no download of a browser). Where it is absent
these tests are skipped with a reason, except where ``CI`` is set: there they fail.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from loadlib import LoadProfile
from loadlib_report.page import page as html_of

pytestmark = pytest.mark.slow

SWITCHES = (
    "--no-sandbox", "--disable-gpu", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--no-first-run", "--disable-quic",
)  # fmt: skip
DESK, PHONE = (1100, 900), (360, 740)


def chromium() -> str:
    """Where the browser is; skips, or fails in CI, where there is none."""
    for name in ("chromium", "chromium-browser"):
        if found := shutil.which(name):
            return found
    reason = "no Chromium here: apt-get install chromium"
    if os.environ.get("CI"):
        pytest.fail(reason)
    pytest.skip(reason)


@dataclass
class Seen:
    """What a page did: its handle, and all that it logged, asked for or popped up."""

    page: Any
    requests: list[str] = field(default_factory=list)
    trouble: list[str] = field(default_factory=list)


Open = Callable[..., AbstractContextManager[Seen]]


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    path = chromium()
    from playwright.sync_api import sync_playwright

    with sync_playwright() as player:
        launched = player.chromium.launch(executable_path=path, args=list(SWITCHES))
        yield launched
        launched.close()


@pytest.fixture(scope="module")
def drawn() -> Callable[[LoadProfile], str]:
    """The page of a profile, made once: the profiles here live as long as the session."""
    made: dict[int, str] = {}

    def draw(profile: LoadProfile) -> str:
        if id(profile) not in made:
            made[id(profile)] = html_of(profile)
        return made[id(profile)]

    return draw


@pytest.fixture
def opened(browser: Any, drawn: Callable[[LoadProfile], str], tmp_path: Path) -> Open:
    """``with opened(profile, size=PHONE) as seen:`` opens its page from a file."""

    @contextmanager
    def open_page(
        profile: LoadProfile, size: tuple[int, int] = DESK, scheme: str = "light", **more: Any
    ) -> Iterator[Seen]:
        file = tmp_path / "page.html"
        file.write_text(drawn(profile), encoding="utf-8")
        context = browser.new_context(
            viewport={"width": size[0], "height": size[1]}, color_scheme=scheme, **more
        )
        seen = Seen(context.new_page())

        def ask(route: Any) -> None:
            seen.requests.append(route.request.url)
            if route.request.url == file.as_uri():
                route.continue_()
            else:
                route.abort()

        seen.page.route("**/*", ask)
        seen.page.on("console", lambda message: seen.trouble.append(message.text))
        seen.page.on("pageerror", lambda error: seen.trouble.append(str(error)))
        seen.page.on("dialog", lambda dialog: seen.trouble.append(dialog.message))
        seen.page.goto(file.as_uri())
        try:
            yield seen
        finally:
            context.close()
        assert seen.trouble == []
        assert [url for url in seen.requests if url != file.as_uri()] == []

    return open_page


def unfold(page: Any) -> None:
    """Opens every fold."""
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")


def accessible(page: Any) -> None:
    """No violation by axe-core's rules for WCAG 2 A and AA, and its best practices."""
    from axe_playwright_python.sync_playwright import Axe

    results = Axe().run(page)
    assert results.violations_count == 0, results.generate_report()
    assert results.response["testEngine"]["name"] == "axe-core"


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_it_opens_quietly_and_is_accessible(
    opened: Open, profile: LoadProfile, size: tuple[int, int], scheme: str
) -> None:
    with opened(profile, size, scheme) as seen:
        assert seen.page.title() == "What farmhouse on the ridge draws"
        accessible(seen.page)
        unfold(seen.page)
        accessible(seen.page)


def test_axe_would_find_something(browser: Any) -> None:
    from axe_playwright_python.sync_playwright import Axe

    context = browser.new_context()
    page = context.new_page()
    page.set_content('<p style="color:#aaa;background:#fff">pale</p><img src="data:,">')
    found = {violation["id"] for violation in Axe().run(page).response["violations"]}
    context.close()
    assert {"color-contrast", "image-alt", "html-has-lang"} <= found


@pytest.mark.parametrize("size", [DESK, PHONE, (320, 640)], ids=["desk", "phone", "small phone"])
def test_nothing_is_wider_than_the_screen(
    opened: Open, hostile_profile: LoadProfile, size: tuple[int, int]
) -> None:
    with opened(hostile_profile, size) as seen:
        for _ in range(2):
            width = seen.page.evaluate("document.documentElement.scrollWidth")
            assert width <= size[0]
            unfold(seen.page)


def test_letters_on_a_phone_are_large_enough(opened: Open, profile: LoadProfile) -> None:
    smallest = """() => Math.min(...[...document.querySelectorAll('svg text')]
        .map(t => t.getBoundingClientRect()).filter(b => b.width > 0).map(b => b.height))"""
    with opened(profile, PHONE) as seen:
        assert seen.page.evaluate(smallest) >= 9.0
        assert seen.page.locator(".wide svg:visible").count() == 0
        assert seen.page.locator(".narrow svg:visible").count() == 8
    with opened(profile, DESK) as seen:
        assert seen.page.evaluate(smallest) >= 9.0
        assert seen.page.locator(".narrow svg:visible").count() == 0


def test_hostile_names_are_text(opened: Open, hostile_profile: LoadProfile) -> None:
    with opened(hostile_profile) as seen:
        unfold(seen.page)
        text = seen.page.locator("body").inner_text()
        for words in ("<script>alert(1)</script>", "🐣", "n" * 500, "{{ 7 * 7 }}", "مضخة"):
            assert words in text
        assert seen.page.locator("script, img").count() == 0
        # A right-to-left override in a name stays within it.
        pump = seen.page.locator("bdi", has_text="مضخة").first
        assert pump.evaluate("e => getComputedStyle(e).unicodeBidi") in ("isolate", "plaintext")


def test_the_keyboard_goes_down_the_page(opened: Open, profile: LoadProfile) -> None:
    where = (
        "() => { const b = document.activeElement.getBoundingClientRect(); return b.top + scrollY }"
    )
    with opened(profile) as seen:
        page = seen.page
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.textContent") == "Skip to the answer"
        page.keyboard.press("Enter")
        assert page.evaluate("document.activeElement.id") == "answer"
        tops, kinds = [], []
        for _ in range(60):
            page.keyboard.press("Tab")
            tops.append(page.evaluate(where))
            kinds.append(page.evaluate("document.activeElement.tagName"))
            if page.evaluate("document.activeElement.id") == "save":
                break
        assert tops == sorted(tops)
        assert kinds[-1] == "A"
        assert {"A", "SUMMARY", "DIV"} <= set(kinds)


def test_a_fold_opens_by_key_and_focus_shows(opened: Open, profile: LoadProfile) -> None:
    with opened(profile) as seen:
        summary = seen.page.locator("summary").first
        summary.focus()
        seen.page.keyboard.press("Enter")
        assert summary.evaluate("e => e.parentElement.open")
        assert summary.evaluate("e => getComputedStyle(e).outlineStyle") == "solid"
        assert "kWh" in seen.page.locator("details[open] table").inner_text()


def test_a_load_in_the_table_leads_to_its_sources(opened: Open, profile: LoadProfile) -> None:
    with opened(profile) as seen:
        seen.page.get_by_role("link", name="deep-well pump").click()
        details = seen.page.locator("details.load[open]")
        assert "9.8 A × 230 V, an upper bound" in details.inner_text()


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no scripts"])
def test_the_document_can_be_saved(
    opened: Open, profile: LoadProfile, scripts: bool, tmp_path: Path
) -> None:
    with opened(profile, java_script_enabled=scripts) as seen:
        saved = save(seen.page, tmp_path)
    assert saved == profile


def test_a_long_document_can_be_saved_too(
    opened: Open, large_profile: LoadProfile, tmp_path: Path
) -> None:
    with opened(large_profile, PHONE) as seen:
        assert save(seen.page, tmp_path) == large_profile
        assert seen.page.locator("table:visible").first.is_visible()
        rows = seen.page.locator("#loads ~ .body table:visible tbody tr").count()
        assert rows == 40
        seen.page.get_by_text("The other 260 loads", exact=True).click()
        assert seen.page.locator("#loads ~ .body table:visible tbody tr").count() == 300
        assert seen.page.evaluate("document.documentElement.scrollWidth") <= PHONE[0]


def save(page: Any, folder: Path) -> LoadProfile:
    """Clicks the link and reads what was saved."""
    with page.expect_download() as waiting:
        page.locator("#save").click()
    assert waiting.value.suggested_filename == "farmhouse-on-the-ridge-profile.json"
    target = folder / "saved.json"
    waiting.value.save_as(target)
    return LoadProfile.from_json(target.read_text("utf-8"))


def test_dark_is_dark_and_print_is_light(opened: Open, profile: LoadProfile) -> None:
    colour = "e => getComputedStyle(e).backgroundColor"
    fill = "() => getComputedStyle(document.querySelector('.wide text')).fill"
    with opened(profile, scheme="dark") as seen:
        assert seen.page.locator("body").evaluate(colour) == "rgb(25, 23, 19)"
        assert seen.page.evaluate(fill) == "rgb(236, 230, 218)"
        seen.page.emulate_media(media="print", color_scheme="dark")
        assert seen.page.evaluate(fill) == "rgb(34, 32, 28)"
        ink = seen.page.locator("body").evaluate("e => getComputedStyle(e).color")
        assert ink == "rgb(34, 32, 28)"
        assert not seen.page.locator("nav").is_visible()
        assert seen.page.locator(".caution").is_visible()


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_it_prints_on_few_sheets(opened: Open, profile: LoadProfile, paper: str) -> None:
    with opened(profile) as seen:
        pdf = seen.page.pdf(format=paper)
    assert pdf.startswith(b"%PDF")
    assert 3 <= pdf.count(b"/Type /Page\n") <= 8


@pytest.mark.parametrize("paper_px", [(816 - 114, 1056), (794 - 114, 1123)], ids=["Letter", "A4"])
def test_nothing_is_cut_off_on_paper(
    opened: Open, profile: LoadProfile, paper_px: tuple[int, int]
) -> None:
    with opened(profile, paper_px) as seen:
        seen.page.emulate_media(media="print")
        assert seen.page.evaluate("document.documentElement.scrollWidth") <= paper_px[0]
        assert seen.page.locator(".wide svg:visible").count() == 8
