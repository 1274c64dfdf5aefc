"""Which branches a current may take from a source to a bus: those on some simple path.

A simple path visits no node twice. One whose sound diodes drop more than 0.5 V more than those of
the path that drops least carries nothing: at its end the bus has more volts already. Whether a path
uses a branch follows block by block: a block is a part of the graph that no single node holds
together (biconnected component), and every simple path passes the blocks between its two ends one
after the other, entering and leaving each at the same nodes. A block of one branch is on every
path; in a larger one the paths are gone through, which are few in a part that small. The half volt
counts in each block by itself: through the others some path goes with the least that they drop.

To find a simple path through a directed arc is hard in general (NP-complete: Fortune, Hopcroft and
Wyllie 1980). After `MOST_STEPS` in one block the remaining arcs count as usable if a path leads
from the block's entry to their start, and one from their end to its exit, though both may need one
node: what a branch may carry is then an upper bound, and what it must carry a lower one.
"""

from __future__ import annotations

import heapq
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass

from sitegen.quantities import Fraction
from sitegen.solver.power import SHARING_MILLIVOLTS

NOTHING = Fraction()

MOST_STEPS = 4000
"""Nodes visited in the search of one block."""


@dataclass(frozen=True)
class Passage:
    """How currents from one source to one bus may use a branch."""

    along: bool
    """Some path uses it from its origin to its target."""
    against: bool
    """Some path uses it the other way."""
    must: bool
    """Every path uses it."""
    certain: bool
    """Current flows through it, and in one direction: without diodes beside it, every path in one
    direction has its share."""


Ends = tuple[int, str, str, bool, int]
"""Of a branch that conducts: its number, origin, target, whether power passes both ways, and what
its sound diodes drop, mV."""

Between = tuple[str, str, bool, int]
"""The same without the number."""

_Block = tuple[tuple[int, bool, int], ...]
"""Of each branch of a block: its number, whether power passes both ways, the drop; rising."""
KnownPassages = dict[tuple[_Block, str, str], dict[int, Passage]]
"""By block, and the nodes at which it is entered and left."""

_Arc = tuple[int, str, int]
"""(branch, node at its end, drop in mV), from a node."""
_Arcs = Mapping[str, list[_Arc]]


