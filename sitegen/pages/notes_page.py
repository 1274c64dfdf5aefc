"""The author's longer texts."""

from __future__ import annotations

from functools import partial

from sitegen.catalogue.read import Note
from sitegen.pages.links import NOTES, note_page
from sitegen.pages.page_context import Page, PageContext


def pages(context: PageContext) -> list[Page]:
    """The list of the notes, where there are any, and a page for each."""
    notes = context.answers.reading.notes
    if not notes:
        return []
    return [
        context.page(NOTES, lambda: _list(context, notes)),
        *(context.page(note_page(n.id), partial(_page, context, n)) for n in notes),
    ]


def _list(context: PageContext, notes: tuple[Note, ...]) -> str:
    return context.fill(
        "notes",
        NOTES,
        "Notes",
        "Longer texts",
        notes=[{"href": note_page(n.id), "title": n.title} for n in notes],
    )


def _page(context: PageContext, note: Note) -> str:
    return context.fill(
        "note", note_page(note.id), note.title, "Note", text=context.fragments.prose(body(note))
    )


def body(note: Note) -> str:
    """The text without the heading that the page's own title repeats."""
    lines = note.text.lstrip("\n\ufeff ").split("\n")
    if lines[0].startswith("# ") and lines[0][2:].strip(" #") == note.title:
        return "\n".join(lines[1:])
    return note.text
