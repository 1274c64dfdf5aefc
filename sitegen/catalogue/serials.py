"""Serial numbers of an airframe: `1-24, 31, 59-`, so that a reader can ask for one."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from itertools import pairwise

PATTERN = re.compile(r"^\s*([0-9]{1,9})\s*(?:(-)\s*([0-9]{1,9})?)?\s*$")
HIGHEST = 10**9
"""The end of a range that is open."""

Range = tuple[int, int]


def ranges(text: str) -> list[Range]:
    """The first and last serial of each range.

    Raises
    ------
    ValueError
        What is wrong with the text, as the end of a sentence.

    Examples
    --------
    >>> ranges("1-24, 31, 59-")
    [(1, 24), (31, 31), (59, 1000000000)]
    """
    found = []
    for part in text.split(","):
        match = PATTERN.match(part)
        if not match:
            raise ValueError(
                f"'{part.strip()}' is neither a number nor a range such as 1-24 or 59-"
            )
        first = int(match[1])
        last = first if not match[2] else int(match[3]) if match[3] else HIGHEST
        if last < first:
            raise ValueError(f"the range '{part.strip()}' ends before it begins")
        found.append((first, last))
    return found


def disjoint(named: Mapping[str, Iterable[Range]]) -> dict[frozenset[str], list[Range]]:
    """The serials of several overlapping names, by the names that have them.

    >>> disjoint({"a": [(1, 10)], "b": [(5, 20)]})[frozenset("ab")]
    [(5, 10)]
    """
    found: dict[frozenset[str], list[Range]] = {}
    every = [(one, r) for one, of_one in named.items() for r in of_one]
    edges = sorted({edge for _, (first, last) in every for edge in (first, last + 1)})
    for begin, after in pairwise(edges):
        names = frozenset(one for one, (first, last) in every if first <= begin <= last)
        if names:
            found.setdefault(names, []).append((begin, after - 1))
    return found


def ranges_text(of_one: Iterable[Range]) -> str:
    """Ranges as they are written in a catalogue.

    >>> ranges_text([(1, 24), (31, 31), (59, HIGHEST)])
    '1-24, 31, 59-'
    """
    words = []
    for first, last in of_one:
        end = "-" if last == HIGHEST else f"-{last}" if last > first else ""
        words.append(f"{first}{end}")
    return ", ".join(words)


def shared_serials(one: Iterable[Range], other: Iterable[Range]) -> Range | None:
    """The first range of serials that both have.

    >>> shared_serials([(1, 24)], [(20, 58)]), shared_serials([(1, 24)], [(25, 58)])
    ((20, 24), None)
    """
    others = list(other)
    for first, last in one:
        for begin, end in others:
            if first <= end and begin <= last:
                return max(first, begin), min(last, end)
    return None
