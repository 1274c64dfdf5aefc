"""What the cards of a drawing's parts say besides its state: what it is, and what it feeds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sitegen.catalogue.kinds import KINDS
from sitegen.pages.links import failure_page
from sitegen.solver.graph import infeeds, outfeeds
from sitegen.solver.network import Branch, Network
from sitegen.words import counted

NAMED_HERE = 6
"""How many pieces of equipment a card names."""


def part_cards(network: Network) -> dict[str, Any]:
    """By source, bus or device its lines, and of a bus the failure's page."""
    return {
        i: {
            "rows": list(rows(network, i)),
            **({"fails": failure_page(i)} if component.kind == "bus" else {}),
        }
        for i, component in network.components.items()
        if KINDS[component.kind].role != "indication"
    }


def rows(network: Network, component: str) -> Iterator[tuple[str, str]]:
    """The lines on the card of one part: (label, text)."""
    names, hazards = network.names, network.hazards
    if component in hazards:
        licensed = "Work there is for licensed people, by the approved manuals."
        yield "Hazard", f"{hazards[component]}. {licensed}"
    if component in network.nodes:
        fed_by = [other for _, other in infeeds(network, component)]
        feeds = [other for _, other in outfeeds(network, component)]
        for label, others in (("Can be fed from", fed_by), ("Can feed", feeds)):
            if others:
                yield label, ", ".join(names[n] for n in dict.fromkeys(others))
        items = list(dict.fromkeys(e for e, _ in network.on_bus[component]))
        if items:
            some = ", ".join(names[e] for e in items[:NAMED_HERE])
            more = len(items) - NAMED_HERE
            yield counted(len(items), "item"), some + (f" and {more} more" if more > 0 else "")
        for item in (i for i in items if i in hazards):
            yield "Hazard", f"{names[item]}: {network.hazard_in_short(item)}"
        return
    for branch in network.branches:
        if component in branch.through:
            yield "Between", _between(network, branch)
    fed = [
        e for e in network.equipment if any(component in c.through for c in network.connections[e])
    ]
    if fed:
        some = ", ".join(names[e] for e in fed[:NAMED_HERE])
        more = len(fed) - NAMED_HERE
        yield "Feeds", some + (f" and {more} more" if more > 0 else "")
        for item in (i for i in fed if i in hazards):
            yield "Hazard", f"{names[item]}: {network.hazard_in_short(item)}"
    if network.positions[component]:
        yield "Where", network.positions[component]


def _between(network: Network, branch: Branch) -> str:
    return f"{network.names[branch.origin]} and {network.names[branch.target]}"
