"""The demo's pages in a real browser: nothing sticks out, nothing is fetched, nothing fails."""

from __future__ import annotations

import re
from dataclasses import dataclass
from html import unescape
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page, Request

from tests.browser.conftest import DESK, PHONE, choose
from tests.pages.as_written import as_written


def a_few_of_each_kind(site: Path) -> list[Path]:
    """The front pages, and of every kind of page the smallest and the largest."""
    kinds: dict[str, list[Path]] = {}
    for page in sorted(site.rglob("*.html")):
        kinds.setdefault(page.name.split("-")[0], []).append(page)
    chosen: dict[Path, None] = {}
    for pages in kinds.values():
        by_size = sorted(pages, key=lambda p: (p.stat().st_size, p))
        chosen.update(dict.fromkeys([by_size[0], by_size[-1]]))
    return list(chosen)


def open_page(browser: Browser, size: dict[str, int], path: Path) -> tuple[Page, list[str]]:
    complaints: list[str] = []

    def on_request(request: Request) -> None:
        if not request.url.startswith(("file://", "data:")):
            complaints.append(f"asked for {request.url}")

    def on_console(message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            complaints.append(f"console: {message.text}")

    page = browser.new_page(viewport={"width": size["width"], "height": size["height"]})
    page.on("request", on_request)
    page.on("console", on_console)
    page.on("pageerror", lambda error: complaints.append(f"script: {error}"))
    page.on("requestfailed", lambda r: complaints.append(f"not found: {r.url}"))
    page.goto(path.as_uri())
    return page, complaints


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_no_page_scrolls_sideways_or_asks_or_complains(
    browser: Browser, site: Path, size: dict[str, int]
) -> None:
    page, complaints = open_page(browser, size, site / "index.html")
    for path in a_few_of_each_kind(site):
        page.goto(path.as_uri())
        wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert wide <= 0, f"{path.name} is {wide} px too wide at {size['width']} px"
        assert complaints == [], path.name
    page.close()


IDS = re.compile(r"""<[^<>]*?\sid=["']?([^"'\s>]+)""")
TARGETS = re.compile(r"""\s(?:href|src)=["']?([^"'\s>]+)""")
"""In the site's own HTML, which has no spaces in its addresses."""


@dataclass(frozen=True)
class Links:
    ids: frozenset[str]
    targets: frozenset[str]


def links_of(page: Path) -> Links:
    html = page.read_text(encoding="utf-8")
    targets = frozenset(unescape(target) for target in TARGETS.findall(html))
    return Links(frozenset(IDS.findall(html)), targets)


def test_every_link_of_every_page_resolves(site: Path) -> None:
    read = {page: links_of(page) for page in sorted(site.rglob("*.html"))}
    assert len(read) > 100
    broken = []
    for page, links in read.items():
        for target in links.targets:
            parts = urlsplit(target)
            if parts.scheme == "data":
                continue
            assert not parts.scheme, f"{page.name} points outside: {target}"
            there = (page.parent / unquote(parts.path)).resolve() if parts.path else page
            if not there.is_file():
                broken.append(f"{page.name}: {target}")
            elif "=" in parts.fragment:
                continue  # a state of the page, which its script reads
            elif parts.fragment and there in read and parts.fragment not in read[there].ids:
                broken.append(f"{page.name}: {target} (no such place)")
    assert broken == []


def test_every_page_has_the_caution_and_the_revision(site: Path) -> None:
    for page in sorted(site.rglob("*.html")):
        words = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.read_text(encoding="utf-8")))
        assert "approved manuals" in words, page.name
        assert "licensed" in words, page.name
        assert re.search(r"[Rr]evision", words), page.name


def test_a_chosen_view_shows_its_own_things_alone_on_every_kind_of_page(
    browser: Browser, site: Path
) -> None:
    kinds: dict[str, Path] = {}
    for path in sorted((site / "block-2").glob("*.html")):
        kinds.setdefault(path.stem.partition("-")[0], path)
    page = browser.new_page()
    seen = 0
    for path in kinds.values():
        page.goto(path.as_uri())
        views = page.locator("input.view").count()
        if views < 2 or not page.locator("body .v").count():
            continue
        seen += 1
        for k in (0, 1, views - 1):
            shown = page.evaluate(
                """k => {
                  document.getElementById(`view-${k}`).checked = true;
                  const strangers = document.querySelectorAll(`body .v:not(.v${k})`);
                  return [...strangers].filter(e => e.checkVisibility()).map(e => e.outerHTML);
                }""",
                k,
            )
            assert shown == [], f"{path.name}, view {k}"
    assert seen >= 6
    page.close()


def chosen(page: Page) -> str:
    """The view that a page shows."""
    return str(page.locator("input.view:checked").get_attribute("id"))


def test_the_chosen_condition_stays_from_page_to_page(browser: Browser, site: Path) -> None:
    page, complaints = open_page(browser, PHONE, site / "block-1" / "index.html")
    choose(page, 3)
    page.locator("a[href^=failures]:visible").first.click()
    page.wait_for_url("**/failures.html#view-3")
    assert chosen(page) == "view-3"
    page.locator("a[href^=failure-forward]:visible").first.click()
    page.wait_for_url("**/failure-forward.html#view-3")
    assert chosen(page) == "view-3"
    # The bus shorted, in the second condition: of another page it is the condition that stays.
    choose(page, 7)
    page.locator(".jumps a", has_text="Lost").click()
    page.locator("#lost details.chapter:visible > summary").first.click()
    page.locator("#lost .rows a:visible").first.click()
    page.wait_for_url("**/equipment-*.html#view-1")
    assert chosen(page) == "view-1"
    # A page without views keeps it; back shows what was chosen; the first has no address.
    page.locator(".strip .find").click()
    page.locator(".find-box a", has_text="A to Z").click()
    page.wait_for_url("**/a-to-z.html#view-1")
    assert page.locator("input.view").count() == 0
    page.locator(".whose a[href^=index]").click()
    page.wait_for_url("**/index.html#view-1")
    assert chosen(page) == "view-1"
    page.go_back()
    page.go_back()
    assert chosen(page) == "view-1"
    choose(page, 0)
    page.locator(".whose a[href^=index]").click()
    page.wait_for_url("**/index.html")
    assert chosen(page) == "view-0"
    # Another airframe may have other conditions: there the one of this name is chosen.
    choose(page, 2)
    name = page.locator(".conditions > summary").inner_text()
    page.locator(".others a").first.click()
    page.wait_for_url("**/block-2/**")
    assert page.locator(".conditions > summary").inner_text() == name
    assert complaints == []


def test_every_page_has_the_conditions_in_one_order(site: Path) -> None:
    names: dict[int, set[str]] = {}
    label = re.compile(
        r'<label(?: for="view-(\d+)")[^>]*><span(?: class="condition")?>([^<]*)</span>'
    )
    for path in a_few_of_each_kind(site):
        if path.parent.name != "block-1" or path.name.startswith("blank"):
            continue
        text = as_written(path.read_text(encoding="utf-8"))
        # The first row of the menu: the conditions of the first mode or stage.
        row = re.search(r'<div class="menu-row[^"]*">(.*?)</div>', text, re.S)
        for number, name in label.findall(row[1] if row else ""):
            names.setdefault(int(number), set()).add(name)
    assert sorted(names) == [0, 1, 2, 3, 4, 5]
    assert all(len(found) == 1 for found in names.values()), names
