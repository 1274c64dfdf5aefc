"""A drawing in words: from each source through its devices to the buses, as nested lists.

What a screen reader walks instead of the drawing. Every run between two nodes stands in it once,
where the way from the nearest source reaches it; a bus that several runs reach is walked on from
the first, and the others say so.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from markupsafe import Markup, escape

from sitegen.catalogue.kinds import KINDS
from sitegen.diagram.parts import PartKey
from sitegen.pages.drawing_states import Stretch
from sitegen.pages.views import said
from sitegen.solver.network import Network

NODE_WORDS = {
    "live": "live",
    "battery": "on battery only",
    "dead": "dead",
    "failed": "failed",
}


def node_word(state: str) -> str:
    """How a source or a bus stands, from its state in the drawing.

    >>> node_word("battery")
    'on battery only'
    """
    return NODE_WORDS[state]


def device_word(kind: str, state: str) -> str:
    """How a device stands; empty for one that conducts and could do nothing else.

    >>> device_word("relay", "dead"), device_word("fuse", "live"), device_word("diode", "live")
    ('closed', 'intact', '')
    >>> device_word("relay", "failed closed")
    'failed, closed'
    """
    if state == "failed closed":
        return "failed, closed"
    if state == "failed":
        return "failed, open"
    if state == "open":
        return "open"
    return KINDS[kind].conducting


@dataclass(frozen=True)
class Way:
    """A run as the walk meets it."""

    number: int
    """Index into the stretches."""
    to: str
    onward: bool
    """The node that it leads to is walked on from here, and from nowhere else."""


@dataclass(frozen=True)
class Walk:
    """The order in which a drawing is told."""

    roots: tuple[str, ...]
    ways: Mapping[str, tuple[Way, ...]]
    """By node the runs that are told there."""


def walk(network: Network, wiring: Sequence[Stretch], nodes: Collection[str]) -> Walk:
    """The walk through the nodes that a drawing shows.

    Parameters
    ----------
    network : one airframe's.
    wiring : its stretches, in the order of its runs.
    nodes : the ids of the sources and buses that are drawn.
    """
    shown = [(k, s) for k, s in enumerate(wiring) if s.origin in nodes and s.target in nodes]
    at: dict[str, list[int]] = {n: [] for n in network.nodes if n in nodes}
    for k, s in shown:
        at[s.origin].append(k)
        if s.both_ways and not any(s.diodes) and s.target != s.origin:
            at[s.target].append(k)
    roots = [n for n in at if n in network.sources and not network.sources[n].fed_from]
    met, told = set(roots), set()
    ways: dict[str, list[Way]] = {n: [] for n in at}
    todo = deque(roots)
    waiting = [n for n in at if n not in met]
    while todo or waiting:
        if not todo:
            # What no source reaches is told last.
            rest = waiting.pop(0)
            if rest in met:
                continue
            met.add(rest)
            roots.append(rest)
            todo.append(rest)
        here = todo.popleft()
        for k in at[here]:
            if k in told:
                continue
            told.add(k)
            to = wiring[k].target if wiring[k].origin == here else wiring[k].origin
            ways[here].append(Way(k, to, to not in met))
            if to not in met:
                met.add(to)
                todo.append(to)
    return Walk(tuple(roots), {n: tuple(found) for n, found in ways.items()})


@dataclass(frozen=True)
class Telling:
    """A walk as a list, with gaps for the words of states."""

    fragments: tuple[str, ...]
    """Text before each gap, and after the last."""
    gaps: tuple[tuple[int, str], ...]
    """The part's number (`parts_in_order`), and its kind if it is a device."""

    def told(self, by_part: Sequence[tuple[str, ...]]) -> Markup:
        """The list, from the states of each part by view."""
        out = [self.fragments[0]]
        for (part, kind), piece in zip(self.gaps, self.fragments[1:], strict=True):
            out += _words(by_part[part], kind), piece
        return Markup("".join(out))


def telling(
    network: Network,
    wiring: Sequence[Stretch],
    number: Mapping[PartKey, int],
    nodes: Collection[str],
) -> Telling:
    """The list for the nodes that a drawing shows."""
    way_through = walk(network, wiring, nodes)
    fragments, gaps = [""], []
    for item in _items(network, wiring, number, way_through):
        if isinstance(item, str):
            fragments[-1] += item
        else:
            gaps.append(item)
            fragments.append("")
    return Telling(tuple(fragments), tuple(gaps))


def _items(
    network: Network, wiring: Sequence[Stretch], number: Mapping[PartKey, int], through: Walk
) -> Iterator[str | tuple[int, str]]:
    names, components = network.names, network.components

    def node(node_id: str) -> Iterator[str | tuple[int, str]]:
        yield str(escape(names[node_id]))
        yield number[PartKey("node", node_id)], ""

    def onward(node_id: str) -> Iterator[str | tuple[int, str]]:
        if not through.ways[node_id]:
            return
        yield "<ul>"
        for way in through.ways[node_id]:
            stretch = wiring[way.number]
            yield "<li>"
            for k, device in enumerate(stretch.devices):
                yield ("through " if not k else ", ") + str(escape(names[device.id]))
                yield number[device], components[device.id].kind
            yield " to " if stretch.devices else "straight to "
            yield from node(way.to)
            if way.onward:
                yield from onward(way.to)
            elif through.ways[way.to]:
                yield " (listed elsewhere)"
            yield "</li>"
        yield "</ul>"

    yield "<ul>"
    for root in through.roots:
        yield "<li>"
        yield from node(root)
        yield from onward(root)
        yield "</li>"
    yield "</ul>"


@lru_cache(maxsize=65536)
def _words(states: tuple[str, ...], kind: str) -> str:
    words = [device_word(kind, state) if kind else node_word(state) for state in states]
    found = str(said("b", words))
    return f" {found}" if found else ""
