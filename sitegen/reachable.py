"""What can be reached step by step in a graph of any kind."""

from __future__ import annotations

from collections.abc import Iterable, Mapping


def reachable(
    onward: Mapping[str, Iterable[str]], starts: Iterable[str], without: str | None = None
) -> set[str]:
    """All that can be reached from some nodes, which are included, without passing one node.

    >>> sorted(reachable({"a": ["b"], "b": ["c", "a"]}, ["a"], without="c"))
    ['a', 'b']
    """
    reached = {node for node in starts if node != without}
    waiting = list(reached)
    while waiting:
        for node in onward.get(waiting.pop(), ()):
            if node not in reached and node != without:
                reached.add(node)
                waiting.append(node)
    return reached
