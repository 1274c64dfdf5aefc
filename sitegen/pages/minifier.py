"""The theme's scripts and the pages as they are published.

Scripts are without comments and blanks, and with short names; pages without the quotes and end tags
that HTML does not need.

The library that shortens them is a Go program. Its threads are gone in a fork of this process, and
pages are made in forks (`workers.py`): one that calls it waits for ever, now and then. So it runs
in a process of its own, once for all scripts, and once for the pages of a fork.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from sitegen.resources import theme

# Where a page has a blank one is left: a style may set a block in a line.
_SHORTEN = """
import json, minify, sys
minify.config({"html-keep-document-tags": True, "html-keep-whitespace": True})
kind, texts = json.load(sys.stdin)
json.dump([minify.string(kind, text) for text in texts], sys.stdout)
"""


@lru_cache(maxsize=1)
def short_scripts() -> Mapping[str, str]:
    """By file name, the text of every script of the theme."""
    paths = sorted(theme().glob("*.js"))
    texts = _shortened("application/javascript", [p.read_text(encoding="utf-8") for p in paths])
    return {path.name: text + "\n" for path, text in zip(paths, texts, strict=True)}


def short_pages(pages: Sequence[str]) -> list[str]:
    """Whole pages, in their order, before their security policy is written."""
    return _shortened("text/html", pages) if pages else []


def _shortened(kind: str, texts: Sequence[str]) -> list[str]:
    """Texts of one media type, shortened.

    Raises
    ------
    RuntimeError
        The library is missing, or cannot read a text.
    """
    done = subprocess.run(
        [sys.executable, "-c", _SHORTEN],
        input=json.dumps([kind, texts]),
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    if done.returncode:
        reason = (done.stderr.strip().splitlines() or ["no message"])[-1]
        raise RuntimeError(f"texts could not be shortened: {reason}")
    found: Any = json.loads(done.stdout)
    return [str(text) for text in found]
