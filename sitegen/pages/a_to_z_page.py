"""Everything that has a name, from A to Z: the finder for those without a script, and on paper."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sitegen.pages.author_text import for_script
from sitegen.pages.find_entries import Entry, entries, page_entries
from sitegen.pages.links import A_TO_Z, SEARCH
from sitegen.pages.page_context import DataFile, PageContext, PageKind, one_page
from sitegen.words import counted


def _values(context: PageContext, subject: None) -> Mapping[str, Any]:
    letters: dict[str, list[Entry]] = {}
    for entry in entries(context):
        first = entry.name[:1].upper()
        letters.setdefault(first if first.isalpha() else "0-9", []).append(entry)
    return {
        "letters": [
            {"letter": letter, "anchor": f"letter-{i}", "entries": members}
            for i, (letter, members) in enumerate(sorted(letters.items()))
        ],
    }


def find_rows(context: PageContext) -> list[list[str | tuple[str, ...]]]:
    """A row for each entry: name, kind, detail, link, other words; the details by condition."""
    # Of equal matches the finder names the earlier first: what has a page of its own.
    ordered = sorted([*entries(context), *page_entries(context)], key=lambda e: not e.linked)
    return [
        [
            e.name,
            e.kind,
            e.detail,
            _without_id(e),
            e.words,
            *([e.in_conditions] if e.in_conditions else []),
        ]
        for e in ordered
    ]


def _without_id(entry: Entry) -> str:
    """Its link with `*` for its id, the first of its words: 2 kB fewer to send with every page."""
    own, _, _ = entry.words.partition(" ")
    return entry.href.replace(own, "*", 1) if own else entry.href


def _search(context: PageContext) -> str:
    """A script that only sets a variable, so that it loads from a folder too.

    It holds the rows, and what abbreviations stand for, several meanings with commas.
    """
    content = {
        "rows": find_rows(context),
        "abbreviations": context.answers.network.catalogue.abbreviations,
    }
    return f"var findable = {for_script(content)};\n"


PAGE: PageKind[None] = PageKind(
    template="a-to-z",
    subjects=one_page,
    path=lambda _: A_TO_Z,
    title=lambda _: "A to Z",
    kind=lambda context, _: counted(len(entries(context)), "name"),
    values=_values,
)
FIND_INDEX = DataFile(SEARCH, _search)
