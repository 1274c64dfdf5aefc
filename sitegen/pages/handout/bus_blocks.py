"""One block a bus: what feeds it, what it feeds, and where its breakers are."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from markupsafe import Markup

from sitegen.catalogue.model import Bus
from sitegen.catalogue.panel_position import position
from sitegen.pages.handout.handout_context import Course
from sitegen.pages.links import bus_page
from sitegen.pages.views import alike
from sitegen.solver.graph import infeeds, outfeeds
from sitegen.solver.network import Branch, Component
from sitegen.words import counted, join_words

NOWHERE = "On no panel"


def values(course: Course) -> dict[str, Any]:
    """What the template is given."""
    return {"buses": [_bus(course, bus) for bus in course.context.answers.network.catalogue.buses]}


def _bus(course: Course, bus: Bus) -> dict[str, Any]:
    context = course.context
    network = context.answers.network
    items = {item for item, _ in network.on_bus[bus.id]}
    drops = [f for f in course.failing if f.group == 2 and f.stages[0][0].faults[0][0] == bus.id]
    return {
        "anchor": bus_page(bus.id).removesuffix(".html"),
        "number": course.bus_numbers[bus.id],
        "name": bus.name,
        "kind": f"{bus.current.upper()}, {counted(len(items), 'item')}",
        "states": list(_states(course, bus)),
        "fed_by": [_branch(course, *way) for way in infeeds(network, bus.id)],
        "feeds": [_branch(course, *way) for way in outfeeds(network, bus.id)],
        "drops": [
            {"says": _loses(course, k, drops[0].stages[0][k].loss.lost), "number": drops[0].number}
            for k in course.conditions
            if drops
        ],
        "panels": list(_panels(course, bus.id)),
        "note": context.fragments.prose(bus.note),
    }


def _loses(course: Course, condition: int, lost: tuple[str, ...]) -> str:
    name = course.condition_names[condition]
    return f"{counted(len(lost), 'item')} lost in {name}" if lost else f"nothing lost in {name}"


def _states(course: Course, bus: Bus) -> Iterator[dict[str, Any]]:
    rows = course.context.node_states[bus.id]
    for (state, word), mask in alike([(r.state, r.word) for r in rows]).items():
        names = [r.condition for r in rows if mask >> r.number & 1]
        yield {
            "mark": course.context.pictures.marks[state],
            "word": word.lower() if state == "dead" else word,
            "where": "every condition" if len(names) == len(rows) > 1 else join_words(names),
        }


def _branch(course: Course, branch: Branch, other: str) -> Markup:
    fragments, components = course.context.fragments, course.context.answers.network.components
    through = Markup(", ").join(
        fragments.places[d] if components[d].at else fragments.links[d] for d in branch.through
    )
    return Markup("{}{}").format(
        fragments.links[other],
        Markup(" <span class=also>through {}</span>").format(through) if through else "",
    )


def _panels(course: Course, bus: str) -> Iterator[dict[str, Any]]:
    """The breakers and fuses of a bus, panel by panel, each with what it feeds."""
    network, links = course.context.answers.network, course.context.fragments.links
    fed: dict[str | None, dict[str, None]] = {}
    for owner, connections in network.connections.items():
        for connection in connections:
            if connection.bus == bus:
                fed.setdefault(connection.protector, {})[owner] = None
    found: dict[str, list[tuple[tuple[object, ...], dict[str, Any]]]] = {}
    for protector, owners in fed.items():
        known = network.components[protector] if protector else None
        others = dict.fromkeys(
            c.bus for o in owners for c in network.connections[o] if c.bus != bus
        )
        row = {
            "at": known.at or "" if known else "",
            "placard": known.name if known else "no breaker of its own",
            "amps": f"{known.amps:g}\u00a0A" if known and known.amps else "",
            "feeds": Markup(", ").join(links[o] for o in owners),
            "also": join_words([network.names[b] for b in others]),
        }
        panel = network.panel_names.get(known.panel or "", "") if known else ""
        found.setdefault(panel or NOWHERE, []).append((_place(course, known), row))
    order = [*network.panel_names.values(), NOWHERE]
    for panel in sorted(found, key=order.index):
        rows = sorted(found[panel], key=lambda r: r[0])
        yield {"name": panel, "rows": [row for _, row in rows]}


def _place(course: Course, breaker: Component | None) -> tuple[object, ...]:
    """For putting breakers in the order in which they stand on their panel."""
    if breaker is None:
        return (1, 0, 0, "")
    panels = {p.id: p for p in course.context.answers.network.catalogue.panels}
    panel = panels.get(breaker.panel or "")
    found = position(breaker.at, panel.rows, panel.columns) if panel and breaker.at else None
    return (0, *(found or (999, 0)), breaker.name)
