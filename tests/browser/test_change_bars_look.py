"""Change bars as they are drawn: in the right margin of what changed, within the window."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from sitegen.output.site import build_site
from tests.browser.conftest import DESK, PHONE
from tests.browser.test_access import findings_in_every_look
from tests.pages.pages_sample import reading, sample
from tests.pages.test_change_bars import rewired

BARS = """() => [...document.querySelectorAll('*')].flatMap(e => {
  const box = e.getBoundingClientRect(), own = e.classList.contains('change-bar');
  const drawn = getComputedStyle(e, own ? null : '::before');
  const isBar = drawn.position === 'absolute' && drawn.borderRightWidth === '5px';
  if (!isBar || drawn.display === 'none' || !box.height) return [];
  const line = own ? e.parentElement : e;
  const right = own ? box.right : box.right - parseFloat(drawn.right);
  return [{ name: line.textContent.trim().slice(0, 40), right }];
})"""
"""Every element that has a bar: how it begins, and where the bar's right edge is."""


@pytest.fixture(scope="module")
def revised(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("revised")
    for path, content in build_site(reading(rewired()), since=reading(sample())).files:
        file = folder / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content if isinstance(content, bytes) else content.encode())
    return folder / "early"


@pytest.mark.parametrize("window", [PHONE, DESK], ids=["phone", "desk"])
def test_bars_are_in_the_margin_within_the_window(
    browser: Browser, revised: Path, window: Any
) -> None:
    page = browser.new_page(viewport=window)
    for name, marked in (
        ("failure-essential.html", "Clock"),
        ("equipment-clock.html", "CLOCK"),
        ("failures.html", "Essential bus"),
        ("handout.html", "Essential bus dead"),
    ):
        page.goto((revised / name).as_uri())
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")
        bars = page.evaluate(BARS)
        assert any(marked in bar["name"] for bar in bars), name
        assert all(bar["right"] <= window["width"] for bar in bars), name
        assert page.evaluate("document.documentElement.scrollWidth") <= window["width"]
    page.close()


def test_a_folded_list_has_the_bar_of_what_is_in_it(browser: Browser, revised: Path) -> None:
    page = browser.new_page(viewport=PHONE)
    page.goto((revised / "equipment-clock.html").as_uri())
    folded = [bar["name"] for bar in page.evaluate(BARS)]
    assert any("What alone can take it" in name for name in folded)
    page.close()


def test_axe_finds_nothing_on_the_page_of_changes(browser: Browser, revised: Path) -> None:
    page = browser.new_page(viewport=PHONE, color_scheme="light", reduced_motion="reduce")
    page.goto((revised / "changes.html").as_uri())
    assert findings_in_every_look(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.close()
