"""The pocket edition: one file, opened from a folder, that holds all of an airframe."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import PHONE, choose
from tests.browser.test_published_site import links_of
from tests.samples import stratified

HEAVIEST = 800_000
"""Bytes."""


@pytest.fixture
def phone(browser: Browser, pocket: Path) -> Iterator[Page]:
    page = browser.new_page(viewport={"width": PHONE["width"], "height": PHONE["height"]})
    complaints: list[str] = []
    page.on("console", lambda m: complaints.append(m.text))
    page.on("pageerror", lambda e: complaints.append(str(e)))
    page.on("request", lambda r: complaints.append(r.url) if r.url != pocket.as_uri() else None)
    page.goto(pocket.as_uri())
    page.wait_for_selector(".page-front")
    yield page
    asked = [c for c in complaints if not c.startswith((f"{pocket.as_uri()}#", "data:", "blob:"))]
    assert asked == []
    page.close()


def test_it_is_light_enough_for_a_mail(pocket: Path) -> None:
    assert pocket.stat().st_size < HEAVIEST


def test_it_names_nothing_outside_itself(pocket: Path) -> None:
    text = pocket.read_text(encoding="utf-8")
    assert not re.findall(r"<link[^>]*stylesheet|<script[^>]*src|@import|https?://", text)


def test_every_page_is_in_it_letter_for_letter(phone: Page, site: Path) -> None:
    """Put together again, each page is what publish writes, but for the other airframes' pages.

    The pocket edition was made with another locale, time zone, order of hashes and of files.
    """
    folder = site / "block-1"
    looked_at = 0
    for path in sorted(p for p in folder.iterdir() if p.name != "files.json"):
        here = path.read_text(encoding="utf-8")
        inside = phone.evaluate("name => site.file(name)", path.name)
        without = re.compile(
            r"<p class=(?:others|not-the-same)>(?:(?!<(?:/div|section)).)*", re.DOTALL
        )
        # What only another airframe has is named, and has its page on the site alone.
        there = re.compile(r"<a href=\.\./block-[^>]*>([^<]*)</a>")
        assert without.sub("", inside) == there.sub(r"\1", without.sub("", here)), path.name
        looked_at += 1
    assert looked_at > 300


def test_every_link_of_every_page_leads_to_a_page_and_place_inside(phone: Page, site: Path) -> None:
    """Of the pages that are opened; where their links lead is read from all pages."""
    pages = sorted((site / "block-1").glob("*.html"))
    opened = stratified(pages, lambda p: p.name.partition("-")[0], len(pages), seed=6)
    found = phone.evaluate(
        """async names => {
          const links = {}, dead = [];
          for (const name of names) {
            const old = document.body.firstElementChild;
            location.hash = '#' + name;
            while (old.isConnected) await new Promise(done => setTimeout(done, 1));
            links[name] = [...document.querySelectorAll('a[href]')]
              .map(a => a.getAttribute('href')).filter(h => !/^(https|data):/.test(h));
            dead.push(...[...document.querySelectorAll('a[title="Not in this file"]')]
              .map(a => name + ': ' + a.textContent));
          }
          return { links, dead };
        }""",
        [path.name for path in opened],
    )
    assert found["dead"] == []
    # The settings are taken from the page by the script that puts them into a box.
    places = {path.name: {*links_of(path).ids, "", "settings"} for path in pages}
    broken = [
        f"{name}: {link}"
        for name, links in found["links"].items()
        for link in links
        # A fragment with `=` is a state of the page, which its script reads.
        if "=" not in link
        and link.removeprefix("#").partition("/")[2]
        not in places.get(link.removeprefix("#").partition("/")[0], ())
    ]
    assert broken == []
    assert len(pages) > 300
    assert len(found["links"]) > 50


def to_the_forward_bus(page: Page) -> None:
    page.click(".page-links a:has-text('What do I lose?')")
    page.click("#dead-buses a:has-text('Forward bus')")
    page.wait_for_selector(".page-failure")


def test_views_the_back_button_and_places_work(phone: Page) -> None:
    to_the_forward_bus(phone)
    assert phone.url.endswith("#failure-forward.html")
    assert phone.title().startswith("Forward bus")
    at_first = phone.inner_text("#answer")
    choose(phone, 2)
    assert phone.url.endswith("#failure-forward.html/view-2")
    assert phone.inner_text("#answer") != at_first
    chosen = phone.inner_text("#answer")
    phone.click(".jumps a:has-text('Lost')")
    for chapter in phone.locator("#lost details.chapter:visible > summary").all():
        chapter.click()
    item = phone.locator("#lost a.item:visible").nth(12)
    item.scroll_into_view_if_needed()
    phone.wait_for_timeout(100)
    down = phone.evaluate("scrollY")
    assert down > 300
    item.click()
    phone.wait_for_selector(".page-equipment")
    # The condition stays: here the third.
    assert phone.url.endswith(".html/view-2")
    assert phone.locator("input.view:checked").get_attribute("id") == "view-2"
    assert phone.evaluate("scrollY") == 0
    assert phone.evaluate("document.activeElement.tagName") == "H1"
    phone.go_back()
    phone.wait_for_selector(".page-failure")
    assert phone.inner_text("#answer") == chosen
    phone.wait_for_function(f"Math.abs(scrollY - {down}) < 60")
    phone.click(".jumps a:has-text('Drawing')")
    assert phone.url.endswith("#failure-forward.html/drawing")
    phone.wait_for_function(
        "Math.abs(document.getElementById('drawing').getBoundingClientRect().top) < 200"
    )
    for _ in ("from the drawing", "from the list of what is lost", "from the page"):
        phone.go_back()
    phone.wait_for_selector(".page-list")
    phone.go_back()
    phone.wait_for_selector(".page-front")


def test_an_address_of_one_page_and_place_opens_there(phone: Page, pocket: Path) -> None:
    phone.goto("about:blank")
    phone.goto(f"{pocket.as_uri()}#a-to-z.html/at-battery-master")
    phone.wait_for_selector(".page-a-to-z")
    box = phone.locator("#at-battery-master").bounding_box()
    assert box
    assert 0 < box["y"] < PHONE["height"]


def test_a_page_s_own_scripts_begin_with_it_and_end_with_it(phone: Page) -> None:
    phone.evaluate("location.hash = '#overview.html'")
    phone.wait_for_selector(".page-drawing .tools")
    phone.evaluate(
        "document.querySelector('[data-part=forward]').dispatchEvent("
        "new MouseEvent('click', { bubbles: true, cancelable: true }))"
    )
    phone.wait_for_selector(".part-card")
    assert "58" in phone.inner_text(".part-card") or "items" in phone.inner_text(".part-card")
    phone.click(".part-card a:has-text('If it fails')")
    phone.wait_for_selector(".page-failure")
    assert phone.url.endswith("#failure-forward.html")
    assert phone.locator(".part-card").count() == 0
    phone.evaluate("location.hash = '#practise.html'")
    phone.wait_for_selector(".page-practise .score")
    phone.evaluate("location.hash = '#handout.html'")
    phone.wait_for_selector("h1:has-text('handout')")
    on = "[...document.querySelectorAll('style[data-name]')].filter(s => s.media !== 'not all')"
    assert "handout.css" in phone.evaluate(f"{on}.map(s => s.dataset.name)")
    phone.evaluate("location.hash = '#index.html'")
    phone.wait_for_selector(".page-front")
    assert "handout.css" not in phone.evaluate(f"{on}.map(s => s.dataset.name)")


def test_the_drawing_lives_on_every_page_under_the_content_security_policy(phone: Page) -> None:
    phone.evaluate(
        "window.reports = []; addEventListener('securitypolicyviolation',"
        " e => reports.push(`${e.violatedDirective} ${e.sample}`))"
    )
    painted = (
        "[...document.querySelectorAll('svg.diagram [data-part=forward]')]"
        ".map(e => [...e.classList].filter(c => c.startsWith('state-')).join(' '))"
    )
    for address, state in (
        ("failure-forward.html", "state-failed"),
        ("bus-forward.html/view-4", "state-battery"),
        # The condition stays until another is chosen.
        ("failure-gen-1.html", "state-battery"),
        ("failure-gen-1.html/view-0", "state-live"),
        ("failure-forward.html", "state-failed"),
    ):
        phone.evaluate("address => { location.hash = '#' + address; }", address)
        page = address.split("/")[0].partition("-")[0]
        phone.wait_for_selector(f".page-{page} svg.diagram")
        assert phone.evaluate(painted) == [state], address
    assert phone.evaluate("reports") == []


def test_search_works_inside(phone: Page) -> None:
    to_the_forward_bus(phone)
    phone.click(".strip .find")
    phone.fill(".find-box input", "wall right b7")
    phone.wait_for_selector(".find-box .results a:has-text('ICE DET')")
    phone.keyboard.press("Enter")
    phone.wait_for_selector("h1:has-text('Right side wall panel')")
    assert phone.locator("dialog[open]").count() == 0
    phone.keyboard.press("/")
    phone.fill(".find-box input", "essential bus")
    phone.keyboard.press("Enter")
    phone.wait_for_selector("h1:has-text('Essential bus')")


def test_the_load_table_can_be_saved(phone: Page, site: Path) -> None:
    phone.evaluate("location.hash = '#loads.html'")
    phone.wait_for_selector(".page-load")
    with phone.expect_download() as download:
        phone.click("a[download]")
    assert download.value.suggested_filename == "loads.csv"
    saved = Path(download.value.path()).read_text(encoding="utf-8")
    assert saved == (site / "block-1" / "loads.csv").read_text(encoding="utf-8")


def test_without_scripts_the_list_is_there_and_says_what_is_needed(
    browser: Browser, pocket: Path
) -> None:
    context = browser.new_context(java_script_enabled=False, viewport=PHONE)
    page = context.new_page()
    page.goto(pocket.as_uri())
    assert page.locator("noscript .warning").is_visible()
    assert not page.locator(".opening").is_visible()
    text = page.locator(".index .rows > li:has(b:text-is('ICE DET'))").inner_text()
    assert "Right side wall panel B7" in text
    assert "on Right wall bus" in text
    assert "approved manuals" in page.inner_text("footer")
    context.close()


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        ("delete window.DecompressionStream", "This browser is too old"),
        ("window.atob = () => 'nothing of the kind'", "may be cut short"),
    ],
    ids=["an old browser", "a file cut short"],
)
def test_what_cannot_be_opened_is_said_and_the_list_stays(
    browser: Browser, pocket: Path, spoil: str, says: str
) -> None:
    page = browser.new_page(viewport=PHONE)
    page.add_init_script(spoil)
    page.goto(pocket.as_uri())
    page.wait_for_selector(f".warning:has-text('{says}')")
    assert page.locator(".index .rows > li").first.is_visible()
    page.close()
