"""Names and texts that would be dangerous in a page come out as the letters they are."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import Any

import pytest

from sitegen.output.site import build_site
from sitegen.pages.author_text import prose
from tests.pages.pages_sample import reading, sample

HOSTILE = "</script><script>alert(1)</script><img src=x onerror=alert(1)>\"'`&amp;{{7*7}}"


def spoilt(value: Any) -> Any:
    """The same catalogue with every name and every text hostile."""
    texts = ("name", "title", "statement", "note", "on-loss", "reference", "where", "revision")
    if isinstance(value, dict):
        return {
            k: HOSTILE if k in texts and isinstance(v, str) else spoilt(v) for k, v in value.items()
        }
    return [spoilt(v) for v in value] if isinstance(value, list) else value


class Elements(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))


def test_hostile_names_and_texts_are_only_letters_on_every_page() -> None:
    catalogue = spoilt(sample())
    for item in catalogue["equipment"]:
        item["on-loss"] = item["note"] = item["reference"] = HOSTILE
    files = build_site(reading(catalogue, {"fuel": f"# {HOSTILE}\n\n{HOSTILE}"})).files
    looked_at = 0
    for path, content in files:
        if not path.endswith(".html"):
            continue
        looked_at += 1
        assert isinstance(content, str)
        forms = 0
        for tag, attributes in Elements(content).found:
            assert tag not in ("iframe", "object", "embed"), path
            still = (attributes.get("src") or "").startswith("drawing.svg#")
            assert tag != "img" or (still and path.endswith("/overview.html")), path
            assert not [a for a in attributes if a.startswith("on")], path
            # No script but the site's own files, and no form but the finder of the front page.
            assert tag != "script" or "src" in attributes, path
            forms += tag == "form"
        assert forms == (path.count("/") == 1 and path.endswith("/index.html")), path
        assert "49" not in re.findall(r"&amp;(\d+)", content)
    assert looked_at > 50


@pytest.mark.parametrize("name", ["search.js", "live.js"])
def test_hostile_names_cannot_end_a_script_of_data(name: str) -> None:
    files = dict(build_site(reading(spoilt(sample()))).files)
    script = files[f"early/{name}"]
    assert isinstance(script, str)
    assert "alert(1)" in script
    # What may end the text of a script, or open another in it (HTML, 13.2.5.15 and after).
    assert not re.search(r"<(/?script|!--)", script, re.IGNORECASE)
    assert script.isascii()


@pytest.mark.parametrize(
    "text",
    [
        "<script>alert(1)</script>",
        "[x](javascript:alert(1))",
        "[x](JaVaScRiPt:alert(1))",
        "[x](data:text/html,<script>alert(1)</script>)",
        "[x](//elsewhere.example)",
        "[x](\\\\\\\\elsewhere.example)",
        "[x](http://elsewhere.example)",
        "![x](https://elsewhere.example/x.png)",
        "<a href='x' onclick='alert(1)' style='position:fixed'>x</a>",
        "<svg onload=alert(1)><style>*{display:none}</style></svg>",
        "<iframe src='https://elsewhere.example'></iframe>",
    ],
)
def test_an_authors_text_can_do_no_harm(text: str) -> None:
    html = prose(text).lower()
    for word in ("script", "elsewhere", "onclick", "onload", "style", "<svg", "<img", "<iframe"):
        found = re.sub(r"&lt;.*?&gt;", "", html)
        assert word not in re.sub(r">[^<]*<", "><", found), html


def test_an_authors_links_may_lead_within_the_site_and_to_https() -> None:
    assert 'href="bus-left.html"' in prose("[left](bus-left.html)")
    assert 'href="https://x.example/"' in prose("[x](https://x.example/)")


def test_an_authors_top_heading_is_below_the_pages_own() -> None:
    assert prose("# Top") == "<h2>Top</h2>"
