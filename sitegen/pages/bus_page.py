"""The page of a bus: what feeds it, what is on it, and what drops with it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from markupsafe import Markup

from sitegen.catalogue.kinds import KINDS
from sitegen.catalogue.model import Bus, Indication
from sitegen.pages.fragments.failure_view import View, views_of_fault
from sitegen.pages.fragments.function_lines import function_lines, function_lists
from sitegen.pages.fragments.infeed_list import infeed_paths
from sitegen.pages.fragments.panel_map import bus_maps
from sitegen.pages.links import bus_page, failure_page
from sitegen.pages.page_context import PageContext, PageKind
from sitegen.pages.theme import macro
from sitegen.pages.views import by_text, with_classes
from sitegen.solver.graph import infeeds, outfeeds
from sitegen.solver.network import Connection
from sitegen.terminal.headline_text import in_every_answer, in_few_words
from sitegen.words import counted, join_words

FEW = 3
"""How many items that come on the bus page names; what is lost is on the failure's page."""


def _values(context: PageContext, bus: Bus) -> Mapping[str, Any]:
    answers, network = context.answers, context.answers.network
    on_bus = _indications(context, bus.id)
    views, shorted = (views_of_fault(context, (bus.id, mode)) for mode in ("dead", "shorted"))
    return {
        **context.by_state(context.node_states[bus.id]),
        "bus": bus,
        "checked": context.checked(bus.id),
        "functions_lost": function_lists(
            [[f for f in function_lines(context, view) if f.kind == "lost"] for view in views]
        ),
        "drops": by_text(
            "p",
            [_drops(context, bus.id, *pair) for pair in zip(views, shorted, strict=True)],
            "how-many",
        ),
        "chapters": list(_equipment(context, bus.id)),
        "indications": on_bus,
        "on_it": _on_it(context, bus.id, [indication for indication, _ in on_bus]),
        "fed_by": infeeds(network, bus.id),
        "feeds": outfeeds(network, bus.id),
        "meters": [
            (indication, reading, where)
            for indication in network.catalogue.indications
            if indication.at == bus.id
            for reading, where in with_classes([n.readings[indication.id] for n in answers.normal])
        ],
        "kinds": KINDS,
        "paths": infeed_paths(context, bus.id),
        "maps": bus_maps(context, bus.id),
        "drawing": context.drawings.live(about=[bus.id]),
    }


def _drops(context: PageContext, bus: str, view: View, shorted: View) -> Markup | str:
    """How much is lost, with the way to all of it; and if a short takes it down, where that is
    not the same.
    """
    if not view.normal.nodes[bus].live:
        return "It is dead in this condition; nothing changes."
    lost = counted(len(view.loss.lost), "item") if view.loss.lost else ""
    comes_on = context.fragments.list(view.loss.comes_on, FEW)
    dead, short = (
        in_every_answer(in_few_words(v.loss) or "none lost", v.loss, v.other)
        for v in (view, shorted)
    )
    return macro("drop")(lost, failure_page(bus), comes_on, short if short != dead else "")


def _equipment(context: PageContext, bus: str) -> Iterator[tuple[str, list[dict[str, Any]]]]:
    """What is on the bus, by chapter, each with its supplies from it and its other buses."""
    network = context.answers.network
    supplies: dict[str, list[Connection]] = {}
    for item, connection in network.on_bus[bus]:
        supplies.setdefault(item, []).append(connection)
    for title, items in context.fragments.chapters.items():
        rows = [
            {
                "equipment": network.equipment[item],
                "supplies": supplies[item],
                "others": dict.fromkeys(c.bus for c in network.connections[item] if c.bus != bus),
            }
            for item in items
            if item in supplies
        ]
        if rows:
            yield title, rows


def _indications(context: PageContext, bus: str) -> list[tuple[Indication, list[Connection]]]:
    """The meters, lamps and flags that have their own power from the bus, with these supplies."""
    network = context.answers.network
    found = []
    for indication in network.catalogue.indications:
        here = [c for c in network.connections[indication.id] if c.bus == bus]
        if here:
            found.append((indication, here))
    return found


def _on_it(context: PageContext, bus: str, indications: Iterable[Indication]) -> str:
    """How many items are on it, and how many of each kind of indication."""
    items = len({item for item, _ in context.answers.network.on_bus[bus]})
    kinds = Counter(indication.kind for indication in indications)
    each = [
        counted(n, KINDS[kind].noun.lower(), KINDS[kind].plural.lower())
        for kind, n in kinds.items()
    ]
    return join_words([counted(items, "item"), *each])


PAGE: PageKind[Bus] = PageKind(
    template="bus",
    subjects=lambda context: context.answers.network.catalogue.buses,
    path=lambda bus: bus_page(bus.id),
    title=lambda bus: bus.name,
    kind=lambda context, bus: f"{bus.current.upper()} bus",
    values=_values,
    depends_on=lambda context, bus: {
        bus.id,
        *(item for item, _ in context.answers.network.on_bus[bus.id]),
        *(indication.id for indication, _ in _indications(context, bus.id)),
    },
)
