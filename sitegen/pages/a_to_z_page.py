"""Everything that has a name, from A to Z: the finder for those without a script, and on paper."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from sitegen.pages.author_text import for_script
from sitegen.pages.find_entries import Entry, entries
from sitegen.pages.links import A_TO_Z, SEARCH
from sitegen.pages.page_context import DataFile, PageContext, PageKind, one_page
from sitegen.words import counted

FINDABLE = "var findable = "


def _values(context: PageContext, subject: None) -> Mapping[str, Any]:
    found = entries(context)
    letters: dict[str, list[Entry]] = {}
    for entry in found:
        first = entry.name[:1].upper()
        letters.setdefault(first if first.isalpha() else "0-9", []).append(entry)
    return {
        "letters": [
            {"letter": letter, "anchor": f"letter-{i}", "entries": found}
            for i, (letter, found) in enumerate(sorted(letters.items()))
        ],
    }


def _search(context: PageContext) -> str:
    """A script that only sets a variable, so that it loads from a folder too.

    It holds a row for each entry (name, kind, detail, link, other words) and what abbreviations
    stand for, several meanings with commas.
    """
    # Of what fits alike, the finder names first what stands first: what has a page of its own.
    found = sorted(entries(context), key=lambda e: not e.linked)
    holds = {
        "rows": [[e.name, e.kind, e.detail, e.href, e.words] for e in found],
        "abbreviations": context.answers.network.catalogue.abbreviations,
    }
    return f"{FINDABLE}{for_script(holds)};\n"


def in_find_index(script: str) -> dict[str, Any]:
    """What the finder's script holds."""
    found: dict[str, Any] = json.loads(script.removeprefix(FINDABLE).rstrip("; \n"))
    return found


PAGE: PageKind[None] = PageKind(
    template="a-to-z",
    subjects=one_page,
    path=lambda _: A_TO_Z,
    title=lambda _: "A to Z",
    kind=lambda context, _: counted(len(entries(context)), "name"),
    values=_values,
)
FIND_INDEX = DataFile(SEARCH, _search)
