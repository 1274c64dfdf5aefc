"""A real Chromium, one for each process of a run.

Debian's build without windows has the same engine: a new page takes a third of the time there.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from tests.conftest import Once
from tests.output.test_site_bytes import write_demo_s_pocket_edition

PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 800}
PROGRAMS = ("chromium-headless-shell", "chromium", "google-chrome")


def chromium_path() -> str | None:
    """Where the browser is, if it is installed."""
    return os.environ.get("CHROMIUM") or next(filter(None, map(shutil.which, PROGRAMS)), None)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    chromium = chromium_path()
    if not chromium:
        pytest.fail("no Chromium on this machine: tests/run installs it, or name it with CHROMIUM")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(
            executable_path=chromium,
            args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"],
        )
        yield started
        started.close()


@pytest.fixture(scope="session")
def pocket(once: Once, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The pocket edition, alone in its folder, so that it can lean on nothing."""

    def publish_alone(folder: Path) -> None:
        folder.mkdir()
        write_demo_s_pocket_edition(folder / "tarn.html", tmp_path_factory.mktemp("elsewhere"))

    folder = once("pocket", publish_alone)
    assert [p.name for p in folder.iterdir()] == ["tarn.html"]
    return folder / "tarn.html"


@contextmanager
def phone_without_complaints(browser: Browser) -> Iterator[Page]:
    """A page on a phone; at the end no script may have failed or written to the console."""
    page = browser.new_page(viewport={"width": PHONE["width"], "height": PHONE["height"]})
    complaints: list[str] = []
    page.on("console", lambda m: complaints.append(m.text))
    page.on("pageerror", lambda e: complaints.append(str(e)))
    yield page
    assert complaints == []
    page.close()


def open_menu(page: Page) -> None:
    """On a phone the conditions are folded; at a desk they are buttons in the strip."""
    summary = page.locator(".conditions > summary:visible")
    if summary.count() and not page.locator(".menu label:visible").count():
        summary.click()


def choose(page: Page, view: int) -> None:
    """Choose a view as a reader does: its mode or stage, then its condition in the strip."""
    conditions = page.locator(".menu-row").first.locator("label").count()
    now = int((page.locator("input.view:checked").get_attribute("id") or "")[5:])
    if view // conditions != now // conditions:
        now = view // conditions * conditions + now % conditions
        page.locator(f".modes label[for=view-{now}]:visible").click()
    if view != now:
        open_menu(page)
        page.locator(f".menu label[for=view-{view}]:visible").click()
        # Without scripts the menu stays open.
        summary = page.locator(".conditions[open] > summary:visible")
        if summary.count():
            summary.click()


def add_style(page: Page, rules: str) -> None:
    """Further rules of style, as a script may add them under the page's security policy."""
    page.evaluate(
        "rules => { const sheet = new CSSStyleSheet(); sheet.replaceSync(rules);"
        " document.adoptedStyleSheets.push(sheet); }",
        rules,
    )