class Topology:
    """The branches that conduct in one state of a net, without those into converters.

    Examples
    --------
    A ring between `a` and `b`; nothing that is drawn at `a` itself passes it.

    >>> ring = Topology([(0, "gen", "a", True, 0), (1, "a", "b", True, 0), (2, "a", "b", True, 0)])
    >>> sorted(ring.between("gen", "b")), sorted(ring.between("gen", "a"))
    ([0, 1, 2], [0])

    A diode beside a closed contactor carries nothing.

    >>> beside = Topology([(0, "gen", "a", True, 0), (1, "gen", "a", False, 700)])
    >>> sorted(beside.between("gen", "a"))
    [0]
    """

    def __init__(self, branches: Iterable[Ends], known: KnownPassages | None = None) -> None:
        """Take the branches, and what other states of the net have worked out of blocks."""
        self.branches: dict[int, Between] = {
            number: (origin, target, both_ways, drop)
            for number, origin, target, both_ways, drop in branches
            if origin != target
        }
        neighbours: dict[str, list[tuple[int, str]]] = {}
        for number, (origin, target, _, _) in self.branches.items():
            neighbours.setdefault(origin, []).append((number, target))
            neighbours.setdefault(target, []).append((number, origin))
        self._blocks: list[_Block] = [
            tuple((b, *self.branches[b][2:]) for b in sorted(block))
            for block in _blocks(neighbours)
        ]
        self._of_node: dict[str, list[int]] = {}
        for number, block in enumerate(self._blocks):
            for node in {n for b, _, _ in block for n in self.branches[b][:2]}:
                self._of_node.setdefault(node, []).append(number)
        self._roots: dict[str, str] = {}
        self._trees: dict[str, tuple[dict[str, int], dict[int, str]]] = {}
        self._in_block: KnownPassages = {} if known is None else known
        self._between: dict[tuple[str, str], dict[int, Passage]] = {}

    def between(self, source: str, bus: str) -> dict[int, Passage]:
        """By branch that a current from the source to the bus may use: how."""
        key = source, bus
        if key not in self._between:
            found: dict[int, Passage] = {}
            block_before, entries = self._tree(source)
            node = bus
            while node != source and node in block_before:
                block = block_before[node]
                entry = entries[block]
                found.update(self._passages(block, entry, node))
                node = entry
            self._between[key] = found
        return self._between[key]

    def from_source(self, source: str, among: frozenset[int]) -> dict[str, dict[int, Passage]]:
        """By node: as `between`, of some branches only.

        >>> ends = [("gen", "a"), ("a", "b"), ("b", "c")]
        >>> line = Topology([(k, *nodes, True, 0) for k, nodes in enumerate(ends)])
        >>> {node: [*passages] for node, passages in line.from_source("gen", {1}).items()}
        {'gen': [], 'a': [], 'b': [1], 'c': [1]}
        """
        block_before, entries = self._tree(source)
        found: dict[str, dict[int, Passage]] = {source: {}}
        # A node is noted after the one through which it is reached.
        for node, block in block_before.items():
            found[node] = found[entries[block]]
            here = [b for b, _, _ in self._blocks[block] if b in among]
            if here:
                passages = self._passages(block, entries[block], node)
                own = {b: passages[b] for b in here if b in passages}
                found[node] = {**found[node], **own}
        return found

    def nearest(self, branch: int) -> dict[str, str]:
        """By node: the one at which every path from it enters the block of a branch.

        >>> ends = [("gen", "a"), ("a", "b"), ("b", "c")]
        >>> line = Topology([(k, *nodes, True, 0) for k, nodes in enumerate(ends)])
        >>> sorted(line.nearest(1).items())
        [('a', 'a'), ('b', 'b'), ('c', 'b'), ('gen', 'a')]
        """
        origin = self.branches[branch][0]
        block_before, entries = self._tree(origin)
        [own] = (k for k in self._of_node[origin] if branch in {b for b, _, _ in self._blocks[k]})
        found = {origin: origin}
        # A node is noted after the one through which it is reached.
        for node, block in block_before.items():
            found[node] = node if block == own else found[entries[block]]
        return found

    def passed(
        self, parts: Mapping[str, Fraction], amounts: Mapping[str, Fraction]
    ) -> Iterator[tuple[dict[int, Passage], Fraction]]:
        """What passes each block while sources give nodes amounts, all in the same proportion.

        A block is crossed between two of its nodes by what the sources on the side of one give to
        the nodes on the side of the other: no pair of source and node is gone through.

        Parameters
        ----------
        parts : by source, its part of every amount.
        amounts : by node.

        Yields
        ------
        (by branch how, how much): of each block and each pair of nodes at which it is entered and
        left, where anything passes.

        Examples
        --------
        >>> ends = [("gen", "a"), ("bat", "a"), ("a", "b")]
        >>> net = Topology([(k, *nodes, True, 0) for k, nodes in enumerate(ends)])
        >>> for passages, amps in net.passed({"gen": 3, "bat": 1}, {"a": 2, "b": 4}):
        ...     print(*passages, amps)
        2 16
        1 6
        0 18
        """
        for root in dict.fromkeys(map(self._root, parts)):
            block_before, entries = self._tree(root)
            given = {s: part for s, part in parts.items() if self._root(s) == root}
            taken = {n: amount for n, amount in amounts.items() if self._root(n) == root}
            leaves: dict[int, list[str]] = {}
            # A node is noted after the one through which it is reached: here, what is beyond a
            # node comes before it, and is added to it.
            for node, block in reversed(block_before.items()):
                if node in given or node in taken:
                    leaves.setdefault(block, []).append(node)
                    for sums in (given, taken):
                        if node in sums:
                            entry = entries[block]
                            more = sums[node]
                            sums[entry] = sums[entry] + more if entry in sums else more
            every_part, total = given.get(root, NOTHING), taken.get(root, NOTHING)
            for block, nodes in leaves.items():
                ends = [
                    (node, given.get(node, NOTHING), taken.get(node, NOTHING)) for node in nodes
                ]
                part, amount = every_part, total
                for _, beyond, drawn in ends:
                    part, amount = part - beyond, amount - drawn
                ends.append((entries[block], part, amount))
                for start, part, _ in ends:
                    for leave, _, amount in ends if part else ():
                        if amount and leave != start:
                            yield self._passages(block, start, leave), part * amount

    def _root(self, node: str) -> str:
        """The node from which the tree of a node's part of the net is gone through."""
        if node not in self._roots:
            reached, _ = self._tree(node)
            self._roots.update(dict.fromkeys((node, *reached), node))
        return self._roots[node]

    def _tree(self, source: str) -> tuple[dict[str, int], dict[int, str]]:
        """By node the block that leads to it from the source, and by block where it is entered."""
        if source not in self._trees:
            block_before: dict[str, int] = {}
            entries: dict[int, str] = {}
            waiting = [source]
            while waiting:
                node = waiting.pop()
                for block in self._of_node.get(node, ()):
                    if block not in entries:
                        entries[block] = node
                        for branch, _, _ in self._blocks[block]:
                            for end in self.branches[branch][:2]:
                                if end != source and end not in block_before:
                                    block_before[end] = block
                                    waiting.append(end)
            # A block is entered at one node, which another block leads to.
            self._trees[source] = block_before, entries
        return self._trees[source]

    def _passages(self, block: int, entry: str, leave: str) -> dict[int, Passage]:
        branches = self._blocks[block]
        key = branches, entry, leave
        if key not in self._in_block:
            if len(branches) == 1:
                [(number, _, _)] = branches
                along = self.branches[number][0] == entry
                passage = Passage(along, not along, must=True, certain=True)
                self._in_block[key] = {number: passage}
            else:
                ends = {b: self.branches[b] for b, _, _ in branches}
                self._in_block[key] = _in_block(ends, entry, leave)
        return self._in_block[key]


