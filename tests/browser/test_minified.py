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

TABS = 6
"""Pages that are open at a time, each twice."""

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
    for names in batched([*of_each_kind.values()], TABS):
        # Half a second without a request is waited for: on all of them at once.
        tabs = {
            (name, folder): browser.new_page(viewport=window)
            for name in names
            for folder in sites.values()
        }
        for (name, folder), page in tabs.items():
            page.goto((folder / "early" / name).as_uri())
        seen = {}
        for key, page in tabs.items():
            page.wait_for_load_state("networkidle")
            seen[key] = page.evaluate(SEEN)
            page.close()
        for name in names:
            files = [folder / "early" / name for folder in sites.values()]
            whole, minified = (file.stat().st_size for file in files)
            assert minified < whole, name
            (words, boxes), (minified_words, minified_boxes) = (
                seen[name, folder] for folder in sites.values()
            )
            assert minified_words == words, name
            assert minified_boxes == boxes, name


def batched(names: list[str], size: int) -> list[list[str]]:
    return [names[i : i + size] for i in range(0, len(names), size)]
