"""The folders and files are as the contributor guide describes them."""

from __future__ import annotations

import ast
import re
from collections import Counter
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "sitegen"
MODULES = sorted(PACKAGE.rglob("*.py"))

LAYERS = (
    ("cli", "__main__"),
    ("lists", "inspection", "revisions", "completion"),
    ("arguments",),
    ("output",),
    ("quiz", "pages", "terminal"),
    ("diagram", "answers"),
    ("solver",),
    ("catalogue",),
    ("words", "quantities", "reachable", "resources"),
)
"""A module imports from its own layer and from those below it."""

MOST_LINES = 400


def layer_of(module: str) -> int:
    """The layer of `sitegen.pages.links`, counted from the top."""
    part = module.split(".")[1]
    return next(number for number, parts in enumerate(LAYERS) if part in parts)


def imports_of(path: Path) -> set[str]:
    """The modules of the package that a module imports, wherever in its text."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
        elif isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
    return {name for name in names if name.startswith("sitegen.")}


def name_of(path: Path) -> str:
    """`sitegen/pages/links.py` as `sitegen.pages.links`."""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts)


def test_imports_run_one_way() -> None:
    upward = [
        f"{path.relative_to(ROOT)} imports {name}"
        for path in MODULES
        if path.parent != PACKAGE or path.stem != "__init__"
        for name in sorted(imports_of(path))
        if layer_of(name) < layer_of(name_of(path))
    ]
    assert upward == []


def test_no_two_modules_have_the_same_file_name() -> None:
    counts = Counter(path.name for path in MODULES if path.name != "__init__.py")
    assert [name for name, count in counts.items() if count > 1] == []


def test_a_long_module_says_why_it_is_long() -> None:
    without_reason = [
        str(path.relative_to(ROOT))
        for path in MODULES
        if (text := path.read_text(encoding="utf-8")).count("\n") > MOST_LINES
        and f"Over {MOST_LINES} lines: " not in (ast.get_docstring(ast.parse(text)) or "")
    ]
    assert without_reason == []


GUIDES = ["DEVELOPERS.md", "README.md", *(f"docs/{p.name}" for p in (ROOT / "docs").glob("*.md"))]


@pytest.mark.parametrize("guide", sorted(GUIDES))
def test_every_path_that_a_guide_names_is_there(guide: str) -> None:
    text = (ROOT / guide).read_text(encoding="utf-8")
    roots = (ROOT, PACKAGE, ROOT / "themes" / "workshop")
    named = re.findall(r"`([\w.-]+(?:/[\w.-]+)*(?:/|\.py|\.js|\.css))`", text)
    # What the reader makes, and a catalogue of the reader's own.
    made = {"my-aircraft/", "site/"}
    gone = {p for p in named if p not in made and not any((r / p).exists() for r in roots)}
    assert len(named) > 3 or guide != "DEVELOPERS.md"
    assert gone == set()