def _blocks(neighbours: Mapping[str, list[tuple[int, str]]]) -> Iterator[list[int]]:
    """The branches of each biconnected component (Hopcroft and Tarjan 1973)."""
    depth: dict[str, int] = {}
    lowest: dict[str, int] = {}
    for root in neighbours:
        if root in depth:
            continue
        depth[root] = lowest[root] = 0
        open_branches: list[int] = []
        stack = [(root, -1, iter(neighbours[root]))]
        while stack:
            node, by, arcs = stack[-1]
            for branch, other in arcs:
                if branch == by:
                    continue
                if other not in depth:
                    depth[other] = lowest[other] = len(stack)
                    open_branches.append(branch)
                    stack.append((other, branch, iter(neighbours[other])))
                    break
                if depth[other] < depth[node]:
                    open_branches.append(branch)
                    lowest[node] = min(lowest[node], depth[other])
            else:
                stack.pop()
                if stack:
                    parent = stack[-1][0]
                    lowest[parent] = min(lowest[parent], lowest[node])
                    if lowest[node] >= depth[parent]:
                        start = open_branches.index(by)
                        yield open_branches[start:]
                        del open_branches[start:]


def _in_block(branches: dict[int, Between], entry: str, leave: str) -> dict[int, Passage]:
    """By branch of a block how paths from its entry to its exit use it."""
    arcs: dict[str, list[_Arc]] = {}
    for number, (origin, target, both_ways, drop) in branches.items():
        for start, end in [(origin, target), (target, origin)][: 2 if both_ways else 1]:
            arcs.setdefault(start, []).append((number, end, drop))
    least = _least_drops(arcs, entry).get(leave)
    if least is None:
        return {}
    most = least + SHARING_MILLIVOLTS
    used: set[tuple[int, str]] = set()
    must: set[int] | None = None
    steps = 0
    for path, visited in _paths(arcs, entry, leave, most):
        steps += visited
        used.update((number, end) for number, end, _ in path)
        on_path = {number for number, _, _ in path}
        must = on_path if must is None else must & on_path
        if steps > MOST_STEPS:
            used |= _usable(arcs, entry, leave, most)
            must = {b for b in must if not _leads(arcs, entry, leave, most, without=b)}
            break
    numbers = {number for number, _ in used}
    diodes = not all(branches[number][2] for number in numbers)
    found = {}
    for number, (origin, target, _, _) in branches.items():
        if number not in numbers:
            continue
        along, against = (number, target) in used, (number, origin) in used
        is_must = number in (must or ())
        certain = is_must or (not diodes and not (along and against))
        found[number] = Passage(along, against, is_must, certain)
    return found


def _paths(arcs: _Arcs, entry: str, leave: str, most: int) -> Iterator[tuple[list[_Arc], int]]:
    """Every simple path that drops no more than `most` mV, with the number of nodes visited since
    the one before.
    """
    path: list[_Arc] = []
    on_path = {entry}
    visited = dropped = 0
    stack = [iter(arcs.get(entry, ()))]
    while stack:
        for arc in stack[-1]:
            _, end, drop = arc
            if end in on_path or dropped + drop > most:
                continue
            visited += 1
            if end == leave:
                yield [*path, arc], visited
                visited = 0
            elif _leads(arcs, end, leave, most - dropped - drop, on_path):
                path.append(arc)
                on_path.add(end)
                dropped += drop
                stack.append(iter(arcs.get(end, ())))
                break
        else:
            stack.pop()
            if path:
                _, end, drop = path.pop()
                on_path.discard(end)
                dropped -= drop


def _least_drops(
    arcs: _Arcs, start: str, closed: Collection[str] = (), without: int = -1
) -> dict[str, int]:
    """By node to which arcs lead past closed nodes and without one branch: the least that diodes
    drop on the way there, mV (Dijkstra 1959).
    """
    reached: dict[str, int] = {}
    waiting = [(0, start)]
    while waiting:
        dropped, node = heapq.heappop(waiting)
        if node not in reached:
            reached[node] = dropped
            for number, end, drop in arcs.get(node, ()):
                if end not in reached and end not in closed and number != without:
                    heapq.heappush(waiting, (dropped + drop, end))
    return reached


def _leads(
    arcs: _Arcs,
    start: str,
    leave: str,
    most: int,
    closed: Collection[str] = (),
    without: int = -1,
) -> bool:
    """Whether a path with no more than this drop leads on, past closed nodes, without a branch."""
    drop = _least_drops(arcs, start, closed, without).get(leave)
    return drop is not None and drop <= most


def _usable(arcs: _Arcs, entry: str, leave: str, most: int) -> set[tuple[int, str]]:
    """The arcs to whose start a path leads, and from whose end one leads on, each by itself."""
    found = set()
    for start, leading in arcs.items():
        for number, end, drop in leading if start != leave else ():
            before = _least_drops(arcs, entry, {end}).get(start, most + 1)
            if end != entry and _leads(arcs, end, leave, most - before - drop, {start}):
                found.add((number, end))
    return found
