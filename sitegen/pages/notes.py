"""The author's longer texts."""

from __future__ import annotations

from functools import partial

from sitegen.catalogue.read import Note
from sitegen.pages.links import NOTES, note_page
from sitegen.pages.sheet import Page, Sheet


def pages(sheet: Sheet) -> list[Page]:
    """The list of the notes, where there are any, and a page for each."""
    notes = sheet.answers.reading.notes
    if not notes:
        return []
    return [
        sheet.page(NOTES, lambda: _list(sheet, notes)),
        *(sheet.page(note_page(n.id), partial(_page, sheet, n)) for n in notes),
    ]


def _list(sheet: Sheet, notes: tuple[Note, ...]) -> str:
    return sheet.fill(
        "notes",
        NOTES,
        "Notes",
        "Longer texts",
        notes=[{"href": note_page(n.id), "title": n.title} for n in notes],
    )


def _page(sheet: Sheet, note: Note) -> str:
    return sheet.fill(
        "note", note_page(note.id), note.title, "Note", text=sheet.pieces.prose(body(note))
    )


def body(note: Note) -> str:
    """The text without the heading that the page's own title repeats."""
    lines = note.text.lstrip("\n\ufeff ").split("\n")
    if lines[0].startswith("# ") and lines[0][2:].strip(" #") == note.title:
        return "\n".join(lines[1:])
    return note.text
