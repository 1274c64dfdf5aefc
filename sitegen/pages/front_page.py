"""The front pages: of the site, where the airframe is chosen, and of each airframe."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from markupsafe import Markup

from sitegen.answers.drop import Loss, NodeState
from sitegen.catalogue.kinds import KINDS
from sitegen.catalogue.model import WHOLE_HANDOUT, Airframe, Catalogue
from sitegen.pages.author_text import prose
from sitegen.pages.links import (
    A_TO_Z,
    AUDIT,
    BLANK,
    INDEX,
    LOADS,
    OVERVIEW,
    PRACTISE,
    WHICH,
    bus_page,
    failure_page,
    function_page,
    handout_page,
    named_failure_page,
    note_page,
)
from sitegen.pages.page_context import Page, PageContext, PageKind, frame
from sitegen.pages.panel_page import on_none, panel_list
from sitegen.pages.theme import fill, macro
from sitegen.pages.views import Choice, ChoiceRow, with_classes
from sitegen.quantities import NO_BREAK
from sitegen.words import counted


def fleet_page(catalogue: Catalogue, shares: Sequence[tuple[Airframe, str]]) -> Page:
    """The front page of the site.

    Parameters
    ----------
    catalogue : the whole fleet's.
    shares : each airframe with a line about what is fitted to it.
    """

    def make() -> str:
        return fill(
            "fleet",
            {
                **frame(catalogue),
                "top": "",
                "airframe": "",
                "title": catalogue.aircraft.name,
                "kind": catalogue.aircraft.title,
                "others": [],
                "rows": [],
                "view_count": 0,
                "view_style": "",
                "statement_text": prose(catalogue.aircraft.statement),
                "airframes": [
                    {"href": f"{a.id}/{INDEX}", "name": a.name, "note": prose(a.note), "says": says}
                    for a, says in shares
                ],
            },
        )

    return Page(INDEX, make)


def _values(context: PageContext, airframe: Airframe) -> Mapping[str, Any]:
    answers = context.answers
    catalogue = answers.network.catalogue
    conditions = [Choice(i, c.name, "") for i, c in enumerate(answers.conditions)]
    return {
        "rows": [ChoiceRow("", tuple(conditions))],
        "a_to_z": A_TO_Z,
        "which": WHICH if catalogue.indications else "",
        "audit": AUDIT if catalogue.functions else "",
        "loads": LOADS if any(e.amps is not None for e in catalogue.equipment) else "",
        "practise": PRACTISE if PRACTISE in context.paths.get(answers.airframe.id, ()) else "",
        "handouts": _handouts(context),
        "buses": list(_buses(context)),
        "groups": list(_failures(context)),
        "panels": panel_list(context),
        "on_no_panel": on_none(context),
        "functions": list(_functions(context)),
        "notes": [{"href": note_page(n.id), "title": n.title} for n in answers.reading.notes],
        "condition_notes": [
            {"name": c.name, "note": context.fragments.prose(c.note)}
            for c in answers.conditions
            if c.note
        ],
        "airframe_note": context.fragments.prose(answers.airframe.note),
        "count": counted(len(answers.network.equipment), "item"),
        "drawing": context.drawings.overview(answers.normal, opens="whole"),
        "drawing_page": OVERVIEW,
    }


def _handouts(context: PageContext) -> list[dict[str, str]]:
    """What is made to print."""
    return [
        *(
            {"href": handout_page(h.id, i), "title": h.name, "says": "to print"}
            for i, h in enumerate(context.answers.network.catalogue.handout or [WHOLE_HANDOUT])
        ),
        {"href": BLANK, "title": "Diagrams to fill in", "says": "to print, with the key"},
    ]


def _buses(context: PageContext) -> Iterator[dict[str, Any]]:
    answers = context.answers
    for bus in answers.network.catalogue.buses:
        states = [_power(loss.nodes[bus.id]) for loss in answers.normal]
        yield {
            "href": bus_page(bus.id),
            "name": bus.name,
            "states": macro("states")(with_classes(states), context.drawings.marks),
        }


def _power(state: NodeState) -> tuple[str, str]:
    """The state of a bus as a class, and in words."""
    if not state.live:
        return "dead", "dead"
    volts = NO_BREAK.volts(state.volts)
    return ("battery", f"{volts} battery") if state.battery else ("live", volts)


def _failures(context: PageContext) -> Iterator[dict[str, Any]]:
    answers = context.answers
    catalogue = answers.network.catalogue

    def single(ids: Sequence[str]) -> list[dict[str, Any]]:
        components = answers.network.components
        return [
            {
                "href": failure_page(i),
                "name": components[i].name,
                "says": _lost(answers.single[i, components[i].modes[0]]),
            }
            for i in ids
        ]

    if catalogue.failures:
        yield {
            "id": "named",
            "title": "Named failures",
            "open": True,
            "items": [
                {
                    "href": named_failure_page(f.id),
                    "name": f.name,
                    "says": _lost(answers.named[f.id][0]),
                }
                for f in catalogue.failures
            ],
        }
    yield {
        "id": "sources",
        "title": "A source is lost",
        "open": True,
        "items": single([s.id for s in catalogue.sources]),
    }
    yield {
        "id": "dead-buses",
        "title": "A bus drops",
        "open": True,
        "items": single([b.id for b in catalogue.buses]),
    }
    kinds: dict[str, list[str]] = {}
    for device in catalogue.devices:
        kinds.setdefault(device.kind, []).append(device.id)
    for kind, ids in kinds.items():
        yield {
            "id": kind,
            "title": f"{KINDS[kind].plural} open",
            "open": False,
            "items": single(ids),
        }


def _lost(losses: Sequence[Loss]) -> Markup:
    return macro("lost_counts")(with_classes([len(loss.lost) for loss in losses]))


def _functions(context: PageContext) -> Iterator[dict[str, Any]]:
    for function in context.answers.network.catalogue.functions:
        yield {
            "href": function_page(function.id),
            "name": function.name,
            "essential": function.essential,
            "need": function.need,
            "of": len(function.provided_by),
            "by": context.fragments.list(function.provided_by),
        }


PAGE: PageKind[Airframe] = PageKind(
    template="front",
    subjects=lambda context: [context.answers.airframe],
    path=lambda airframe: INDEX,
    title=lambda airframe: airframe.name,
    kind=lambda context, airframe: context.answers.network.catalogue.aircraft.title,
    values=_values,
)
