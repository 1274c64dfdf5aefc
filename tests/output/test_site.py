"""The site as a whole: its files, its links, its caution."""

from __future__ import annotations

import os
import re
from html.parser import HTMLParser
from pathlib import PurePosixPath
from urllib.parse import urlsplit

import pytest

from sitegen.output.site import build_site
from tests.pages.pages_sample import reading, sample

NOTES = {"fuel": "# Fuel notes\n\nThe [left bus](bus-left.html) first."}


def site(**changes: object) -> dict[str, str]:
    """The sample's site: text by path."""
    files = build_site(reading({**sample(), **changes}, NOTES)).files
    return {p: c if isinstance(c, str) else c.decode(errors="replace") for p, c in files}


@pytest.fixture(scope="module")
def published() -> dict[str, str]:
    return site()


class Page(HTMLParser):
    """A page's links, ids and elements."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.ids: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        self.tags.append((tag, found))
        for name in ("href", "src"):
            if found.get(name):
                self.links.append(found[name] or "")
        if found.get("id"):
            self.ids.append(found["id"] or "")


def test_as_many_files_come_out_as_were_announced() -> None:
    planned = build_site(reading(sample(), NOTES))
    assert len(list(planned.files)) == planned.count


def test_every_component_and_every_item_has_its_page(published: dict[str, str]) -> None:
    expected = {
        "early/failure-gen-1.html",
        "early/failure-left.html",
        "early/failure-k-battery.html",
        "early/named-failure-both.html",
        "early/bus-hot.html",
        "early/equipment-clock.html",
        "early/a-to-z.html",
        "early/search.js",
        "early/notes.html",
        "early/note-fuel.html",
        "early/index.html",
        "index.html",
        "style.css",
        "site.js",
    }
    assert expected <= set(published)


def test_what_is_not_fitted_has_no_page(published: dict[str, str]) -> None:
    assert "late/equipment-late-lamp.html" in published
    assert "early/equipment-late-lamp.html" not in published
    assert "Reading lamp" not in published["early/failure-right.html"]
    assert "Reading lamp" in published["late/failure-right.html"]


def test_every_link_leads_to_a_file_and_a_place_of_the_site(published: dict[str, str]) -> None:
    pages = {path: Page(text) for path, text in published.items() if path.endswith(".html")}
    for path, page in pages.items():
        for link in page.links:
            parts = urlsplit(link)
            if parts.scheme == "data":
                continue
            assert not parts.scheme, f"{path} leads out: {link}"
            assert not parts.netloc, f"{path} leads out: {link}"
            there = path
            if parts.path:
                joined = PurePosixPath(path).parent / parts.path
                there = os.path.normpath(joined).replace(os.sep, "/")
            assert there in published, f"{path}: {link}"
            if there.endswith("/board.html") and parts.fragment:
                # What the board is set to: its condition and failures are of this airframe.
                wiring = published[there.replace("board.html", "live.js")]
                for name in re.findall(r"[=,]([a-z0-9.-]+)", parts.fragment):
                    assert f'"id":"{name}"' in wiring, f"{path}: {link}"
            elif parts.fragment and there in pages:
                assert parts.fragment in pages[there].ids, f"{path}: {link}"


def test_no_id_stands_twice_on_a_page(published: dict[str, str]) -> None:
    for path, text in published.items():
        if path.endswith(".html"):
            ids = Page(text).ids
            assert len(ids) == len(set(ids)), path


def test_every_page_says_that_the_manuals_come_first_and_names_its_revision(
    published: dict[str, str],
) -> None:
    for path, text in published.items():
        if path.endswith(".html"):
            assert "approved manuals" in text, path
            assert "licensed" in text, path
            assert "revision 2 of 1 Mar 2026" in text, path


def test_a_page_leads_to_its_like_on_the_other_airframe_only_where_that_is_fitted(
    published: dict[str, str],
) -> None:
    assert "../early/bus-left.html" in published["late/bus-left.html"]
    assert "../early/" not in published["late/equipment-late-lamp.html"]


def test_named_failures_and_components_of_one_id_have_two_pages() -> None:
    failures = [{"id": "left", "name": "Left side lost", "failed": ["left"]}]
    found = site(failures=failures)
    assert "Left side lost" in found["early/named-failure-left.html"]
    assert "Left bus" in found["early/failure-left.html"]


def test_one_airframe_needs_no_way_to_others() -> None:
    catalogue = sample()
    del catalogue["airframes"]
    catalogue["equipment"] = [e for e in catalogue["equipment"] if "fitted-to" not in e]
    found = {p for p, _ in build_site(reading(catalogue)).files}
    assert "index.html" in found
    assert "all/index.html" in found
    assert not any(p.endswith("notes.html") for p in found)
