"""Where the value ends that a finding points at, for editors that underline it."""

from __future__ import annotations

import re
from collections.abc import Mapping

from sitegen.catalogue.findings import Place

_TOKEN = re.compile(
    r'"(?:[^"\\]|\\.)*"'
    r"|'(?:[^']|'')*'"
    r"|[^\s\[\]{},:#][^\[\]{},\n]*?(?=\s*(?:[\[\]{},]|: |:$| #|$))"
    r"|."
)


def end_column(place: Place, texts: Mapping[str, str]) -> int:
    """The column after the last character of what is at a place; at least one further.

    >>> end_column(Place("a.yaml", 1, 5), {"a.yaml": "id: left-main  # a bus"})
    14
    """
    lines = texts.get(place.file, "").split("\n", place.line)
    line = lines[place.line - 1].rstrip("\r") if place.line <= len(lines) else ""
    start = place.column - 1
    if line[start : start + 1] in ("{", "["):
        return _closing(line, start) + 1
    found = _TOKEN.match(line, start)
    return max(found.end() + 1 if found else 0, place.column + 1)


def _closing(line: str, start: int) -> int:
    """The index after the bracket that closes the one at an index; the line's end without one.

    >>> _closing("- {a: [b, c]}  # d", 2)
    13
    """
    depth = 0
    for index, character in enumerate(line[start:], start):
        depth += (character in "{[") - (character in "}]")
        if depth == 0:
            return index + 1
    return len(line.rstrip())
