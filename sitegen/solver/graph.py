"""The graph of a network: nodes are sources and buses, arcs are branches in one direction."""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from sitegen.solver.network import Branch, Network
from sitegen.solver.scenarios import Fault, Masks

MaskedArcs = dict[str, list[tuple[str, int]]]
"""By node: (next node, mask of the scenarios in which power passes to it)."""

Arc = tuple[int, str, str]
"""(number of the branch in the network's order, node at its start, node at its end)."""

Neighbours = dict[str, list[tuple[int, str]]]
"""By node: (number of the branch, next node) of each arc that starts there."""


def directions(branch: Branch, failed: Collection[Fault] = ()) -> tuple[tuple[str, str], ...]:
    """(start, end) of each direction in which power may pass: one past a sound diode, else two."""
    forth, back = (branch.origin, branch.target), (branch.target, branch.origin)
    sound = any((diode, "shorted") not in failed for diode in branch.diodes)
    return (forth,) if sound or branch.into_converter else (forth, back)


def arcs(network: Network, converters: bool = True) -> Iterator[Arc]:
    """Every arc, whatever is open; with `converters` false, without those into a converter."""
    for number, branch in enumerate(network.branches):
        if converters or not branch.into_converter:
            for start, end in directions(branch):
                yield number, start, end


def masked_arcs(
    network: Network,
    masks: Sequence[int],
    bypassed: Mapping[str, int],
    on_line: Mapping[str, int] | None,
) -> MaskedArcs:
    """The arcs with the scenarios in which power passes along them.

    Parameters
    ----------
    network : the wiring.
    masks : by branch, the scenarios in which all of its devices conduct.
    bypassed : by diode, the scenarios in which it is shorted and passes both ways.
    on_line : by source, the scenarios in which it would produce; None leaves converters out.
    """
    found: MaskedArcs = {n: [] for n in network.nodes}
    for branch, mask in zip(network.branches, masks, strict=True):
        if branch.into_converter:
            if on_line is not None:
                found[branch.origin].append((branch.target, mask & on_line[branch.target]))
            continue
        found[branch.origin].append((branch.target, mask))
        back = backwards(branch, mask, bypassed)
        if back:
            found[branch.target].append((branch.origin, back))
    return found


def backwards(branch: Branch, mask: int, bypassed: Mapping[str, int]) -> int:
    """Of a branch's mask, the scenarios in which it passes from its target to its origin too.

    A diode keeps power from going back unless it is shorted.
    """
    if branch.into_converter:
        return 0
    for diode in branch.diodes:
        mask &= bypassed[diode]
    return mask


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


def spread(
    seeds: Mapping[str, int],
    arcs: MaskedArcs,
    passes: Mapping[str, int],
) -> dict[str, int]:
    """Let masks flow along arcs until nothing is added.

    Parameters
    ----------
    seeds : by node, the scenarios in which it is reached to begin with.
    arcs : by node, (target, mask of the scenarios in which the arc passes).
    passes : by node, the scenarios in which it can be reached at all.

    Returns
    -------
    By node, the scenarios in which it is reached.
    """
    reached = dict.fromkeys(passes, 0)
    waiting: deque[str] = deque()
    for node, mask in seeds.items():
        reached[node] = mask & passes[node]
        if reached[node]:
            waiting.append(node)
    queued = set(waiting)
    while waiting:
        node = waiting.popleft()
        queued.discard(node)
        here = reached[node]
        for target, mask in arcs[node]:
            before, limit = reached[target], passes[target]
            if before == limit:
                continue
            after = before | (here & mask & limit)
            if after != before:
                reached[target] = after
                if target not in queued:
                    queued.add(target)
                    waiting.append(target)
    return reached


def branch_mask(branch: Branch, conducts: Masks, every: int) -> int:
    """The scenarios in which every device of a branch conducts."""
    if not branch.through:
        return every
    mask = conducts[branch.through[0]]
    for device in branch.through[1:]:
        mask &= conducts[device]
    return mask


def branch_masks(network: Network, conducts: Masks, every: int) -> list[int]:
    """By branch: the scenarios in which every device of it conducts."""
    return [branch_mask(branch, conducts, every) for branch in network.branches]
