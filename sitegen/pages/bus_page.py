"""The page of a bus: what feeds it, what is on it, and what drops with it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from markupsafe import Markup

from sitegen.answers.drop import Loss
from sitegen.answers.readings import Reading
from sitegen.catalogue.kinds import KINDS
from sitegen.catalogue.model import Bus
from sitegen.pages.fragments.panel_map import bus_maps
from sitegen.pages.links import blank_page, bus_page, equipment_page, failure_page
from sitegen.pages.page_context import PageContext, PageKind
from sitegen.pages.theme import macro
from sitegen.pages.views import by_text, with_classes
from sitegen.solver.graph import infeeds, outfeeds
from sitegen.solver.network import Branch
from sitegen.words import counted

NAMED_HERE = 8
"""How many lost items the bus page names before it sends on to the failure's page."""


def _values(context: PageContext, bus: Bus) -> Mapping[str, Any]:
    answers = context.answers
    rows = context.node_states[bus.id]
    network = answers.network
    return {
        "rows": context.by_condition([row.word for row in rows]),
        "states": rows,
        "drop_page": failure_page(bus.id),
        "drop_says": by_text("p", [_drops(context, bus.id, i) for i in range(len(rows))]),
        "chapters": list(_equipment(context, bus.id)),
        "total": counted(len({e for e, _ in network.on_bus[bus.id]}), "item"),
        "fed_by": macro("branches")([_branch(context, *i) for i in infeeds(network, bus.id)]),
        "feeds": macro("branches")([_branch(context, *o) for o in outfeeds(network, bus.id)]),
        "meters": macro("meters")(list(_meters(context, bus.id))),
        "maps": bus_maps(context, bus.id),
        "note": context.fragments.prose(bus.note),
        "reference": bus.reference or "",
        "blank": blank_page(bus.id),
        "drawing": context.drawings.feed((bus.id,), answers.normal),
    }


def _drops(context: PageContext, bus: str, condition: int) -> str:
    loss, normal = context.answers.single[bus, "dead"][condition], context.answers.normal[condition]
    if not normal.nodes[bus].live:
        return "It is dead in this condition; nothing changes."
    lost = counted(len(loss.lost), "item") if loss.lost else ""
    functions = _functions_lost(context, loss, normal)
    return macro("drop")(lost, context.fragments.list(loss.lost, NAMED_HERE), functions)


def _functions_lost(context: PageContext, loss: Loss, normal: Loss) -> str:
    functions = context.answers.network.catalogue.functions
    gone = [
        f.name
        for f in functions
        if loss.functions[f.id] == "lost" and normal.functions[f.id] != "lost"
    ]
    return ", ".join(gone)


def _equipment(context: PageContext, bus: str) -> Iterator[tuple[str, Markup]]:
    """What is on the bus, by chapter: breaker, amps, place, and other supplies."""
    network, fragments = context.answers.network, context.fragments
    here: dict[str, list[Markup]] = {}
    for item, connection in network.on_bus[bus]:
        here.setdefault(item, []).append(fragments.supply(connection))
    for title, items in fragments.chapters.items():
        rows = []
        for item in items:
            if item in here:
                others = dict.fromkeys(c.bus for c in network.connections[item] if c.bus != bus)
                needs = network.equipment[item].needs
                also = "also needs" if needs == "all" else "also fed from"
                rows.append(
                    {
                        "href": equipment_page(item),
                        "name": network.names[item],
                        "supplies": here[item],
                        "also": also,
                        "others": fragments.list(others),
                    }
                )
        if rows:
            yield title, macro("on_bus")(rows)


def _branch(context: PageContext, branch: Branch, other: str) -> tuple[Markup, Markup]:
    return context.fragments.links[other], context.fragments.list(branch.through)


def _meters(context: PageContext, bus: str) -> Iterator[tuple[str, str, Reading, str]]:
    for indication in context.answers.network.catalogue.indications:
        if indication.at == bus:
            kind = KINDS[indication.kind].noun.lower()
            normal = [loss.readings[indication.id] for loss in context.answers.normal]
            for reading, where in with_classes(normal):
                yield indication.name, kind, reading, where


PAGE: PageKind[Bus] = PageKind(
    template="bus",
    subjects=lambda context: context.answers.network.catalogue.buses,
    path=lambda bus: bus_page(bus.id),
    title=lambda bus: bus.name,
    kind=lambda context, bus: f"{bus.current.upper()} bus",
    values=_values,
)
