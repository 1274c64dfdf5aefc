"""A drawing in words: from each source through its devices to the buses, as nested lists.

For a screen reader, instead of the drawing. Every branch between two nodes is listed once, where
the path from the nearest source reaches it; what a bus that several branches reach feeds is listed
after the first of them, and the others say so.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from markupsafe import Markup

from sitegen.catalogue.kinds import KINDS
from sitegen.diagram.parts import PartKey
from sitegen.pages.drawing_states import DrawnBranch
from sitegen.pages.theme import macro
from sitegen.pages.views import by_text
from sitegen.solver.network import Network

NODE_WORDS = {
    "live": "live",
    "battery": "on battery only",
    "dead": "dead",
    "failed": "failed",
}

GAP = "\0"
"""In the text of a list: a place for the words of a state."""


def node_word(state: str) -> str:
    """The state of a source or a bus, from its state in the drawing.

    >>> node_word("battery")
    'on battery only'
    """
    return NODE_WORDS[state]


def device_word(kind: str, state: str) -> str:
    """The state of a device; empty for one that conducts and could do nothing else.

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
class Step:
    """A branch in the order in which it is read."""

    number: int
    """Index into the drawn branches."""
    to: str
    onward: bool
    """The branches of the node that it leads to are listed here, and nowhere else."""


@dataclass(frozen=True)
class ReadingOrder:
    """The order in which a drawing is read."""

    roots: tuple[str, ...]
    steps: Mapping[str, tuple[Step, ...]]
    """By node the branches that are listed there."""


def reading_order(
    network: Network, wiring: Sequence[DrawnBranch], nodes: Collection[str]
) -> ReadingOrder:
    """The order of the branches between the nodes that a drawing shows.

    Parameters
    ----------
    network : one airframe's.
    wiring : its drawn branches, in the order of its branches.
    nodes : the ids of the sources and buses that are drawn.
    """
    shown = [(k, s) for k, s in enumerate(wiring) if s.origin in nodes and s.target in nodes]
    at: dict[str, list[int]] = {n: [] for n in network.nodes if n in nodes}
    for k, s in shown:
        at[s.origin].append(k)
        if s.both_ways and not any(s.diodes) and s.target != s.origin:
            at[s.target].append(k)
    roots = [n for n in at if n in network.sources and not network.sources[n].fed_from]
    met, in_order = set(roots), set()
    steps: dict[str, list[Step]] = {n: [] for n in at}
    todo = deque(roots)
    waiting = [n for n in at if n not in met]
    while todo or waiting:
        if not todo:
            # What no source reaches comes last.
            rest = waiting.pop(0)
            if rest in met:
                continue
            met.add(rest)
            roots.append(rest)
            todo.append(rest)
        here = todo.popleft()
        for k in at[here]:
            if k in in_order:
                continue
            in_order.add(k)
            to = wiring[k].target if wiring[k].origin == here else wiring[k].origin
            steps[here].append(Step(k, to, to not in met))
            if to not in met:
                met.add(to)
                todo.append(to)
    return ReadingOrder(tuple(roots), {n: tuple(s) for n, s in steps.items()})


@dataclass(frozen=True)
class DrawingWords:
    """A drawing as nested lists, with gaps for the words of states."""

    fragments: tuple[str, ...]
    """Text before each gap, and after the last."""
    gaps: tuple[tuple[int, str], ...]
    """The part's number (`parts_in_order`), and its kind if it is a device."""

    def with_states(self, by_part: Sequence[tuple[str, ...]]) -> Markup:
        """The list, from the states of each part by view."""
        out = [self.fragments[0]]
        for (part, kind), after in zip(self.gaps, self.fragments[1:], strict=True):
            out += _words(by_part[part], kind), after
        return Markup("".join(out))


def drawing_words(
    network: Network,
    wiring: Sequence[DrawnBranch],
    number: Mapping[PartKey, int],
    nodes: Collection[str],
) -> DrawingWords:
    """The list for the nodes that a drawing shows."""
    order = reading_order(network, wiring, nodes)
    gaps: list[tuple[int, str]] = []

    def item(node: str, step: Step | None = None) -> dict[str, Any]:
        devices = wiring[step.number].devices if step else ()
        gaps.extend((number[d], network.components[d.id].kind) for d in devices)
        gaps.append((number[PartKey("node", node)], ""))
        onward = step is None or step.onward
        return {
            "root": step is None,
            "through": [network.names[d.id] for d in devices],
            "name": network.names[node],
            "branches": [item(s.to, s) for s in order.steps[node]] if onward else [],
            "elsewhere": not onward and bool(order.steps[node]),
        }

    # No name has a control character, so the text of the list can be cut at them.
    text = macro("outline")([item(root) for root in order.roots], GAP)
    return DrawingWords(tuple(str(text).split(GAP)), tuple(gaps))


@lru_cache(maxsize=65536)
def _words(states: tuple[str, ...], kind: str) -> str:
    words = [device_word(kind, state) if kind else node_word(state) for state in states]
    by_view = str(by_text("b", words))
    return f" {by_view}" if by_view else ""
