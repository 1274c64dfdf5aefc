"""A published page, without the quotes and end tags that HTML does not need, is the same page."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from sitegen.output.site import build_site
from sitegen.quiz.paper_pages import PRACTISE_PAGE
from tests.browser.conftest import DESK, PHONE
from tests.output.test_site import NOTES
from tests.pages.pages_sample import reading, sample

SEEN = """() => {
  document.querySelectorAll('details').forEach(d => { d.open = true; });
  const place = b => [b.x, b.y, b.width, b.height].join(' ');
  const boxes = [...document.body.querySelectorAll('*')].map(e => {
    const inline = getComputedStyle(e).display === 'inline' && e.namespaceURI.endsWith('xhtml');
    return [e.localName, e.id, [...e.classList].sort().join(' '),
      inline ? '' : place(e.getBoundingClientRect())].join(' ');
  });
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const range = document.createRange();
  while (walker.nextNode()) {
    range.selectNodeContents(walker.currentNode);
    const {data, parentNode} = walker.currentNode;
    const box = range.getBoundingClientRect();
    if (data.trim()) boxes.push(parentNode.localName + ' text ' + place(box));
  }
  return [document.body.innerText, boxes];
}"""
"""What a page says, and the place and size of every element and of every text.

The box of an inline element is left out: Chromium may answer with its own or with that of its
children, whichever it has kept. Its text has a place instead.
"""


@pytest.fixture(scope="module")
def sites(tmp_path_factory: pytest.TempPathFactory) -> dict[bool, Path]:
    """The same site twice: as its source is read, and minified."""
    folders = {}
    for smallest in (False, True):
        folder = folders[smallest] = tmp_path_factory.mktemp("site")
        catalogue = reading(sample(), NOTES)
        for path, content in build_site(catalogue, more=[PRACTISE_PAGE], smallest=smallest).files:
            file = folder / path
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(content if isinstance(content, bytes) else content.encode())
    return folders


@pytest.mark.parametrize("window", [PHONE, DESK], ids=["phone", "desk"])
def test_a_minified_page_says_the_same_in_the_same_places(
    browser: Browser, sites: dict[bool, Path], window: Any
) -> None:
    pages = sorted((sites[False] / "early").glob("*.html"))
    of_each_kind = {page.name.split("-")[0].split(".")[0]: page.name for page in pages}
    assert len(of_each_kind) > 20
    page = browser.new_page(viewport=window)
    for name in of_each_kind.values():
        seen, sizes = [], []
        for folder in sites.values():
            file = folder / "early" / name
            page.goto(file.as_uri())
            page.wait_for_load_state("networkidle")
            seen.append(page.evaluate(SEEN))
            sizes.append(file.stat().st_size)
        assert sizes[1] < sizes[0], name
        (words, boxes), (minified_words, minified_boxes) = seen
        assert minified_words == words, name
        assert minified_boxes == boxes, name
    page.close()
