"""The graph of a network: nodes are sources and buses, arcs are branches in one direction."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from sitegen.solver.network import Branch, Network

MaskedArcs = dict[str, list[tuple[str, int]]]
"""By node: (next node, mask of the scenarios in which power passes to it)."""

Arc = tuple[int, str, str]
"""(number of the branch in the network's order, node at its start, node at its end)."""

Neighbours = dict[str, list[tuple[int, str]]]
"""By node: (number of the branch, next node) of each arc that starts there."""


def directions(branch: Branch) -> tuple[tuple[str, str], ...]:
    """(start, end) of each direction in which power may pass: one past a diode, else two."""
    forwards, backwards = (branch.origin, branch.target), (branch.target, branch.origin)
    return (forwards,) if branch.one_way or branch.into_converter else (forwards, backwards)


def arcs(network: Network, converters: bool = True) -> Iterator[Arc]:
    """Every arc, whatever is open; with `converters` false, without those into a converter."""
    for number, branch in enumerate(network.branches):
        if converters or not branch.into_converter:
            for start, end in directions(branch):
                yield number, start, end


def masked_arcs(
    network: Network, masks: Sequence[int], on_line: Mapping[str, int] | None
) -> MaskedArcs:
    """The arcs with the scenarios in which power passes along them.

    Parameters
    ----------
    network : the wiring.
    masks : by branch, the scenarios in which all of its devices conduct.
    on_line : by source, the scenarios in which it would produce; None leaves converters out.
    """
    found: MaskedArcs = {n: [] for n in network.nodes}
    for number, start, end in arcs(network, converters=on_line is not None):
        mask = masks[number]
        if on_line is not None and network.branches[number].into_converter:
            mask &= on_line[end]
        found[start].append((end, mask))
    return found


def by_start(every: Iterable[Arc]) -> Neighbours:
    """Arcs by the node at which they start."""
    found: Neighbours = {}
    for number, start, end in every:
        found.setdefault(start, []).append((number, end))
    return found


def reach(
    neighbours: Neighbours, starts: Iterable[str], without: str = "", without_branch: int = -1
) -> set[str]:
    """The nodes that can be reached from these, which are included.

    Parameters
    ----------
    neighbours : the arcs.
    starts : nodes to begin at.
    without, without_branch : a node and the number of a branch that are not passed.
    """
    reached = set(starts)
    waiting = list(reached)
    while waiting:
        for number, node in neighbours.get(waiting.pop(), ()):
            if node not in reached and number != without_branch and node != without:
                reached.add(node)
                waiting.append(node)
    return reached


def infeeds(network: Network, node: str) -> list[tuple[Branch, str]]:
    """(branch, its other end) of all by which power may come to a node, whatever is open.

    A branch without a diode passes power both ways: it is an infeed where its other end can have
    power that has not come through this node. What comes to a source's terminals from outside does
    not feed the source.
    """
    machines = {s.id for s in network.sources.values() if s.kind != "converter"}
    live_without = reach(by_start(arcs(network)), machines - {node}, node)
    return [
        (branch, start)
        for branch, start, end in _feeding(network)
        if end == node and start in live_without
    ]


def outfeeds(network: Network, node: str) -> list[tuple[Branch, str]]:
    """(branch, its other end) of all by which power may go from a node to others."""
    others = dict.fromkeys(end for _, start, end in _feeding(network) if start == node)
    fed_from_here = {other: infeeds(network, other) for other in others}
    return [
        (branch, end)
        for branch, start, end in _feeding(network)
        if start == node and (branch, start) in fed_from_here[end]
    ]


def infeeds_of_buses(network: Network) -> dict[str, tuple[Branch, ...]]:
    """By bus: its infeeds."""
    return {b.id: tuple(x for x, _ in infeeds(network, b.id)) for b in network.catalogue.buses}


def _feeding(network: Network) -> Iterator[tuple[Branch, str, str]]:
    for number, start, end in arcs(network):
        branch = network.branches[number]
        if branch.into_converter or end not in network.sources:
            yield branch, start, end
