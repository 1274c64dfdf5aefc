"""Every page says what may run in it and style it: the site's own files, and by hash what it holds.

The directives and what they forbid: W3C, Content Security Policy Level 3 (from memory).
"""

from __future__ import annotations

import re
from base64 import b64encode
from hashlib import sha256
from html import unescape

import pytest

from sitegen.output.site import build_pocket, build_site
from sitegen.pages.theme import with_policy
from sitegen.quiz.paper_pages import PRACTISE_PAGE
from tests.pages.pages_sample import reading, sample


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    files = build_site(reading(sample()), more=(PRACTISE_PAGE,)).files
    return {p: c for p, c in files if p.endswith(".html") and isinstance(c, str)}


def policy(page: str) -> dict[str, list[str]]:
    """The sources of each directive."""
    text = re.search(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)">', page)
    assert text
    # Before anything that it is about.
    assert page.index(text[0]) < page.index("<title>")
    directives = (part.split() for part in unescape(text[1]).split(";"))
    return {name: sources for name, *sources in directives}


def digest(text: str) -> str:
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"


def test_every_page_allows_its_own_content_and_nothing_else(pages: dict[str, str]) -> None:
    assert len({path.split("/")[-1].split("-")[0] for path in pages}) > 15
    for path, page in pages.items():
        allowed = policy(page)
        scripts = {digest(s) for s in re.findall(r"<script>(.*?)</script>", page, re.S)}
        assert set(allowed["script-src"]) == {"'self'", *scripts}, path
        styles = {digest(s) for s in re.findall(r"<style[^>]*>(.*?)</style>", page, re.S)}
        written = {digest(unescape(s)) for s in re.findall(r'\sstyle="([^"]*)"', page)}
        hashes = {"'unsafe-hashes'"} if written else set()
        assert set(allowed["style-src"]) == {"'self'", *styles, *written, *hashes}, path
        assert allowed["object-src"] == allowed["base-uri"] == ["'none'"]
        assert not re.search(r"\son\w+=", re.sub(r">[^<]*<", "><", page)), path


def test_only_the_page_to_practise_with_has_a_script_of_its_own(pages: dict[str, str]) -> None:
    with_script = {path for path, page in pages.items() if "<script>" in page}
    assert {path.split("/")[-1] for path in with_script} == {"practise.html"}


def test_a_pocket_edition_allows_every_script_that_it_restores() -> None:
    text, _ = build_pocket(reading(sample()), "early", more=(PRACTISE_PAGE,))
    files = dict(build_site(reading(sample()), more=(PRACTISE_PAGE,)).files)
    allowed = policy(text)["script-src"]
    assert "'unsafe-inline'" not in allowed
    for name in ("early/live.js", "early/search.js", "engine.js", "drawing.js", "pictures.js"):
        content = files[name]
        script = content.decode() if isinstance(content, bytes) else content
        assert digest(script) in allowed, name


def test_what_is_no_whole_page_stays_as_it_is() -> None:
    assert with_policy("<p>Text</p>") == "<p>Text</p>"
