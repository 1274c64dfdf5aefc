"""Serial numbers of an airframe: `1-24, 31, 59-`, so that a reader can ask for one."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from functools import lru_cache
from itertools import pairwise

from sitegen.words import shortened

PATTERN = re.compile(r"^\s*([0-9]{1,9})\s*(?:(-)\s*([0-9]{1,9})?)?\s*$")
HIGHEST = 10**9
"""The end of a range that is open."""

Range = tuple[int, int]

_NUMBERED = (
    r"(?:(?:(?:serial|airframe)s?(?: (?:no|number)s?)?|s/?ns?|msns?|nos?)(?![a-z])\.?:?|#)\s*"
)
_JOINT = re.compile(rf"\s*[,;]\s*|\s*(?:\band\b|&)\s*(?=(?:{_NUMBERED})?\d)")
_TO = r"(?:-+|\.{2,}|(?:up )?to|through|thru|till|until)"
_SPOKEN = re.compile(
    r"(?:(?P<up_to>up to|until|till|through|to)|(?P<on>from))?\s*"
    rf"(?:{_NUMBERED})?(?P<first>\d{{1,9}})"
    rf"(?:\s*(?:(?:{_TO})\s*(?:{_NUMBERED})?(?P<last>\d{{1,9}})"
    r"|(?P<open>-+|\+|(?:and|&)?\s*(?:on|up|upwards?|after|above|later|higher|onwards?|subs?|subsequent"
    r"|following|thereafter)|(?:to|through|-) (?:the )?end)))?"
)


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


@lru_cache(maxsize=256)
def spoken_ranges(text: str) -> tuple[Range | str, ...]:
    """What the cell of a list says of serials: ranges, and texts that may name airframes.

    Raises
    ------
    ValueError
        What is wrong with a part that can only be meant as numbers.

    Examples
    --------
    >>> spoken_ranges("S/N 1 through 24; 31 and 59 & on, Block 2")
    ((1, 24), (31, 31), (59, 1000000000), 'Block 2')
    """
    dashed = re.sub("[\N{HYPHEN}-\N{HORIZONTAL BAR}\N{MINUS SIGN}]", "-", text)
    found: list[Range | str] = []
    for part in filter(None, _JOINT.split(dashed.strip())):
        match = _SPOKEN.fullmatch(part.lower())
        if match is None or (match["up_to"] and (match["last"] or match["open"])):
            if not part[0].isalpha():
                raise ValueError(
                    f"'{shortened(part)}' is no serial number, range or airframe."
                    " Write 12, 12-18 or 12-."
                )
            found.append(part)
            continue
        first = int(match["first"])
        last = int(match["last"] or (HIGHEST if match["open"] or match["on"] else first))
        first = min(first, 1) if match["up_to"] else first
        if last < first:
            raise ValueError(f"the range '{shortened(part)}' ends before it begins")
        found.append((first, last))
    return tuple(found)


def joined(of_some: Iterable[Range]) -> list[Range]:
    """Ranges in order, with those that overlap or touch made one.

    >>> joined([(20, 58), (1, 24), (59, 60), (70, 70)])
    [(1, 60), (70, 70)]
    """
    made: list[Range] = []
    for first, last in sorted(of_some):
        if made and first <= made[-1][1] + 1:
            first, last = made[-1][0], max(made.pop()[1], last)
        made.append((first, last))
    return made


def disjoint(named: Mapping[str, Iterable[Range]]) -> dict[frozenset[str], list[Range]]:
    """The serials of several overlapping names, by the names that have them.

    >>> disjoint({"a": [(1, 10)], "b": [(5, 20)]})[frozenset("ab")]
    [(5, 10)]
    """
    steps: dict[int, list[tuple[str, int]]] = {}
    for one, of_one in named.items():
        for first, last in of_one:
            steps.setdefault(first, []).append((one, 1))
            steps.setdefault(last + 1, []).append((one, -1))
    found: dict[frozenset[str], list[Range]] = {}
    active: Counter[str] = Counter()
    for begin, after in pairwise(sorted(steps)):
        for one, step in steps[begin]:
            active[one] += step
        names = frozenset(+active)
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
