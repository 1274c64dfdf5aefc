"""Small helpers for messages: a value as shown in one, a likely word, an article, a count."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

LONGEST_SHOWN = 40
MOST_LISTED = 20
"""A sentence lists so many words at most; the rest are counted."""
LONGEST_GUESSED = 80
"""For a longer word no likely one is looked for."""
SHORTEST_BEGINNING = 3
"""So much of a word must stand for the whole to be meant."""


def cut(text: str, longest: int = LONGEST_SHOWN) -> str:
    """A text on one line, cut when it is long, with no character that a terminal obeys.

    >>> cut("left-main", 6)
    'left-…'
    """
    if len(text) > longest:
        text = text[: longest - 1] + "…"
    return "".join(c if c.isprintable() else repr(c)[1:-1] for c in text)


def shown(value: object) -> str:
    """A value as a message shows it: between backticks, on one line, cut when long.

    >>> shown("left-main")
    '`left-main`'
    """
    return f"`{cut(value if isinstance(value, str) else str(value).lower())}`"


def likely(word: str, known: Iterable[str]) -> str | None:
    """The known word that was probably meant, or None when none comes near.

    A word comes near with a slip or two of the fingers, with its parts in another order, or with
    some of them shortened or left out. Words that differ in a figure only name different things.

    >>> likely("essental", ["left-main", "essential"]), likely("gen-3", ["gen-1", "gen-2"])
    ('essential', None)
    """
    if not word or len(word) > LONGEST_GUESSED:
        return None
    plain = _plain(word)
    best: tuple[tuple[int, int], str] | None = None
    for candidate in sorted(set(known)):
        apart = _apart(plain, _plain(candidate))
        if apart is not None and (best is None or apart < best[0]):
            best = (apart, candidate)
    return best[1] if best else None


def _plain(word: str) -> str:
    return word.lower().replace("_", "-").replace(" ", "-")


def _apart(word: str, other: str) -> tuple[int, int] | None:
    """How far apart two words are, the nearest first; None when too far."""
    if word == other:
        return 0, 0
    if len(word) == len(other) and _FIGURE.sub("0", word) == _FIGURE.sub("0", other):
        return None
    words, others = word.split("-"), other.split("-")
    # Word by word: `gear-indicator` is not `flap-indicator`.
    alike = len(words) == len(others)
    slips = _slips_in_all(words, others) if alike else _slips_in_all([word], [other])
    if slips is not None:
        return 1, slips
    if alike and sorted(words) == sorted(others):
        return 2, 0
    shorter, long = sorted((word, other), key=len)
    if len(shorter) >= SHORTEST_BEGINNING and (
        long.startswith(shorter)
        or long.endswith("-" + shorter)
        or (alike and all(map(_shortened, words, others)))
    ):
        return 3, len(long) - len(shorter)
    return None


_FIGURE = re.compile("[0-9]")


def _shortened(word: str, other: str) -> bool:
    return word.startswith(other) or other.startswith(word)


def _slips_in_all(words: Sequence[str], others: Sequence[str]) -> int | None:
    """The slips between the words of two names, pair by pair; None when any is too far apart."""
    total = 0
    for word, other in zip(words, others, strict=True):
        if word != other:
            longer = max(len(word), len(other))
            allowed = 0 if longer < 3 else 1 if longer < 7 else 2 if longer < 13 else 3
            slips = _slips(word, other, allowed)
            if slips > allowed:
                return None
            total += slips
    return total


def _slips(word: str, other: str, most: int) -> int:
    """How many letters were lost, added, mistaken or exchanged; `most` + 1 for any more."""
    if abs(len(word) - len(other)) > most:
        return most + 1
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, letter in enumerate(word, 1):
        last, before, row = before, row, [i]
        for j, another in enumerate(other, 1):
            slips = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (letter != another))
            if i > 1 and j > 1 and letter == other[j - 2] and word[i - 2] == another:
                slips = min(slips, last[j - 2] + 1)
            row.append(slips)
        if min(row) > most:
            return most + 1
    return row[-1]


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A hint that names the likely word, or nothing.

    >>> did_you_mean("essental", ["essential"])
    'Did you mean `essential`?'
    """
    meant = likely(word, known)
    return f"Did you mean {shown(meant)}?" if meant else ""


def listed(words: Sequence[str], joint: str = "and") -> str:
    """Words as a sentence lists them; of very many only the first, and how many more.

    >>> listed(["bus", "source", "fuse"], "or")
    'bus, source or fuse'
    """
    if len(words) > MOST_LISTED:
        words = [*words[: MOST_LISTED - 1], f"{len(words) - MOST_LISTED + 1} more"]
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {joint} {words[-1]}"


def a(noun: str) -> str:
    """A noun behind its article.

    >>> a("external-power source"), a("bus"), a("equipment")
    ('an external-power source', 'a bus', 'equipment')
    """
    if noun in ("equipment", "battery-time", "aircraft"):
        return noun
    return f"an {noun}" if noun[0] in "aeio" else f"a {noun}"


def counted(count: int | str, one: str, more: str | None = None) -> str:
    """A number with its noun.

    >>> counted(1, "breaker"), counted(3, "breaker"), counted(2, "bus", "buses")
    ('1 breaker', '3 breakers', '2 buses')
    """
    return f"{count} {one if count == 1 else more or one + 's'}"
