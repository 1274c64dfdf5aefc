"""Change single values in the text of a YAML file; every other character stays as it is."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from typing import Any

import yaml

from sitegen.catalogue.findings import Place

_PLAIN = re.compile(r"[A-Za-z][A-Za-z0-9]*([ /-][A-Za-z0-9]+)*")
_NOT_TEXT = {"on", "off", "yes", "no", "true", "false", "null", "y", "n"}


class CannotEdit(Exception):
    """The value is written in a form that has to be changed by hand."""


def yaml_text(value: Any) -> str:
    """A value on one line, as it is written in braces.

    >>> yaml_text({"name": "LDG LT", "at": "B7", "amps": 7.5, "through": ["a-1", "on"]})
    '{name: LDG LT, at: B7, amps: 7.5, through: [a-1, "on"]}'
    """
    if isinstance(value, dict):
        return "{" + ", ".join(f"{k}: {yaml_text(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(yaml_text, value)) + "]"
    if isinstance(value, datetime.date):
        return value.isoformat()  # where a date is expected, it needs no quotes
    if isinstance(value, (int, float)):
        return str(int(value)) if float(value).is_integer() else repr(value)
    if _PLAIN.fullmatch(value) and value.lower() not in _NOT_TEXT:
        return str(value)
    if re.fullmatch(r"\d\d-\d\d(-\d\d)?", value):
        return str(value)  # an ATA chapter
    escaped = value.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


class YamlText:
    """The text of a file, and the changes to make in it."""

    def __init__(self, text: str) -> None:
        self.text = text
        self._splices: dict[tuple[int, int, str], str] = {}
        self._values: dict[tuple[int, int], yaml.Node] = {}
        self._tables: dict[tuple[int, int], yaml.MappingNode] = {}
        self._lists: dict[tuple[int, int], yaml.SequenceNode] = {}
        self._appended: dict[int, list[str]] = {}
        root = yaml.compose(text, Loader=yaml.SafeLoader)
        for node in _nodes(root) if root is not None else ():
            at = (node.start_mark.line + 1, node.start_mark.column + 1)
            if isinstance(node, yaml.MappingNode):
                self._tables.setdefault(at, node)
            elif isinstance(node, yaml.SequenceNode):
                self._lists.setdefault(at, node)
            else:
                self._values.setdefault(at, node)

    def replace(self, place: Place, value: Any) -> None:
        """Write another value in place of one."""
        at = (place.line, place.column)
        node: Any = self._values.get(at) or self._tables.get(at) or self._lists.get(at)
        if node is None or (not isinstance(node, yaml.ScalarNode) and not node.flow_style):
            raise CannotEdit
        if isinstance(node, yaml.ScalarNode) and node.style in ("|", ">"):
            raise CannotEdit
        if self.text[node.start_mark.index] == "&":
            raise CannotEdit  # other lines repeat it
        self._splices[node.start_mark.index, node.end_mark.index, ""] = yaml_text(value)

    def add_field(self, place: Place, key: str, value: Any) -> None:
        """Add a field to the table that begins at a place, after its first field."""
        node = self._tables.get((place.line, place.column))
        if node is None or not node.value:
            raise CannotEdit
        written = f"{key}: {yaml_text(value)}"
        first = node.value[0][1]
        if node.flow_style:
            end = first.end_mark.index
            self._splices[end, end, key] = f", {written}"
        else:
            if not isinstance(first, yaml.ScalarNode) or first.style in ("|", ">"):
                raise CannotEdit
            end = self._line_end(first.end_mark.index)
            self._splices[end, end, key] = f"\n{' ' * node.start_mark.column}{written}"

    def append(self, place: Place, value: Any) -> None:
        """Add an entry at the end of the list that begins at a place."""
        node = self._lists.get((place.line, place.column))
        if node is None or not node.value:
            raise CannotEdit
        last = node.value[-1]
        if node.flow_style:
            end, written = last.end_mark.index, f", {yaml_text(value)}"
        else:
            end = self._line_end(_last_character(self.text, last))
            written = f"\n{' ' * node.start_mark.column}- {yaml_text(value)}"
        self._appended.setdefault(end, []).append(written)

    def edited(self) -> str:
        """The text with all changes."""
        splices = [(start, end, new) for (start, end, _), new in self._splices.items()]
        splices += [(end, end, "".join(new)) for end, new in self._appended.items()]
        text = self.text
        for start, end, new in sorted(splices, key=lambda s: s[:2], reverse=True):
            if "\r\n" in self.text:
                new = new.replace("\n", "\r\n")
            text = text[:start] + new + text[end:]
        return text

    def _line_end(self, index: int) -> int:
        found = re.compile(r"\r?\n|\Z").search(self.text, index)
        return found.start() if found else len(self.text)


def _nodes(root: yaml.Node) -> Iterator[yaml.Node]:
    """All values, not the keys; what an alias repeats once."""
    seen: set[int] = set()
    waiting = [root]
    while waiting:
        node = waiting.pop()
        if id(node) in seen:
            continue
        seen.add(id(node))
        yield node
        if isinstance(node, yaml.MappingNode):
            waiting.extend(value for _, value in node.value)
        elif isinstance(node, yaml.SequenceNode):
            waiting.extend(node.value)


def _last_character(text: str, node: Any) -> int:
    """Where a value ends, without the blank lines and comments that the parser counts to it."""
    while isinstance(node, yaml.CollectionNode) and not node.flow_style and node.value:
        last = node.value[-1]
        node = last[1] if isinstance(last, tuple) else last
    end = int(node.end_mark.index)
    return end - 1 if end and text[end - 1] == "\n" else end
