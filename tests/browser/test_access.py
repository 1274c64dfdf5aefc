"""WCAG 2.2 at level AA, as far as a program can tell (axe-core 4), on every kind of page.

axe-core is Deque Systems' (MPL 2.0), as the package `axe-playwright-python` carries it. What it
cannot see is tested here by hand: that all can be done by keyboard, and that the focus shows.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from tests.browser.conftest import PHONE

LEVELS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
OF_COLOUR = {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}
"""axe's rules whose answer depends on the colours of a look; the others are asked by day."""
OTHER_LOOKS: dict[str, dict[str, Any]] = {
    "night": {"color_scheme": "dark"},
    "high contrast": {"color_scheme": "light", "contrast": "more"},
    "high contrast, dark": {"color_scheme": "dark", "contrast": "more"},
}
"""Besides that of the day."""
SHARES = 4
"""The pages are looked at in this many tests, which may run at once."""

OPEN_AND_SHORT = """() => {
  document.querySelectorAll('details').forEach(d => { d.open = true });
  document.querySelectorAll('.block:nth-of-type(n+4)').forEach(e => e.remove());
  const seen = new Map();
  for (const e of document.querySelectorAll('li, tr, .part:not([tabindex="0"])')) {
    const kind = [e, ...e.querySelectorAll('*')]
      .map(o => `${o.tagName} ${o.getAttribute('class')}`).join();
    seen.set(kind, (seen.get(kind) || 0) + 1);
    if (seen.get(kind) > 2) e.remove();
  }
}"""
"""What is folded is looked at too; of lines and parts of one structure and style, two."""


def one_of_each_kind(site: Path) -> list[Path]:
    """The smallest page of each kind, but for failures, of which the demo's first bus is taken."""
    kinds: dict[str, Path] = {"fleet": site / "index.html"}
    for path in sorted((site / "block-1").glob("*.html"), key=lambda p: (p.stat().st_size, p)):
        text = path.read_text(encoding="utf-8")
        kinds.setdefault(re.search(r'<body class="?([\w-]+)', text)[1], path)
    kinds["page-failure"] = site / "block-1" / "failure-forward.html"
    return list(kinds.values())


def is_choice(finding: dict[str, Any], node: dict[str, Any]) -> bool:
    """The buttons of the views come before the strip and the words, so that both follow them."""
    return bool(finding["id"] == "region" and node["target"][0].startswith("#view-"))


def findings(page: Page, rules: object = LEVELS) -> list[str]:
    # To list what passes as well takes axe twice the time.
    options = {"runOnly": rules, "resultTypes": ["violations"], "preload": False}
    found = Axe().run(page, options=options).response["violations"]
    return [
        f"{finding['id']}: {json.dumps(node['target'])} {node.get('failureSummary', '')}"
        for finding in found
        for node in [n for n in finding["nodes"] if not is_choice(finding, n)][:3]
    ]


def findings_in_every_look(page: Page) -> list[str]:
    page.evaluate(OPEN_AND_SHORT)
    found = findings(page)
    for look, media in OTHER_LOOKS.items():
        page.emulate_media(**media)
        found += [f"{look}: {finding}" for finding in findings(page, OF_COLOUR)]
    page.emulate_media(color_scheme="light", contrast="no-preference")
    return found


@pytest.mark.parametrize("share", range(SHARES))
def test_axe_finds_nothing_on_any_kind_of_page(browser: Browser, site: Path, share: int) -> None:
    page = browser.new_page(viewport=PHONE, color_scheme="light", reduced_motion="reduce")
    pages = one_of_each_kind(site)[share::SHARES]
    assert len(pages) >= 5
    found = {}
    for path in pages:
        page.goto(path.as_uri())
        found[path.name] = findings_in_every_look(page)
    assert {name: problems for name, problems in found.items() if problems} == {}
    page.close()


@pytest.fixture
def phone(browser: Browser, site: Path) -> Iterator[Page]:
    page = browser.new_page(viewport=PHONE)
    page.goto((site / "block-1" / "failure-forward.html").as_uri())
    yield page
    page.close()


def test_axe_finds_nothing_in_the_finder_and_the_settings(phone: Page) -> None:
    phone.click(".strip .set")
    assert findings(phone) == []
    phone.keyboard.press("Escape")
    phone.click(".strip .find")
    phone.fill(".find-box input", "left main")
    phone.wait_for_selector(".find-box .results a")
    assert findings(phone) == []


def test_the_finder_goes_by_keyboard_alone(phone: Page) -> None:
    phone.keyboard.press("/")
    phone.wait_for_selector(".find-box[open]")
    phone.keyboard.type("com 1")
    phone.wait_for_selector(".find-box .results li:nth-child(3)")
    focused = "document.activeElement.textContent"
    phone.keyboard.press("ArrowDown")
    first = phone.evaluate(focused)
    phone.keyboard.press("ArrowDown")
    assert phone.evaluate(focused) != first
    phone.keyboard.press("ArrowUp")
    assert phone.evaluate(focused) == first
    phone.keyboard.press("ArrowUp")
    assert phone.evaluate("document.activeElement.tagName") == "INPUT"
    phone.keyboard.press("Escape")
    assert phone.locator(".find-box[open]").count() == 0
    # The key opens it again once the field that was closed has let go of the focus.
    phone.wait_for_function("() => !document.activeElement.closest('dialog')")
    phone.keyboard.press("/")
    phone.wait_for_selector(".find-box[open] .results li:nth-child(3)")
    phone.keyboard.press("ArrowDown")
    phone.keyboard.press("Enter")
    phone.wait_for_url("**/equipment-com-1.html*")


def test_the_key_that_opens_the_finder_can_be_taken_off(phone: Page) -> None:
    """WCAG 2.1.4: a shortcut of one character can be turned off."""
    phone.click(".strip .set")
    phone.evaluate("document.querySelector('input[name=slash][value=off]').click()")
    phone.keyboard.press("Escape")
    phone.keyboard.press("/")
    phone.wait_for_timeout(100)
    assert phone.locator(".find-box[open]").count() == 0


def test_a_walk_with_the_tab_key_reaches_everything_and_its_focus_shows(phone: Page) -> None:
    phone.evaluate("document.querySelectorAll('main details').forEach(d => { d.open = true })")
    reachable = phone.evaluate(
        """() => [...document.querySelectorAll(
          'a[href], button, input, summary, [tabindex="0"]')]
        .filter(e => e.checkVisibility({visibilityProperty: true}) && e.tabIndex >= 0).length"""
    )
    assert reachable > 100
    seen, unseen = set(), []
    for _ in range(120):
        phone.keyboard.press("Tab")
        number, shows, what = phone.evaluate(
            """() => {
              const e = document.activeElement;
              window.walked = window.walked || [];
              if (!walked.includes(e)) walked.push(e);
              // A view's button is out of sight; its label shows the focus.
              const label = e.matches('input.view, input.zoom') &&
                [...document.querySelectorAll(`label[for=${e.id}]`)].find(l => l.checkVisibility());
              const style = getComputedStyle(label || e);
              const drawn = style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2;
              const what = e.tagName + ' ' + e.id + ' ' + e.textContent.trim();
              return [walked.indexOf(e), drawn, what];
            }"""
        )
        seen.add(number)
        if not shows:
            unseen.append(what)
    # Of a drawing one part is a stop: the arrow keys lead to the others.
    assert len(seen) > 110
    assert unseen == []
