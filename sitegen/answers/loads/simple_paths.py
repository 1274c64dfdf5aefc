"""Which branches a current may take from a source to a bus: those on some simple path.

A simple path visits no node twice. Whether one uses a branch follows block by block: a block is a
part of the graph that no single node holds together (biconnected component), and every simple path
passes the blocks between its two ends one after the other, entering and leaving each at the same
nodes. A block of one branch is on every path; in a larger one the paths are gone through, which are
few in a part that small.

To find a simple path through a directed arc is hard in general (NP-complete: Fortune, Hopcroft and
Wyllie 1980). After `MOST_STEPS` in one block the remaining arcs count as usable if a path leads
from the block's entry to their start, and one from their end to its exit, though both may need one
node: what a branch may carry is then an upper bound, and what it must carry a lower one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from sitegen.quantities import Fraction

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


Ends = tuple[int, str, str, bool]
"""Of a branch that conducts: its number, origin, target, and whether power passes both ways."""

_Block = tuple[tuple[int, bool], ...]
"""Of each branch of a block: its number, and whether power passes both ways; rising."""
KnownPassages = dict[tuple[_Block, str, str], dict[int, Passage]]
"""By block, and the nodes at which it is entered and left."""

_Ends = tuple[str, str, bool]
_Arc = tuple[int, str]
"""(branch, node at its end), from a node."""


class Topology:
    """The branches that conduct in one state of a net, without those into converters.

    Examples
    --------
    A ring between `a` and `b`; nothing that is drawn at `a` itself passes it.

    >>> ring = Topology([(0, "gen", "a", True), (1, "a", "b", True), (2, "a", "b", True)])
    >>> sorted(ring.between("gen", "b")), sorted(ring.between("gen", "a"))
    ([0, 1, 2], [0])
    """

    def __init__(self, branches: Iterable[Ends], known: KnownPassages | None = None) -> None:
        """Take the branches, and what other states of the net have worked out of blocks."""
        self._branches: dict[int, _Ends] = {
            number: (origin, target, both_ways)
            for number, origin, target, both_ways in branches
            if origin != target
        }
        self._neighbours: dict[str, list[_Arc]] = {}
        for number, (origin, target, _) in self._branches.items():
            self._neighbours.setdefault(origin, []).append((number, target))
            self._neighbours.setdefault(target, []).append((number, origin))
        self._blocks: list[_Block] = [
            tuple((b, self._branches[b][2]) for b in sorted(block))
            for block in _blocks(self._neighbours)
        ]
        self._of_node: dict[str, list[int]] = {}
        for number, block in enumerate(self._blocks):
            for node in {n for b, _ in block for n in self._branches[b][:2]}:
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

        >>> line = Topology([(0, "gen", "a", True), (1, "a", "b", True), (2, "b", "c", True)])
        >>> {node: [*passages] for node, passages in line.from_source("gen", {1}).items()}
        {'gen': [], 'a': [], 'b': [1], 'c': [1]}
        """
        block_before, entries = self._tree(source)
        found: dict[str, dict[int, Passage]] = {source: {}}
        # A node is noted after the one through which it is reached.
        for node, block in block_before.items():
            found[node] = found[entries[block]]
            here = [b for b, _ in self._blocks[block] if b in among]
            if here:
                passages = self._passages(block, entries[block], node)
                own = {b: passages[b] for b in here if b in passages}
                found[node] = {**found[node], **own}
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
        amounts : by node; none below 0.

        Yields
        ------
        (by branch how, how much): of each block and each pair of nodes at which it is entered and
        left, where anything passes.

        Examples
        --------
        >>> net = Topology([(0, "gen", "a", True), (1, "bat", "a", True), (2, "a", "b", True)])
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
                        for branch, _ in self._blocks[block]:
                            for end in self._branches[branch][:2]:
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
                [(number, _)] = branches
                along = self._branches[number][0] == entry
                passage = Passage(along, not along, must=True, certain=True)
                self._in_block[key] = {number: passage}
            else:
                ends = {b: self._branches[b] for b, _ in branches}
                self._in_block[key] = _in_block(ends, entry, leave)
        return self._in_block[key]


def _blocks(neighbours: dict[str, list[_Arc]]) -> Iterator[list[int]]:
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


def _in_block(branches: dict[int, _Ends], entry: str, leave: str) -> dict[int, Passage]:
    """By branch of a block how paths from its entry to its exit use it."""
    arcs: dict[str, list[_Arc]] = {}
    diodes = False
    for number, (origin, target, both_ways) in branches.items():
        for start, end in [(origin, target), (target, origin)][: 2 if both_ways else 1]:
            arcs.setdefault(start, []).append((number, end))
        diodes |= not both_ways
    used: set[_Arc] = set()
    must: set[int] | None = None
    steps = 0
    for path, visited in _paths(arcs, entry, leave):
        steps += visited
        used.update(path)
        on_path = {number for number, _ in path}
        must = on_path if must is None else must & on_path
        if steps > MOST_STEPS:
            used |= _usable(arcs, entry, leave)
            must = {b for b in must if leave not in _reached(arcs, entry, set(), without=b)}
            break
    found = {}
    for number, (origin, target, _) in branches.items():
        along, against = (number, target) in used, (number, origin) in used
        if along or against:
            is_must = number in (must or ())
            certain = is_must or (not diodes and not (along and against))
            found[number] = Passage(along, against, is_must, certain)
    return found


def _paths(arcs: dict[str, list[_Arc]], entry: str, leave: str) -> Iterator[tuple[list[_Arc], int]]:
    """Every simple path, with the number of nodes visited since the one before."""
    path: list[_Arc] = []
    on_path = {entry}
    visited = 0
    stack = [iter(arcs.get(entry, ()))]
    while stack:
        for number, end in stack[-1]:
            if end in on_path:
                continue
            visited += 1
            if end == leave:
                yield [*path, (number, end)], visited
                visited = 0
            elif leave in _reached(arcs, end, on_path):
                path.append((number, end))
                on_path.add(end)
                stack.append(iter(arcs.get(end, ())))
                break
        else:
            stack.pop()
            if path:
                on_path.discard(path.pop()[1])


def _reached(
    arcs: dict[str, list[_Arc]], start: str, closed: set[str], without: int = -1
) -> set[str]:
    """The nodes to which arcs lead past closed nodes and without one branch."""
    reached = {start}
    waiting = [start]
    while waiting:
        for number, node in arcs.get(waiting.pop(), ()):
            if node not in reached and node not in closed and number != without:
                reached.add(node)
                waiting.append(node)
    return reached


def _usable(arcs: dict[str, list[_Arc]], entry: str, leave: str) -> set[_Arc]:
    """The arcs to whose start a path leads, and from whose end one leads on, each by itself."""
    return {
        (number, end)
        for start, leading in arcs.items()
        for number, end in leading
        if start != leave
        and end != entry
        and start in _reached(arcs, entry, {end})
        and leave in _reached(arcs, end, {start})
    }
