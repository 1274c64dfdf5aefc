"""The parts that a handout opens with, and its longer texts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sitegen.pages.author_text import prose
from sitegen.pages.drawings import legend_of
from sitegen.pages.handout.handout_context import Course
from sitegen.pages.handout.page_setup import drawn_height, lies
from sitegen.pages.links import note_page
from sitegen.pages.notes_page import body
from sitegen.pages.page_context import frame
from sitegen.words import join_words


def cover(course: Course, contents: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Whose it is, of which revision, what to be careful about, and what is in it."""
    catalogue = course.context.answers.network.catalogue
    shared = frame(catalogue)
    names = [course.condition_names[k] for k in course.conditions]
    return {
        **shared,
        "airframe": course.context.answers.airframe.name,
        "name": course.handout.name,
        "statement": prose(catalogue.aircraft.statement),
        "note": course.context.fragments.prose(course.handout.note),
        "contents": contents,
        "conditions": join_words(names),
    }


def diagram(course: Course) -> dict[str, Any]:
    """Everything from the sources to the last bar, as it stands with nothing failed."""
    pictures, shown = course.context.pictures, course.conditions[0]
    whole, paper = pictures.whole, course.paper
    return {
        "wide": lies(whole.width, whole.height, paper),
        "height": f"{drawn_height(whole.width, whole.height, paper):.1f}",
        "svg": pictures.drawn(whole, [course.context.answers.normal[shown]]),
        "legend": legend_of(whole),
        "condition": course.condition_names[shown],
    }


def notes(course: Course) -> dict[str, Any]:
    """The author's longer texts, those chosen for print."""
    by_id = {n.id: n for n in course.context.answers.reading.notes}
    return {
        "notes": [
            {
                "anchor": note_page(i).removesuffix(".html"),
                "number": course.numbered("notes", k),
                "title": by_id[i].title,
                "text": course.context.fragments.prose(body(by_id[i])),
            }
            for k, i in enumerate(course.notes, 1)
        ]
    }
