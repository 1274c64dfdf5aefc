"""The author's longer texts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sitegen.catalogue.read import Note
from sitegen.pages.links import NOTES, note_page
from sitegen.pages.page_context import PageContext, PageKind


def _list(context: PageContext, notes: tuple[Note, ...]) -> Mapping[str, Any]:
    return {"notes": notes}


def _values(context: PageContext, note: Note) -> Mapping[str, Any]:
    return {"text": context.fragments.prose(body(note))}


def body(note: Note) -> str:
    """The text without the heading that the page's own title repeats."""
    lines = note.text.lstrip("\n\ufeff ").split("\n")
    if lines[0].startswith("# ") and lines[0][2:].strip(" #") == note.title:
        return "\n".join(lines[1:])
    return note.text


LIST: PageKind[tuple[Note, ...]] = PageKind(
    template="notes",
    subjects=lambda context: filter(None, [context.answers.reading.notes]),
    path=lambda notes: NOTES,
    title=lambda notes: "Notes",
    kind=lambda context, notes: "Longer texts",
    values=_list,
    depends_on=lambda context, notes: [],
)
PAGE: PageKind[Note] = PageKind(
    template="note",
    subjects=lambda context: context.answers.reading.notes,
    path=lambda note: note_page(note.id),
    title=lambda note: note.title,
    kind=lambda context, note: "Note",
    values=_values,
    depends_on=lambda context, note: [],
)
