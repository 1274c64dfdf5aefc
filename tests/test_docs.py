"""The README and the pages of `docs/`: links lead somewhere, and what they show is so."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from sitegen.catalogue.kinds import KINDS
from sitegen.cli import commands

ROOT = Path(__file__).parent.parent
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]


def without_code(text: str) -> str:
    """A page without its blocks of code."""
    return re.sub(r"^```.*?^```", "", text, flags=re.DOTALL | re.MULTILINE)


def anchors(page: Path) -> set[str]:
    """The anchors that a forge makes of a page's headings."""
    headings = re.findall(r"^#+ (.*)$", without_code(page.read_text("utf-8")), re.MULTILINE)
    return {re.sub(r"[^\w -]", "", heading.lower()).replace(" ", "-") for heading in headings}


def links(page: Path) -> Iterator[str]:
    """Where the links of a page lead, except those in code."""
    prose = re.sub(r"`[^`\n]*`", "", without_code(page.read_text("utf-8")))
    yield from re.findall(r"\]\(([^)\s]+)\)", prose)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_every_link_of_a_page_leads_to_a_page_and_a_heading(page: Path) -> None:
    lost = []
    for link in links(page):
        path, _, anchor = link.partition("#")
        target = (page.parent / path).resolve() if path else page
        if not target.is_file() or (anchor and anchor not in anchors(target)):
            lost.append(link)
    assert lost == []


def test_the_readme_leads_to_every_page() -> None:
    reached = {link.partition("#")[0] for link in links(ROOT / "README.md")}
    assert {f"docs/{page.name}" for page in PAGES if page.parent == ROOT / "docs"} <= reached


def test_the_readme_stays_short() -> None:
    assert (ROOT / "README.md").read_text("utf-8").count("\n") <= 150


def test_the_format_page_is_as_the_program_prints_it() -> None:
    printed = CliRunner().invoke(commands, ["inspect", "--fields"]).output
    assert (ROOT / "docs" / "format.md").read_text("utf-8").endswith("\n\n" + printed)


def test_the_failure_modes_of_each_component_are_those_of_the_page() -> None:
    page = (ROOT / "docs" / "catalogue.md").read_text("utf-8")
    section = page.partition("## How components fail\n")[2].partition("\n## ")[0]
    listed: dict[str, list[str]] = {}
    components: list[str] = []
    for names, mode in re.findall(r"^\| ([^|]*)\| `([a-z-]+)` \|", section, re.MULTILINE):
        components = names.strip().split(", ") if names.strip() else components
        for component in components:
            listed.setdefault(component, []).append(mode)
    modes = {
        "source" if kind.role == "source" else kind.noun.lower(): list(kind.modes)
        for kind in KINDS.values()
        if kind.modes
    }
    assert listed == modes
