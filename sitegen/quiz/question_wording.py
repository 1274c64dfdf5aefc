"""How questions and their reasons say what failed, what works and why."""

from __future__ import annotations

import re
from collections.abc import Sequence

from sitegen.answers.drop import Loss, is_fed
from sitegen.catalogue.kinds import KINDS
from sitegen.catalogue.model import AnyOf, required_ids
from sitegen.solver.network import Network
from sitegen.solver.scenarios import Fault
from sitegen.words import join_words

PLACARDED = ("breaker", "fuse")
"""Known by placard: the name alone does not say what it is."""


def failed_words(network: Network, faults: Sequence[Fault]) -> str:
    """What has failed: `Left main bus dead`, `Breaker ESS LEFT open`."""
    return join_words(
        [
            f"{component_words(network, component)} {mode.replace('-', ' ')}"
            for component, mode in faults
        ]
    )


def component_words(network: Network, component: str) -> str:
    """A component's name, and what it is where the name is a placard."""
    kind, name = network.components[component].kind, network.names[component]
    if kind in PLACARDED and kind not in name.lower():
        return f"{KINDS[kind].noun} {name}"
    return name


def name_without_side(name: str) -> str:
    """A name without the side or the number that distinguishes it from its pair.

    >>> name_without_side("Left boost pump") == name_without_side("Right boost pump")
    True
    """
    return re.sub(r"\b(left|right|upper|lower|[0-9]+)\b", "", name.lower()).strip()


def why_lost(network: Network, loss: Loss, item: str) -> str:
    """Why a piece of equipment no longer works."""
    equipment, names = network.equipment[item], network.names
    connections = network.connections[item]
    fed = [is_fed(loss, c) for c in connections]
    if all(fed) if equipment.needs == "all" else any(fed):
        gone = [r for r in dict.fromkeys(required_ids(equipment)) if not works(loss, r)]
        return f"It has power, but depends on {join_words([names[r] for r in gone])}, now lost."
    dead = [c for c, here in zip(connections, fed, strict=True) if not here]
    buses = list(dict.fromkeys(c.bus for c in dead if not loss.nodes[c.bus].live))
    if buses:
        return f"It is on {join_words([names[b] for b in buses])}, now dead."
    opened = list(dict.fromkeys(d for c in dead for d in c.through if not loss.conducts[d]))
    return f"Its supply goes through {join_words([names[d] for d in opened])}, now open."


def why_works(network: Network, loss: Loss, normal: Loss, item: str) -> str:
    """Why a piece of equipment still works."""
    names, connections = network.names, network.connections[item]
    left = list(dict.fromkeys(c.bus for c in connections if is_fed(loss, c)))
    gone = [
        c.bus
        for c in connections
        if is_fed(normal, c) and not is_fed(loss, c) and c.bus not in left
    ]
    volts = " and ".join(f"{v:g} V" for v in dict.fromkeys(loss.nodes[b].volts for b in left))
    battery = ", on battery" if item in loss.on_battery else ""
    fed_from = f"{join_words([names[b] for b in left])} ({volts}{battery})"
    if gone:
        without = join_words([names[b] for b in dict.fromkeys(gone)])
        return f"It has lost {without}; it is still on {fed_from}."
    alternatives = [
        other
        for requirement in network.equipment[item].requires
        if isinstance(requirement, AnyOf)
        for other in requirement.any
    ]
    lost = [a for a in alternatives if not works(loss, a) and works(normal, a)]
    if lost:
        needed = join_words([names[a] for a in lost])
        return f"Of what it depends on it has lost {needed}; one is enough."
    return f"It is on {fed_from}, still live."


def why_comes_on(network: Network, loss: Loss, normal: Loss, item: str) -> str:
    """Why a piece of equipment that did not work now does."""
    names, connections = network.names, network.connections[item]
    fed = [c for c in connections if is_fed(loss, c) and not is_fed(normal, c)]
    of = network.equipment[item]
    enough = all if of.needs == "all" else any
    if enough(is_fed(normal, c) for c in connections) or not connections:
        required = [r for r in required_ids(of) if works(loss, r)]
        needed = [r for r in required if not works(normal, r)] or required
        return f"It had power, and depends on {join_words([names[r] for r in needed])}."
    buses = [c.bus for c in fed if not normal.nodes[c.bus].live]
    if buses:
        return f"It is on {join_words([names[b] for b in dict.fromkeys(buses)])}, now live."
    closed = dict.fromkeys(d for c in fed for d in c.through if not normal.conducts[d])
    return f"Its supply goes through {join_words([names[d] for d in closed])}, now closed."


def works(loss: Loss, item: str) -> bool:
    """Whether a piece of equipment works."""
    return any(item in items for items in (loss.kept, loss.reduced, loss.comes_on, loss.turned_on))
