"""What you see: every meter, lamp and flag, and how to get from what it shows to a cause."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from sitegen.catalogue.model import Indication
from sitegen.network.looks import Looks
from sitegen.pages.about import terms_words
from sitegen.pages.handout.course import Course, by_conditions
from sitegen.pages.sets import by_component
from sitegen.pages.which import branches
from sitegen.pages.words import KINDS


def values(course: Course) -> dict[str, Any]:
    """What the template is given."""
    answers = course.sheet.answers
    return {
        "conditions": course.condition_names,
        "indications": [_indication(course, i) for i in answers.network.catalogue.indications],
        "looks": [
            {"condition": name, **_looks(course, answers.looks[k])}
            for k, name in by_conditions(course)
        ],
    }


def _indication(course: Course, indication: Indication) -> dict[str, Any]:
    sheet = course.sheet
    network = sheet.answers.network
    if indication.at:
        tells = Markup("reads {}").format(sheet.pieces.links[indication.at])
    else:
        tells = Markup("shows when {}").format(terms_words(sheet, indication.lit_when or ()))
    power = dict.fromkeys(network.names[c.bus] for c in network.connections[indication.id])
    return {
        "name": indication.name,
        "kind": f"{indication.colour} {KINDS[indication.kind].lower()}"
        if indication.colour
        else KINDS[indication.kind].lower(),
        "tells": tells,
        "power": " or ".join(power) or "none needed",
        "normal": [loss.readings[indication.id] for loss in sheet.answers.normal],
        "note": sheet.pieces.prose(indication.note),
    }


def _looks(course: Course, table: Looks) -> dict[str, Any]:
    sheet = course.sheet
    paged = set(sheet.answers.paged)
    own = [f for f in table.unseen if f[0] not in paged]
    return {
        "branches": branches(sheet, table),
        "unseen": Markup("; ").join(
            by_component(sheet, [f for f in table.unseen if f[0] in paged])
        ),
        "own_breakers": len(own),
    }
