"""Values that know where they are in the files."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, cast

from sitegen.catalogue.findings import Place


@dataclass(slots=True)
class Node:
    """A value and where it is; lines and columns count from 1."""

    value: Any
    """Text, number, true or false, nothing; a list of nodes; or a dict of words to nodes."""
    file: str
    line: int
    column: int
    key_line: int = 0
    key_column: int = 0
    """Where the value's key is; 0 for an entry of a list."""
    size: int = 1
    """How many values it holds, itself counted."""
    written: str = ""
    """A number, true or false as it was written: `3.10`."""

    @property
    def place(self) -> Place:
        """Where the value begins."""
        return Place(self.file, self.line, self.column)

    @property
    def key_place(self) -> Place:
        """Where the value's key begins; the value's own place if it has no key."""
        return Place(self.file, self.key_line, self.key_column) if self.key_line else self.place


def plain(node: Node) -> Any:
    """A node's value without the places: dicts, lists and scalars."""
    value = node.value
    if isinstance(value, dict):
        return {key: plain(child) for key, child in value.items()}
    if isinstance(value, list):
        return [plain(child) for child in value]
    return value


def ids_in(root: Node) -> set[str]:
    """Every text that is an `id` anywhere in a tree, whether it is a proper id or not."""
    ids: set[str] = set()
    waiting = [root]
    while waiting:
        value = waiting.pop().value
        if isinstance(value, dict):
            if "id" in value and isinstance(value["id"].value, str):
                ids.add(value["id"].value)
            waiting.extend(value.values())
        elif isinstance(value, list):
            waiting.extend(value)
    return ids


def find(root: Node, path: tuple[str | int, ...]) -> Node:
    """The node at a path of field names and list positions, or the nearest above it.

    Positions are skipped where one table is in place of a list, and so are the tags that the
    validator adds where a value may be a plain one or a table.
    """
    node = root
    for step in path:
        child = _child(node.value, step)
        if child is not None:
            node = child
        elif isinstance(step, str) and step not in ("plain", "table"):
            break
    return node


def _child(value: Any, step: str | int) -> Node | None:
    if isinstance(value, dict):
        return value.get(step)
    if isinstance(value, list) and isinstance(step, int) and step < len(value):
        return cast("Node", value[step])
    return None
