"""A block for each bus: what feeds it, what it feeds, and where its breakers are."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sitegen.catalogue.model import Bus
from sitegen.catalogue.panel_position import position
from sitegen.pages.handout.handout_context import HandoutContext, anchor_of
from sitegen.pages.links import bus_page
from sitegen.pages.views import by_answer
from sitegen.solver.graph import infeeds, outfeeds
from sitegen.solver.network import Component
from sitegen.terminal.headline_text import in_every_answer, in_few_words
from sitegen.terminal.shared_text import conditions_text
from sitegen.words import counted, join_words

NOWHERE = "On no panel"


def values(handout: HandoutContext) -> dict[str, Any]:
    """Values for the template."""
    return {
        "buses": [_bus(handout, bus) for bus in handout.context.answers.network.catalogue.buses]
    }


def _bus(handout: HandoutContext, bus: Bus) -> dict[str, Any]:
    network = handout.context.answers.network
    items = {item for item, _ in network.on_bus[bus.id]}
    drops = [f for f in handout.failures if f.group == 2 and f.stages[0][0].faults[0][0] == bus.id]
    return {
        "bus": bus,
        "anchor": anchor_of(bus_page(bus.id)),
        "number": handout.bus_numbers[bus.id],
        "kind": f"{bus.current.upper()}, {counted(len(items), 'item')}",
        "states": list(_states(handout, bus)),
        "fed_by": infeeds(network, bus.id),
        "feeds": outfeeds(network, bus.id),
        "drops": [
            in_every_answer(
                in_few_words(view.loss) or "nothing lost",
                view.loss,
                view.other,
                f" in {handout.condition_names[k]}",
            )
            for k in handout.conditions
            for view in [f.stages[0][k] for f in drops[:1]]
        ],
        "drop_number": drops[0].number if drops else "",
        "panels": list(_panels(handout, bus.id)),
        "hazards": handout.context.fragments.hazards(sorted(items)),
    }


def _states(handout: HandoutContext, bus: Bus) -> Iterator[tuple[str, str, str]]:
    """Each state as a class and in words, and the conditions in which the bus has it."""
    context = handout.context
    rows, conditions = context.node_states[bus.id], context.answers.conditions
    for (state, word), mask in by_answer([(r.state, r.word) for r in rows]).items():
        here = [c.id for k, c in enumerate(conditions) if mask >> k & 1]
        where = conditions_text(context.answers.network, here)
        yield state, word.lower() if state == "dead" else word, where


def _panels(handout: HandoutContext, bus: str) -> Iterator[tuple[str, list[dict[str, Any]]]]:
    """The breakers and fuses of a bus, panel by panel, each with what it feeds."""
    network = handout.context.answers.network
    fed: dict[str | None, dict[str, None]] = {}
    for owner, connections in network.connections.items():
        for connection in connections:
            if connection.bus == bus:
                fed.setdefault(connection.protector, {})[owner] = None
    panels: dict[str, list[tuple[tuple[object, ...], dict[str, Any]]]] = {}
    for protector, owners in fed.items():
        breaker = network.components[protector] if protector else None
        others = dict.fromkeys(
            network.names[c.bus] for o in owners for c in network.connections[o] if c.bus != bus
        )
        panel = network.panel_names.get(breaker.panel or "", "") if breaker else ""
        row = {"breaker": breaker, "feeds": owners, "also": join_words(list(others))}
        panels.setdefault(panel or NOWHERE, []).append((_place(handout, breaker), row))
    order = [*network.panel_names.values(), NOWHERE]
    for panel in sorted(panels, key=order.index):
        yield panel, [row for _, row in sorted(panels[panel], key=lambda r: r[0])]


def _place(handout: HandoutContext, breaker: Component | None) -> tuple[object, ...]:
    """Sort key: the order of breakers on their panel."""
    if breaker is None:
        return (1, 0, 0, "")
    by_id = {p.id: p for p in handout.context.answers.network.catalogue.panels}
    panel = by_id.get(breaker.panel or "")
    at = position(breaker.at, panel.rows, panel.columns) if panel and breaker.at else None
    return (0, *(at or (999, 0)), breaker.name)
