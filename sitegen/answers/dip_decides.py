"""Which switching devices decide between the two answers to a short: ride through, or drop out.

Both are reported where they differ. What a device does in the aircraft is the catalogue's to say
(`rides-through`); most devices in which the answers differ only follow others, whose contacts feed
their coils, and need not be looked up.
"""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.answers.drop import Loss
from sitegen.catalogue.model import Terms
from sitegen.reachable import reachable
from sitegen.solver.network import Network


def deciding(network: Network, loss: Loss, other: Loss) -> tuple[str, ...]:
    """The devices that do not ride through and on which it depends which answer fits.

    Parameters
    ----------
    network : the airframe.
    loss, other : the two answers to one failure.

    Notes
    -----
    Of what is otherwise in the two answers, a device follows a node that is in its closing
    conditions, and a node follows the devices in its branches and the nodes at their other ends. A
    device decides if whatever it follows, through any number of steps, follows it in turn.
    """
    devices = {d for d in network.switching if loss.conducts[d] != other.conducts[d]}
    nodes = {n for n, state in loss.nodes.items() if state.live != other.nodes[n].live}
    onward: dict[str, set[str]] = {}
    for one, next_one in _followed(network):
        if one in devices | nodes and next_one in devices | nodes:
            onward.setdefault(one, set()).add(next_one)
    reached = {d: reachable(onward, [d]) for d in devices}
    return tuple(
        d
        for d in network.switching
        if d in devices - network.rides_through
        and all(lead in reached[d] for lead in devices if d in reached[lead])
    )


def _followed(network: Network) -> Iterator[tuple[str, str]]:
    """What may depend on what: (a device or node, what follows it)."""
    for branch in network.branches:
        for device in branch.through:
            yield device, branch.origin
            yield device, branch.target
        yield branch.origin, branch.target
        yield branch.target, branch.origin
    for device, conditions in network.switching.items():
        for terms in conditions:
            for name in _named(terms):
                yield name, device


def _named(terms: Terms) -> Iterator[str]:
    for names in (terms.live, terms.dead, terms.closed, terms.open):
        yield from names
    yield from terms.volts_above
    yield from terms.volts_below
