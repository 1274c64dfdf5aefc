"""Change single values in the text of a YAML file; every other character stays as it is."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Sequence
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
        self._tokens: list[yaml.Token] = []
        self._removed: list[tuple[int, int, list[yaml.Token], int]] = []
        """Of each deleted field: start and end, the tokens of its value, the number of the next."""
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

    def remove_field(self, place: Place, key: str) -> None:
        """Delete a field of the table that begins at a place; a comment on its line stays.

        If other lines repeat its value, the first of them gets the value in place of the name.
        """
        node = self._tables.get((place.line, place.column))
        keys = [k for k, _ in node.value if k.value == key] if node is not None else []
        if node is None or not keys or len(node.value) < 2:
            raise CannotEdit
        if not self._tokens:
            self._tokens = list(yaml.scan(self.text, Loader=yaml.SafeLoader))
        tokens = self._tokens
        at = next(
            i
            for i, token in enumerate(tokens)
            if isinstance(token, yaml.ScalarToken)
            and token.start_mark.index == keys[0].start_mark.index
        )
        value, after = _value_tokens(tokens, at + 2)
        start, end = keys[0].start_mark.index, value[-1].end_mark.index
        if not node.flow_style:
            line_start = self.text.rfind("\n", 0, start) + 1
            line_end = self._line_end(end)
            if self.text[line_start:start].strip():
                raise CannotEdit  # the first field of an entry
            if not self.text[end:line_end].strip():
                end = line_end
                start = max(line_start - 1, 0)
                start -= self.text[start - 1 : start] == "\r"
            else:
                end += len(self.text[end:line_end]) - len(self.text[end:line_end].lstrip())
        elif isinstance(tokens[after], yaml.FlowEntryToken):
            end = tokens[after + 1].start_mark.index
        else:
            before = max(
                i for i, token in enumerate(tokens[:at]) if isinstance(token, yaml.FlowEntryToken)
            )
            start = tokens[before].start_mark.index
        if "#" in self.text[start:end] and "\n" in self.text[start:end].strip():
            raise CannotEdit  # a comment would be lost
        self._splices[start, end, ""] = ""
        self._removed.append((start, end, value, after))

    def pass_on_removed(self) -> None:
        """Write a deleted value that other lines repeat in the first of them."""
        for _, end, value, after in self._removed:
            if not isinstance(value[0], yaml.AnchorToken):
                continue
            name, text = value[0].value, self.text[value[0].start_mark.index : end]
            text = text[: value[-1].end_mark.index - value[0].start_mark.index]
            for token in self._tokens[after:]:
                if isinstance(token, yaml.AnchorToken) and token.value == name:
                    break
                if not isinstance(token, yaml.AliasToken) or token.value != name:
                    continue
                at, ends = token.start_mark.index, token.end_mark.index
                if any(first <= at < last for first, last, *_ in self._removed):
                    continue
                if "\n" in text:
                    raise CannotEdit
                self._splices[at, ends, ""] = text
                break

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


def _value_tokens(tokens: Sequence[yaml.Token], begin: int) -> tuple[list[yaml.Token], int]:
    """The tokens of the value that begins at one, and the number of the one after them."""
    opening = (
        yaml.FlowMappingStartToken,
        yaml.FlowSequenceStartToken,
        yaml.BlockMappingStartToken,
        yaml.BlockSequenceStartToken,
    )
    closing = (yaml.FlowMappingEndToken, yaml.FlowSequenceEndToken, yaml.BlockEndToken)
    depth, end = 0, begin
    while depth or not isinstance(tokens[end], (yaml.FlowEntryToken, yaml.KeyToken, *closing)):
        depth += isinstance(tokens[end], opening) - isinstance(tokens[end], closing)
        end += 1
    value = [token for token in tokens[begin:end] if not isinstance(token, yaml.BlockEndToken)]
    if not value:
        raise CannotEdit
    return value, end


def _last_character(text: str, node: Any) -> int:
    """Where a value ends, without the blank lines and comments that the parser counts to it."""
    while isinstance(node, yaml.CollectionNode) and not node.flow_style and node.value:
        last = node.value[-1]
        node = last[1] if isinstance(last, tuple) else last
    end = int(node.end_mark.index)
    return end - 1 if end and text[end - 1] == "\n" else end
