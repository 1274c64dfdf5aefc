"""The parts that a handout opens with, and its notes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sitegen.answers.unchecked import unchecked_of
from sitegen.pages.handout.handout_context import HandoutContext, anchor_of
from sitegen.pages.handout.page_setup import on_one_page
from sitegen.pages.links import note_page
from sitegen.pages.notes_page import body
from sitegen.pages.page_context import frame


def cover(handout: HandoutContext, contents: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """The aircraft, the revision, the caution and the contents."""
    catalogue = handout.context.answers.network.catalogue
    shared = frame(catalogue)
    return {
        **shared,
        "airframe": handout.context.answers.airframe.name,
        "name": handout.record.name,
        "statement": handout.context.fragments.prose(catalogue.aircraft.statement),
        "note": handout.context.fragments.prose(handout.record.note),
        "unchecked": unchecked_of([handout.context.answers.catalogue_lines]),
        "contents": contents,
        "explained": handout.explained_conditions,
    }


def diagram(handout: HandoutContext) -> dict[str, Any]:
    """The whole diagram, with nothing failed."""
    drawings, shown = handout.context.drawings, handout.conditions[0]
    normal = handout.context.answers.normal[shown]
    whole = drawings.whole
    return {
        **on_one_page(handout, "diagram"),
        "svg": drawings.drawn(whole, [normal], resolve=handout.place),
        "legend": drawings.legend,
        "condition": handout.condition_names[shown],
    }


def notes(handout: HandoutContext) -> dict[str, Any]:
    """The notes chosen for print."""
    by_id = {n.id: n for n in handout.context.answers.reading.notes}
    return {
        "notes": [
            {
                "anchor": anchor_of(note_page(i)),
                "number": handout.numbered("notes", k),
                "title": by_id[i].title,
                "text": handout.context.fragments.prose(body(by_id[i])),
            }
            for k, i in enumerate(handout.notes, 1)
        ]
    }
