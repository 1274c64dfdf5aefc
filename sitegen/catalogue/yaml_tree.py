"""The parser's events -> a tree of nodes, without recursion and within limits.

Events rather than `yaml.compose`: that stops at an unknown alias and at a second document, keeps
no location for a value that an alias repeats, and leaves nothing when a later line is not YAML.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any, cast

import yaml

from sitegen.catalogue.characters import REFUSED
from sitegen.catalogue.findings import Finding, Place, error
from sitegen.catalogue.scalars import Trap, resolve
from sitegen.catalogue.yaml_values import Node
from sitegen.words import MOST_LISTED, join_words, quoted

DEEPEST = 40
"""How deeply values may be nested."""
MOST_VALUES = 200_000
"""How many values a catalogue may hold, those of repeated aliases counted each time."""
MOST_FINDINGS = 1_000
"""How many of one text are collected."""

DATE_FIELDS = frozenset({"revised", "on", "checked"})
"""The fields in which a date needs no quotes."""


@dataclass
class Budget:
    """How many values may still be read; all texts of one catalogue share it."""

    values: int = MOST_VALUES


class LimitError(Exception):
    """The text breaks a limit; the finding says which."""

    def __init__(self, place: Place, message: str, hint: str) -> None:
        self.finding = error(place, message, hint)


NO_BREAK_SPACE = (
    "There is a no-break space here, which is no space to YAML.",
    "Replace it by a space; it may have come in with a text that was copied.",
)

_FIELD = re.compile("[a-z][a-z0-9]*(-[a-z0-9]+)*")

_AS_KEY = object()  # the frame waits for a key
_LOST = object()  # the frame waits for a value that nothing can name
_MERGE = object()  # the frame waits for what a merge key brings


@dataclass(slots=True)
class _Frame:
    """An open list or table."""

    node: Node
    key: Any = _AS_KEY
    key_line: int = 0
    key_column: int = 0
    anchor: str | None = None
    merged: dict[str, Node] = field(default_factory=dict)
    """What merge keys brought."""
    braces: bool = False
    """A table in braces, in which a comma ends a value."""
    unspaced: str = ""
    """The value that follows the key's colon without a space."""
    duplicates: list[tuple[str, Place, int]] = field(default_factory=list)
    """Fields that are defined again, in sequence: name, where, and the line of the first."""


