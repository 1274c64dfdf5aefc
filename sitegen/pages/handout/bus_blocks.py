"""A block for each bus: what feeds it, what it feeds, and where its breakers are."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sitegen.catalogue.model import Bus
from sitegen.catalogue.panel_position import position
from sitegen.pages.handout.handout_context import HandoutContext
from sitegen.pages.links import bus_page
from sitegen.pages.views import by_answer
from sitegen.quantities import NO_BREAK
from sitegen.solver.graph import infeeds, outfeeds
from sitegen.solver.network import Branch, Component
from sitegen.words import counted, join_words

NOWHERE = "On no panel"


def values(handout: HandoutContext) -> dict[str, Any]:
    """Values for the template."""
    return {
        "buses": [_bus(handout, bus) for bus in handout.context.answers.network.catalogue.buses]
    }


def _bus(handout: HandoutContext, bus: Bus) -> dict[str, Any]:
    context = handout.context
    network = context.answers.network
    items = {item for item, _ in network.on_bus[bus.id]}
    drops = [f for f in handout.failures if f.group == 2 and f.stages[0][0].faults[0][0] == bus.id]
    return {
        "anchor": bus_page(bus.id).removesuffix(".html"),
        "number": handout.bus_numbers[bus.id],
        "name": bus.name,
        "kind": f"{bus.current.upper()}, {counted(len(items), 'item')}",
        "states": list(_states(handout, bus)),
        "fed_by": [_branch(handout, *path) for path in infeeds(network, bus.id)],
        "feeds": [_branch(handout, *path) for path in outfeeds(network, bus.id)],
        "drops": [
            {"says": _loses(handout, k, drops[0].stages[0][k].loss.lost), "number": drops[0].number}
            for k in handout.conditions
            if drops
        ],
        "panels": list(_panels(handout, bus.id)),
        "note": context.fragments.prose(bus.note),
    }


def _loses(handout: HandoutContext, condition: int, lost: tuple[str, ...]) -> str:
    name = handout.condition_names[condition]
    return f"{counted(len(lost), 'item')} lost in {name}" if lost else f"nothing lost in {name}"


def _states(handout: HandoutContext, bus: Bus) -> Iterator[dict[str, Any]]:
    rows = handout.context.node_states[bus.id]
    for (state, word), mask in by_answer([(r.state, r.word) for r in rows]).items():
        names = [r.condition for r in rows if mask >> r.number & 1]
        yield {
            "mark": handout.context.drawings.marks[state],
            "word": word.lower() if state == "dead" else word,
            "where": "every condition" if len(names) == len(rows) > 1 else join_words(names),
        }


def _branch(handout: HandoutContext, branch: Branch, other: str) -> dict[str, Any]:
    fragments, components = handout.context.fragments, handout.context.answers.network.components
    return {
        "other": fragments.links[other],
        "through": [
            fragments.places[d] if components[d].at else fragments.links[d] for d in branch.through
        ],
    }


def _panels(handout: HandoutContext, bus: str) -> Iterator[dict[str, Any]]:
    """The breakers and fuses of a bus, panel by panel, each with what it feeds."""
    network, links = handout.context.answers.network, handout.context.fragments.links
    fed: dict[str | None, dict[str, None]] = {}
    for owner, connections in network.connections.items():
        for connection in connections:
            if connection.bus == bus:
                fed.setdefault(connection.protector, {})[owner] = None
    panels: dict[str, list[tuple[tuple[object, ...], dict[str, Any]]]] = {}
    for protector, owners in fed.items():
        known = network.components[protector] if protector else None
        others = dict.fromkeys(
            c.bus for o in owners for c in network.connections[o] if c.bus != bus
        )
        row = {
            "at": known.at or "" if known else "",
            "placard": known.name if known else "no breaker of its own",
            "amps": NO_BREAK.rated(known.amps) if known else "",
            "feeds": [links[o] for o in owners],
            "also": join_words([network.names[b] for b in others]),
        }
        panel = network.panel_names.get(known.panel or "", "") if known else ""
        panels.setdefault(panel or NOWHERE, []).append((_place(handout, known), row))
    order = [*network.panel_names.values(), NOWHERE]
    for panel in sorted(panels, key=order.index):
        rows = sorted(panels[panel], key=lambda r: r[0])
        yield {"name": panel, "rows": [row for _, row in rows]}


def _place(handout: HandoutContext, breaker: Component | None) -> tuple[object, ...]:
    """Sort key: the order of breakers on their panel."""
    if breaker is None:
        return (1, 0, 0, "")
    by_id = {p.id: p for p in handout.context.answers.network.catalogue.panels}
    panel = by_id.get(breaker.panel or "")
    at = position(breaker.at, panel.rows, panel.columns) if panel and breaker.at else None
    return (0, *(at or (999, 0)), breaker.name)
