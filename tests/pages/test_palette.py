"""Colours are in `palette.css` only, whatever shows them: pages, drawings, handouts, papers."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from PIL import ImageColor

import sitegen
from sitegen.pages.theme import SHARED, theme_text
from sitegen.resources import theme

READ_WITHOUT_A_STYLE_SHEET = {
    "icon.svg": "drawn by the device on its home screen",
    "offline.py": "the manifest, which the device reads before any page",
}
"""Files in which a colour must be written out, and why."""

HEX = r"(?:%23|(?<!&)#)(?:[0-9a-f]{8}|[0-9a-f]{6}|[0-9a-f]{3,4})(?![\w-])"
FUNCTION = r"\b(?:rgba?|hsla?|hwb|lab|lch|oklab|oklch|color|color-mix|light-dark)\("
NAME = rf"(?<![\w.#-])(?:{'|'.join(ImageColor.colormap)})(?![\w(-])"
ATTRIBUTE = rf"""(?:fill|stroke|colou?r|background)["']?\s*[:=]\s*["']?{NAME}"""
STYLE_RULE = r"\{[^{}]*\}"


def colours_in(name: str, text: str) -> list[str]:
    """The colours that a file writes out; names of colours only where a style can be set."""
    colours = [found for p in (HEX, FUNCTION, ATTRIBUTE) for found in re.findall(p, text, re.I)]
    if name.endswith(".css"):
        bare = re.sub(r"/\*.*?\*/|\"[^\"]*\"", "", text, flags=re.S)
        values = " ".join(re.findall(STYLE_RULE, bare))
        colours += re.findall(rf":[^;}}]*?({NAME})", values)
    return colours


def written_files() -> list[Path]:
    """Every text of the package and of the theme."""
    folders = (theme(), Path(sitegen.__file__).parent)
    return [
        path
        for folder in folders
        for path in sorted(folder.rglob("*"))
        if path.suffix in {".css", ".js", ".jinja", ".svg", ".py"} and path.name != "palette.css"
    ]


@pytest.mark.parametrize("path", written_files(), ids=lambda p: str(p.name))
def test_no_colour_is_written_outside_the_palette(path: Path) -> None:
    expected = path.name in READ_WITHOUT_A_STYLE_SHEET
    assert bool(colours_in(path.name, path.read_text(encoding="utf-8"))) == expected


@pytest.mark.parametrize(
    "line",
    [
        "a { color: #0af }",
        "a { color: red }",
        "a { fill: hsl(9 9% 9%) }",
        "a { border: 1px solid black }",
    ],
)
def test_a_colour_in_a_style_rule_is_noticed(line: str) -> None:
    assert colours_in("some.css", line)


def test_a_colour_in_a_script_a_template_or_python_is_noticed() -> None:
    assert colours_in("some.js", "part.style.color = 'red';")
    assert colours_in("some.svg.jinja", '<path fill="white"/>')
    assert colours_in("some.py", 'mark = "#1c5480"')


def properties(text: str) -> set[str]:
    return set(re.findall(r"(--[\w-]+)\s*:", text))


def test_every_property_that_is_drawn_with_is_set_somewhere() -> None:
    sheets = {p.name: p.read_text(encoding="utf-8") for p in theme().glob("*.css")}
    set_by_pages = {"--wide", "--high", "--columns", "--conditions"}
    known = set().union(*map(properties, sheets.values())) | set_by_pages
    for name, text in sheets.items():
        assert set(re.findall(r"var\((--[\w-]+)\)", text)) <= known, name


def test_every_colour_of_the_palette_is_used() -> None:
    used = "".join(
        p.read_text("utf-8") for kind in ("css", "jinja") for p in theme().rglob(f"*.{kind}")
    )
    unused = {p for p in properties(theme_text("palette.css")) if f"var({p})" not in used}
    assert unused == set()


def test_every_page_has_the_palette_before_what_names_its_colours() -> None:
    assert SHARED[0] == "palette.css"
    links = re.findall(r'href="\{\{ top \}\}(\w+\.css)"', theme_text("base.html.jinja"))
    assert links[0] == "palette.css"
