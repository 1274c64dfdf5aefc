"""A helper of the pages' scripts is in one file, and every page reads it before the others."""

from __future__ import annotations

import re

from sitegen.pages.theme import OF_EVERY_PAGE, theme_text
from sitegen.resources import theme


def functions(name: str) -> set[str]:
    text = theme_text(name)
    return set(re.findall(r"function (\w+)\(", text) + re.findall(r"var (\w+) ?= ?keeper\(", text))


def test_a_helper_is_defined_in_one_file() -> None:
    helpers = functions("helpers.js")
    assert {"make", "stored", "remembered", "anchor"} <= helpers
    # What the scripts of the live drawing define is called by the script's name.
    others = [p.name for p in theme().glob("*.js") if "=(()=>{" not in theme_text(p.name)]
    twice = {name: helpers & functions(name) for name in others if name != "helpers.js"}
    assert {name: names for name, names in twice.items() if names} == {}


def test_only_the_helpers_touch_what_a_browser_may_refuse() -> None:
    for path in theme().glob("*.js"):
        for storage in ("localStorage", "sessionStorage"):
            assert (storage in theme_text(path.name)) == (path.name == "helpers.js"), path.name


def test_every_helper_that_is_called_exists() -> None:
    members = re.search(r"window\.site ?= ?\{(.*?)\};", theme_text("helpers.js"), re.S)
    assert members
    known = set(re.findall(r"(\w+):", members[1]))
    for path in theme().glob("*.js"):
        known |= set(re.findall(r"\bsite\.(\w+) ?= ?", theme_text(path.name)))
    for path in theme().glob("*.js"):
        called = set(re.findall(r"\bsite\.(\w+)\b(?!\.js)", theme_text(path.name))) - {"js"}
        assert called <= known, path.name


def test_every_page_reads_the_helpers_first() -> None:
    scripts = re.findall(r'src="\{\{ top \}\}(\w+\.js)"', theme_text("base.html.jinja"))
    assert scripts[0] == OF_EVERY_PAGE[0] == "helpers.js"


def lines_that_begin_in_text(script: str) -> list[int]:
    """The numbers of the lines whose beginning is inside the text of a template literal."""
    found, inside, line = [], [False], 1
    for at, char in enumerate(script):
        if inside[-1]:
            if char == "`":
                inside.pop()
            elif script.startswith("${", at):
                inside.append(False)
        elif char == "`":
            inside.append(True)
        elif char == "{" and script[at - 1] != "$":
            inside.append(False)
        elif char == "}" and len(inside) > 1:
            inside.pop()
        if char == "\n":
            line += 1
            if inside[-1]:
                found.append(line)
    return found


def test_no_text_goes_over_several_lines_since_scripts_are_sent_without_indentation() -> None:
    assert lines_that_begin_in_text("a(`b ${c.map((d) => {\n e })}`);\nf = `g\n  h`;") == [4]
    for path in theme().glob("*.js"):
        text = theme_text(path.name)
        assert not re.search(r"^ ", text, re.M), path.name
        assert lines_that_begin_in_text(text) == [], path.name
