"""What you see: every meter, lamp and flag, and how to get from what it shows to a cause."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from sitegen.answers.signatures import Signatures
from sitegen.catalogue.kinds import KINDS
from sitegen.catalogue.model import Indication
from sitegen.pages.fault_isolation_page import branches
from sitegen.pages.fragments.component_facts import terms_words
from sitegen.pages.fragments.failure_sets import by_component
from sitegen.pages.handout.handout_context import Course, by_conditions


def values(course: Course) -> dict[str, Any]:
    """What the template is given."""
    answers = course.context.answers
    return {
        "conditions": course.condition_names,
        "indications": [_indication(course, i) for i in answers.network.catalogue.indications],
        "looks": [
            {"condition": name, **_signatures(course, answers.signature_table[k])}
            for k, name in by_conditions(course)
        ],
    }


def _indication(course: Course, indication: Indication) -> dict[str, Any]:
    context = course.context
    network = context.answers.network
    if indication.at:
        tells = Markup("reads {}").format(context.fragments.links[indication.at])
    else:
        tells = Markup("shows when {}").format(terms_words(context, indication.lit_when or ()))
    power = dict.fromkeys(network.names[c.bus] for c in network.connections[indication.id])
    return {
        "name": indication.name,
        "kind": f"{indication.colour} {KINDS[indication.kind].noun.lower()}"
        if indication.colour
        else KINDS[indication.kind].noun.lower(),
        "tells": tells,
        "power": " or ".join(power) or "none needed",
        "normal": [str(loss.readings[indication.id]) for loss in context.answers.normal],
        "note": context.fragments.prose(indication.note),
    }


def _signatures(course: Course, table: Signatures) -> dict[str, Any]:
    context = course.context
    paged = set(context.answers.paged)
    own = [f for f in table.unseen if f[0] not in paged]
    return {
        "branches": branches(context, table),
        "unseen": Markup("; ").join(
            by_component(context, [f for f in table.unseen if f[0] in paged])
        ),
        "own_breakers": len(own),
    }
