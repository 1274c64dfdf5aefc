"""Loads and time on battery, as tables."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sitegen.answers.endurance.results import Endurance
from sitegen.answers.loads.load_table import LoadTable, most_first
from sitegen.answers.loads.state_amps import NO_AMPS
from sitegen.pages.fragments.endurance_lines import endurances
from sitegen.pages.fragments.failure_sets import by_component
from sitegen.pages.fragments.failure_view import View
from sitegen.pages.handout.handout_context import HandoutContext, by_conditions
from sitegen.pages.load_page import MOST_DRAWING, source_amounts
from sitegen.quantities import NO_BREAK
from sitegen.terminal.load_text import FIGURES


def loads(handout: HandoutContext) -> dict[str, Any]:
    """Amps on every source and bus, and what draws most."""
    answers = handout.context.answers
    tables = answers.load_tables
    columns = {c.id: c.name for c in answers.network.catalogue.load_columns}
    return {
        "figures": FIGURES,
        "conditions": [(c.name, columns.get(c.loads or "", "")) for c in answers.conditions],
        "sources": [
            (handout.condition_names[k], list(source_amounts(handout.context, tables[k])))
            for k in handout.conditions
        ],
        "buses": [
            (bus.id, [_bus(table, bus.id) for table in tables])
            for bus in answers.network.catalogue.buses
        ],
        "draws": [
            {
                "condition": handout.condition_names[k],
                "rows": most_first(tables[k].load.drawn)[:MOST_DRAWING],
                "unknown": tables[k].load.unknown,
            }
            for k in handout.conditions
        ],
    }


def _bus(table: LoadTable, bus: str) -> str:
    load = table.load
    if not load.nodes[bus].live:
        return "dead"
    amps = NO_BREAK.least_amps(load.buses.get(bus, NO_AMPS), bus in load.short_nodes)
    return amps.removesuffix(f"{NO_BREAK.gap}A")  # in the heading


def battery(handout: HandoutContext) -> dict[str, Any]:
    """How long each battery lasts, wherever a failure leaves it to carry load."""
    return {
        "tables": [
            {
                "condition": name,
                "computed": handout.context.answers.conditions[k].battery_time,
                "rows": list(_battery(handout, k)),
            }
            for k, name in by_conditions(handout)
        ]
    }


def _battery(handout: HandoutContext, condition: int) -> Iterator[dict[str, Any]]:
    """A row for each set of endurances, with the failures that cause it."""
    context = handout.context
    rows: dict[tuple[object, ...], dict[str, Any]] = {}
    for failing in handout.failures:
        if failing.named is None:
            continue
        lasting = context.endurances.of_named(failing.named, condition)
        losses = [stage[condition].loss for stage in failing.stages]
        shown = endurances(context, losses, [lasting] * len(losses), failing.named)
        if shown:
            name = context.fragments.link(
                f"{failing.anchor}.html", f"{failing.number} {failing.name}".strip()
            )
            # A failure after which the crew saves time has a row of its own.
            own = failing.anchor if any(endurance.bought for endurance in lasting) else ""
            row = rows.setdefault((own, *lasting), {"names": [], "endurances": shown.content})
            row["names"].append(name)
    with_endurances: dict[tuple[Endurance, ...], list[View]] = {}
    for fault in context.answers.single:
        view = handout.views(fault)[condition]
        lasting = context.endurances.of_single(fault, condition)
        if lasting:
            with_endurances.setdefault(lasting, []).append(view)
    for lasting, views in with_endurances.items():
        faults = [fault for view in views for fault in view.faults]
        shown = endurances(context, [views[0].loss], [lasting])
        if shown:
            row = rows.setdefault(("", *lasting), {"names": [], "endurances": shown.content})
            row["names"] += by_component(context, faults)
    yield from rows.values()
