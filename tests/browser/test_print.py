"""Every kind of page on paper: nothing cut or over anything, whatever was done on the screen."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page
from pypdf import PdfReader

from tests.browser.conftest import DESK, PHONE
from tests.browser.test_published_site import a_few_of_each_kind

PAPER = {"width": 703, "height": 1032}
"""An A4 page within margins of 12 mm, at 96 pixels an inch."""

OVER_EDGES = """() => {
  const found = [];
  const wide = document.documentElement.scrollWidth - document.documentElement.clientWidth;
  if (wide > 1) found.push('the page is ' + wide + ' px too wide');
  for (const picture of document.querySelectorAll('.picture')) {
    const box = picture.getBoundingClientRect();
    if (!box.height) continue;
    const drawn = picture.querySelector('svg.diagram').getBoundingClientRect();
    const below = picture.querySelector('figcaption')?.getBoundingClientRect();
    if (drawn.right > box.right + 1 || drawn.left < box.left - 1) found.push('a drawing is cut');
    if (below && below.height && drawn.bottom > below.top + 1) found.push('the legend is over it');
    if (drawn.height > innerHeight) found.push('a drawing is higher than the paper');
  }
  return found;
}"""


def zoomed(page: Page) -> None:
    """As somebody leaves a page who has looked closely at its drawing."""
    for button in page.locator(".tools button:nth-child(2):visible").all():
        for _ in range(4):
            button.click()


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_nothing_is_cut_or_over_anything_on_paper(
    browser: Browser, site: Path, size: dict[str, int]
) -> None:
    page = browser.new_page()
    for path in a_few_of_each_kind(site):
        if path.name.startswith("handout"):
            continue  # pages of its own size: test_handout_pdf
        page.emulate_media(media="screen")
        page.set_viewport_size({"width": size["width"], "height": size["height"]})
        page.goto(path.as_uri())
        zoomed(page)
        page.emulate_media(media="print")
        page.set_viewport_size({"width": PAPER["width"], "height": PAPER["height"]})
        assert page.evaluate(OVER_EDGES) == [], path.name
    page.close()


@pytest.mark.parametrize("name", ["failure-forward", "named-failure-both-generators", "overview"])
def test_the_drawing_has_one_sheet_to_itself_and_no_sheet_is_empty(
    browser: Browser, site: Path, name: str
) -> None:
    page = browser.new_page(viewport={"width": DESK["width"], "height": DESK["height"]})
    page.goto((site / "block-1" / f"{name}.html").as_uri())
    zoomed(page)
    sheets = PdfReader(io.BytesIO(page.pdf(format="A4"))).pages
    page.close()
    texts = [" ".join(sheet.extract_text().split()) for sheet in sheets]
    assert all(texts)
    drawn = [n for n, sheet in enumerate(sheets) if sheet.mediabox.width > sheet.mediabox.height]
    assert len(drawn) == 1
    # All of it is there: a bus at the top, one at the bottom, and the legend.
    for word in ("Generator 1", "Forward bus", "26 V AC bus", "Fuse link"):
        assert word in texts[drawn[0]], word
