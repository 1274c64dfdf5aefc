"""A helper of the pages' scripts is in one file, and every page reads it before the others."""

from __future__ import annotations

import re
import subprocess
import sys

import pytest

from sitegen.pages import minifier
from sitegen.pages.theme import OF_EVERY_PAGE, theme_text
from sitegen.resources import theme


def written(name: str) -> str:
    """A script as it is written; published, its names are others."""
    return (theme() / name).read_text(encoding="utf-8")


def functions(name: str) -> set[str]:
    text = written(name)
    return set(re.findall(r"function (\w+)\(", text) + re.findall(r"var (\w+) ?= ?keeper\(", text))


def test_a_helper_is_defined_in_one_file() -> None:
    helpers = functions("helpers.js")
    assert {"make", "stored", "remembered", "anchor"} <= helpers
    # What the scripts of the live drawing define is called by the script's name.
    others = [p.name for p in theme().glob("*.js") if "= (() => {" not in written(p.name)]
    twice = {name: helpers & functions(name) for name in others if name != "helpers.js"}
    assert {name: names for name, names in twice.items() if names} == {}


def test_published_scripts_keep_the_names_that_others_call() -> None:
    """What a script leaves for others is `const name = (() => {...})()`, or `window.site`."""
    for path in theme().glob("*.js"):
        names = re.findall(r"^(?:const|var|let) (\w+) = \(\(\) => \{", written(path.name), re.M)
        published = theme_text(path.name)
        assert len(published) < 0.8 * len(written(path.name)), path.name
        assert all(re.search(rf"\b(?:const|var|let) {name}=|,{name}=", published) for name in names)


def test_the_minifier_runs_in_no_process_that_makes_pages() -> None:
    """Its threads are gone in a fork, which then waits for ever when it calls it."""
    program = """
import sys
from sitegen.pages.theme import theme_text
theme_text("site.js")
print([name for name in sys.modules if name.startswith("minify")])
"""
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True)
    assert done.stdout.strip() == "[]", done.stderr


def test_of_a_minifier_that_fails_one_sentence_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(minifier, "_SHORTEN", "import no_such_library")
    with pytest.raises(RuntimeError, match=r"shortened: ModuleNotFoundError: .*no_such_library"):
        minifier.short_scripts.__wrapped__()


def test_only_the_helpers_touch_what_a_browser_may_refuse() -> None:
    for path in theme().glob("*.js"):
        for storage in ("localStorage", "sessionStorage"):
            assert (storage in theme_text(path.name)) == (path.name == "helpers.js"), path.name


def test_every_helper_that_is_called_exists() -> None:
    members = re.search(r"window\.site ?= ?\{(.*?)\};", written("helpers.js"), re.S)
    assert members
    known = set(re.findall(r"(\w+):", members[1]))
    for path in theme().glob("*.js"):
        known |= set(re.findall(r"\bsite\.(\w+) ?= ?", written(path.name)))
    for path in theme().glob("*.js"):
        called = set(re.findall(r"\bsite\.(\w+)\b(?!\.js)", written(path.name))) - {"js"}
        assert called <= known, path.name


def test_every_page_reads_the_helpers_first() -> None:
    scripts = re.findall(r'src="\{\{ top \}\}(\w+\.js)"', theme_text("base.html.jinja"))
    assert scripts[0] == OF_EVERY_PAGE[0] == "helpers.js"