@dataclass
class Builder:
    """Builds the tree from events, one at a time."""

    file: str
    findings: list[Finding]
    budget: Budget
    root: Node | None = None
    stack: list[_Frame] = field(default_factory=list)
    anchors: dict[str, Node | None] = field(default_factory=dict)
    whole: bool = True
    long_quote: tuple[int, int, int] | None = None
    """Line and column where the last in_quotes text of several lines begins, and where it ends."""
    unspaced: int = 0
    """The last line in which a space was missing after a colon."""
    ends: dict[int, int] = field(default_factory=dict)
    """By line: the column after the last text without quotes that ends in it."""
    words: set[str] = field(default_factory=set)
    """The names of fields in which nothing was wrong."""

    def run(self, next_event: Callable[[], Any]) -> bool:
        """Read events to the end of the first document; whether that was all."""
        try:
            return self._run(next_event)
        finally:
            for frame in self.stack:
                self.report_duplicates(frame)

    def _run(self, next_event: Callable[[], Any]) -> bool:
        documents = 0
        while True:
            event = next_event()
            kind = type(event)
            if kind is yaml.ScalarEvent:
                self.scalar(event)
            elif kind is yaml.MappingStartEvent:
                self.open(event, {})
            elif kind is yaml.SequenceStartEvent:
                self.open(event, [])
            elif kind is yaml.MappingEndEvent or kind is yaml.SequenceEndEvent:
                self.close()
            elif kind is yaml.AliasEvent:
                self.alias(event)
            elif kind is yaml.DocumentStartEvent:
                documents += 1
                if documents > 1:
                    self.report(
                        self.at(event),
                        "A second document begins here; only one is read from a file.",
                        "Delete the `---`, or put what follows into a file of its own.",
                    )
                    return False
            elif kind is yaml.StreamEndEvent:
                return self.whole

    def at(self, event: Any) -> Place:
        return Place(self.file, event.start_mark.line + 1, event.start_mark.column + 1)

    def report(self, place: Place, message: str, hint: str) -> None:
        if len(self.findings) < MOST_FINDINGS:
            self.findings.append(error(place, message, hint))

    def spend(self, values: int, event: Any) -> None:
        self.budget.values -= values
        if self.budget.values < 0:
            raise LimitError(
                self.at(event),
                f"The catalogue holds more than {MOST_VALUES} values up to here.",
                "Split it into several catalogues; an alias counts each time it is used.",
            )

    def tag(self, event: Any) -> None:
        if event.tag is not None:
            self.report(
                self.at(event),
                f"The tag {quoted(event.tag)} has no meaning in a catalogue.",
                "Delete it; put a text that begins with `!` in quotes.",
            )

    def scalar(self, event: Any) -> None:
        self.spend(1, event)
        if event.tag is not None:
            self.tag(event)
        text: str = event.value
        frame = self.stack[-1] if self.stack else None
        mark = event.start_mark
        line, column = mark.line + 1, mark.column + 1
        is_key = frame is not None and frame.key is _AS_KEY and type(frame.node.value) is dict
        in_quotes = not event.implicit[0] and event.tag is None
        usual = is_key and text in self.words and not in_quotes
        if usual and frame and text not in frame.node.value and not frame.duplicates:
            frame.key, frame.key_line, frame.key_column, frame.unspaced = text, line, column, ""
            return
        value: Any = text
        if in_quotes:
            last_line = event.end_mark.line + 1
            if last_line > line and event.style in ("'", '"'):
                self.long_quote = (line, column, last_line)
            if "\r" in text or REFUSED.search(text):
                self.report(
                    Place(self.file, line, column),
                    f"The text {quoted(text)} holds a character that cannot be printed.",
                    "Write it without the escape.",
                )
                text = value = REFUSED.sub("", text.replace("\r", ""))
        elif not is_key and event.tag is None:
            if text == "" and frame is not None and isinstance(frame.key, str):
                line, column = (
                    frame.key_line,
                    frame.key_column,
                )  # an empty value is located at its key
                if frame.unspaced:
                    text, column = frame.unspaced, column + len(frame.key) + 1
            value, trap = resolve(text, frame is not None and frame.key in DATE_FIELDS)
            if frame is not None and frame.unspaced:
                trap = None  # its key is reported
            if type(value) is str:
                self.ends[event.end_mark.line + 1] = event.end_mark.column + 1
            if trap is not None and (frame is not None or text != ""):
                self.trapped(trap, text, frame, Place(self.file, line, column))
        if is_key:
            assert frame is not None
            self.key(frame, text, in_quotes, Place(self.file, line, column))
            return
        node = Node(value, self.file, line, column)
        if value is not text:
            node.written = text
        if event.anchor is not None:
            self.anchors[event.anchor] = node
        self.attach(node)

    def trapped(self, trap: Trap, text: str, frame: _Frame | None, place: Place) -> None:
        message, hint = trap.message, trap.hint
        if text == "" and frame is not None:
            if frame.key is _LOST or frame.key is _MERGE:
                return  # its key is reported
            if isinstance(frame.key, str):
                if frame.key.isdigit() and frame.braces:
                    return  # `28,5` in braces: the key itself is reported
                message = f"{quoted(frame.key)} has no value."
                before = list(frame.node.value.values())[-1:]
                if frame.braces and before and isinstance(before[0].value, str):
                    message += " In braces a comma ends the value before it."
                    hint = "Put a text that holds a comma in quotes, or write the value."
            elif isinstance(frame.node.value, list):
                message = "This entry of the list is empty."
        self.report(place, message, hint)

    def key(self, frame: _Frame, text: str, in_quotes: bool, place: Place) -> None:
        table = cast("dict[str, Node]", frame.node.value)
        frame.key_line, frame.key_column, frame.unspaced = place.line, place.column, ""
        trap = None
        if not in_quotes:
            value, trap = resolve(text)
            is_date = text == "on" and len(self.stack) > 1 and self.stack[-2].key == "checked"
            if trap is not None and text != "" and not is_date:
                self.report(place, *_key_trap(trap, text))
            elif text == "<<":
                self.report(
                    place,
                    "The merge key `<<` is not supported.",
                    "Write the fields out in each record.",
                )
                frame.key = _MERGE
                return
            elif text == "":
                self.report(place, "A field's name is missing before the colon.", "Write the name.")
                frame.key = _LOST
                return
            elif not isinstance(value, str):
                self.report(place, *_key_of_another_kind(text, table))
                frame.key = text if text not in table else _LOST
                return
        word, _, rest = text.partition(":")
        if rest and not in_quotes and _FIELD.fullmatch(word) and word not in table:
            self.unspaced = place.line
            if rest[0] == "\xa0":
                blank = replace(place, column=place.column + len(word) + 1)
                self.report(blank, *NO_BREAK_SPACE)
            else:
                self.report(
                    place,
                    f"A space is missing after the colon of {quoted(word)}.",
                    "Write one between the colon and the value.",
                )
            text, frame.unspaced = word, rest.strip("\"'\xa0")
        if text in table:
            if len(frame.duplicates) < MOST_FINDINGS:
                frame.duplicates.append((text, place, table[text].key_line))
            frame.key = _LOST
            return
        self.report_duplicates(frame)
        frame.key = text
        if not in_quotes and not rest and trap is None:
            self.words.add(text)

    def report_duplicates(self, frame: _Frame) -> None:
        """Report the sequence of fields that are defined again, up to here.

        In a record that is one mistake: a new entry of the list begins there without its `- `.
        """
        if not frame.duplicates:
            return
        duplicates, frame.duplicates = frame.duplicates, []
        words = list(dict.fromkeys(text for text, _, _ in duplicates))
        if len(words) > 1 and frame is not self.stack[0]:
            _, place, first = duplicates[0]
            names = join_words([quoted(word) for word in words], most=MOST_LISTED)
            self.report(
                place,
                f"{names} are defined twice in this record, first from line {first} on.",
                "If a new entry begins here, write its `- ` before it; else delete them.",
            )
            return
        for text, place, first in duplicates:
            self.report(
                place,
                f"{quoted(text)} is defined twice; first in line {first}.",
                "Delete one of the two.",
            )

    def open(self, event: Any, value: Any) -> None:
        self.spend(1, event)
        if event.tag is not None:
            self.tag(event)
        mark = event.start_mark
        node = Node(value, self.file, mark.line + 1, mark.column + 1)
        if len(self.stack) >= DEEPEST:
            raise LimitError(
                node.place,
                "Values are nested too deeply.",
                f"A catalogue needs a handful of levels, and {DEEPEST} are read; look for "
                "brackets that are not closed.",
            )
        if event.anchor is not None:
            self.anchors[event.anchor] = None  # not to be used before it is complete
        self.stack.append(_Frame(node, anchor=event.anchor, braces=bool(event.flow_style)))

    def close(self) -> None:
        frame = self.stack[-1]
        self.report_duplicates(frame)
        self.stack.pop()
        for key, node in frame.merged.items():
            frame.node.value.setdefault(key, node)
        if frame.anchor is not None:
            self.anchors[frame.anchor] = frame.node
        self.attach(frame.node)

    def alias(self, event: Any) -> None:
        place = self.at(event)
        if event.anchor not in self.anchors:
            self.report(
                place,
                f"{quoted('*' + event.anchor)} repeats a value that no "
                f"{quoted('&' + event.anchor)} above has named.",
                "Put a text that begins with `*` in quotes.",
            )
            node = Node(None, self.file, place.line, place.column)
        else:
            target = self.anchors[event.anchor]
            if target is None:
                raise LimitError(
                    place,
                    f"{quoted('*' + event.anchor)} repeats a value within itself.",
                    "Write the value out.",
                )
            self.spend(target.size, event)
            # An empty value is located where it was reported; all else where it is repeated.
            place = place if target.value is not None else target.place
            node = Node(target.value, target.file, place.line, place.column, size=target.size)
        self.attach(node)

    def attach(self, node: Node) -> None:
        if not self.stack:
            self.root = node
            return
        frame = self.stack[-1]
        parent = frame.node
        if type(parent.value) is list:
            parent.value.append(node)
        elif frame.key is _AS_KEY:
            self.report(
                node.place,
                "A field's name must be a word.",
                "Put a text that begins with `[`, `{` or `*` in quotes.",
            )
            frame.key = _LOST
            return
        elif frame.key is _MERGE:
            # Reported already; the fields are brought in so that none of them is missed as well.
            for table in node.value if isinstance(node.value, list) else [node]:
                if isinstance(table.value, dict):
                    frame.merged = {**table.value, **frame.merged}
            frame.key = _AS_KEY
        elif frame.key is _LOST:
            frame.key = _AS_KEY
            # A lost section or record may hold names that others refer to.
            self.whole = (
                self.whole and len(self.stack) > 1 and not isinstance(node.value, (dict, list))
            )
            return
        else:
            node.key_line, node.key_column = frame.key_line, frame.key_column
            parent.value[frame.key] = node
            frame.key = _AS_KEY
        parent.size += node.size


def _key_trap(trap: Trap, text: str) -> tuple[str, str]:
    return trap.message, f'Write "{text}" in quotes.'


def _key_of_another_kind(text: str, table: dict[str, Node]) -> tuple[str, str]:
    if table and text.isdigit():
        last_word, last = next(reversed(table.items()))
        if type(last.value) is int:
            return (
                f"{quoted(f'{last_word}: {last.value},{text}')} is read as two fields.",
                f"Write a decimal point: {last.value}.{text}",
            )
    return f"The field's name {quoted(text)} is read as no word.", f'Write "{text}" in quotes.'
