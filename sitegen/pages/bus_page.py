"""The page of a bus: what feeds it, what hangs on it, and what drops with it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from markupsafe import Markup

from sitegen.answers.drop import Loss
from sitegen.answers.readings import Reading
from sitegen.catalogue.kinds import KINDS
from sitegen.catalogue.model import Bus
from sitegen.pages.fragments.panel_map import of_bus
from sitegen.pages.links import blank_page, bus_page, equipment_page, failure_page
from sitegen.pages.page_context import PageContext, PageKind
from sitegen.pages.views import classes, said
from sitegen.solver.graph import infeeds, outfeeds
from sitegen.solver.network import Branch, Network
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
        "drop_says": said("p", [_drops(context, bus.id, i) for i in range(len(rows))]),
        "chapters": list(_equipment(context, bus.id)),
        "total": counted(len({e for e, _ in network.on_bus[bus.id]}), "item"),
        "fed_by": Markup("").join(_branch(context, *way) for way in infeeds(network, bus.id)),
        "feeds": Markup("").join(_branch(context, *way) for way in outfeeds(network, bus.id)),
        "meters": Markup("").join(_meters(context, bus.id)),
        "maps": of_bus(context, bus.id),
        "note": context.fragments.prose(bus.note),
        "reference": bus.reference or "",
        "blank": blank_page(bus.id),
        "picture": context.pictures.feed((bus.id,), answers.normal),
    }


def _drops(context: PageContext, bus: str, condition: int) -> Markup:
    loss = context.answers.single[bus, "dead"][condition]
    if not context.answers.normal[condition].nodes[bus].live:
        return Markup("It is dead in this condition; nothing changes.")
    if not loss.lost:
        return Markup("<b class=count>Nothing is lost.</b>")
    return Markup("<b class=count>You lose {}:</b> {}.{}").format(
        counted(len(loss.lost), "item"),
        context.fragments.list(loss.lost, NAMED_HERE),
        _functions_lost(context, loss, context.answers.normal[condition]),
    )


def _functions_lost(context: PageContext, loss: Loss, normal: Loss) -> Markup:
    functions = context.answers.network.catalogue.functions
    gone = [
        f.name
        for f in functions
        if loss.functions[f.id] == "lost" and normal.functions[f.id] != "lost"
    ]
    return Markup("<br>Functions lost: <b>{}</b>.").format(", ".join(gone)) if gone else Markup("")


def _equipment(context: PageContext, bus: str) -> Iterator[tuple[str, Markup]]:
    """What hangs on the bus, by chapter: breaker, amps, place, and other supplies."""
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
                more = (
                    Markup("<span class=also>{} {}</span>").format(also, fragments.list(others))
                    if others
                    else ""
                )
                rows.append(
                    Markup('<li class=row><a class=item href="{}">{}</a>{}{}</li>').format(
                        equipment_page(item),
                        network.names[item],
                        Markup("").join(here[item]),
                        more,
                    )
                )
        if rows:
            yield title, Markup("").join(rows)


def _branch(context: PageContext, branch: Branch, other: str) -> Markup:
    links = context.fragments.links
    through = Markup(", ").join(links[d] for d in branch.through)
    return Markup("<li class=row>{}{}</li>").format(
        links[other],
        Markup("<span class=also>through {}</span>").format(through) if through else "",
    )


def _meters(context: PageContext, bus: str) -> Iterator[Markup]:
    network: Network = context.answers.network
    for indication in network.catalogue.indications:
        if indication.at != bus:
            continue
        normal = [loss.readings[indication.id] for loss in context.answers.normal]
        shown: dict[Reading, int] = {}
        for i, one in enumerate(normal):
            shown[one] = shown.get(one, 0) | 1 << i
        for one, mask in shown.items():
            yield Markup('<li class="reading{}"><span>{} ({})</span> <b>{}</b></li>').format(
                classes(mask, len(normal)),
                indication.name,
                KINDS[indication.kind].noun.lower(),
                one,
            )


PAGE: PageKind[Bus] = PageKind(
    template="bus",
    subjects=lambda context: context.answers.network.catalogue.buses,
    path=lambda bus: bus_page(bus.id),
    title=lambda bus: bus.name,
    kind=lambda context, bus: f"{bus.current.upper()} bus",
    values=_values,
)
