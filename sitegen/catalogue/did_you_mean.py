"""The known name that a misspelt one probably means.

The edit distance is rapidfuzz's. Its ratios are not used: none of them distinguishes `gen-2` from a
misspelt `gen-3` and still recognizes `generator-1` as `gen-1`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from sitegen.words import quoted

LONGEST_GUESSED = 80
"""For a longer word no similar one is looked for."""
SHORTEST_BEGINNING = 3
"""The fewest letters that may abbreviate a word."""

_OTHER_NUMBER = 4
_FIGURE = re.compile("[0-9]")


def similar(word: str, known: Iterable[str]) -> list[str]:
    """The known words that resemble one, the most similar first.

    Similar is a word with an edit or two, with its parts in another order, or with some of them
    abbreviated or left out; after those, one that differs in its figures only.

    >>> similar("boost-lef", ["boost-left-aft", "boost-left", "pitot-left"])
    ['boost-left', 'boost-left-aft']
    """
    return [candidate for _, candidate in _ranked(word, known)]


def closest(word: str, known: Iterable[str]) -> str | None:
    """The known word that was probably meant, or None when none is similar.

    Words that differ in their figures only name different things.

    >>> closest("essental", ["left-main", "essential"]), closest("gen-3", ["gen-1", "gen-2"])
    ('essential', None)
    >>> closest("kbattery", ["battery", "k-battery"])
    'k-battery'
    """
    ranked = _ranked(word, known)
    return ranked[0][1] if ranked and ranked[0][0][0] < _OTHER_NUMBER else None


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A hint that names the closest word, or nothing.

    >>> did_you_mean("essental", ["essential"])
    'Did you mean `essential`?'
    """
    meant = closest(word, known)
    return f"Did you mean {quoted(meant)}?" if meant else ""


def _ranked(word: str, known: Iterable[str]) -> list[tuple[tuple[int, int], str]]:
    if not word or len(word) > LONGEST_GUESSED:
        return []
    kebab = _kebab(word)
    distances = ((_distance(kebab, _kebab(candidate)), candidate) for candidate in set(known))
    return sorted((distance, candidate) for distance, candidate in distances if distance)


def _kebab(word: str) -> str:
    return word.lower().replace("_", "-").replace(" ", "-")


def _distance(word: str, other: str) -> tuple[int, int] | None:
    """How two words differ and by how much, the most similar first; None when too much."""
    if word == other:
        return 0, 0
    if len(word) == len(other) and _FIGURE.sub("0", word) == _FIGURE.sub("0", other):
        return _OTHER_NUMBER, 0
    words, others = word.split("-"), other.split("-")
    if word.replace("-", "") == other.replace("-", ""):
        return 1, 0
    # Part by part: `gear-indicator` is not `flap-indicator`.
    same_count = len(words) == len(others)
    edits = _edits(words, others) if same_count else _edits([word], [other])
    if edits is not None:
        return 1, edits
    if same_count and sorted(words) == sorted(others):
        return 2, 0
    shorter, longer = sorted((word, other), key=len)
    if len(shorter) >= SHORTEST_BEGINNING and (
        longer.startswith(shorter)
        or longer.endswith("-" + shorter)
        or (same_count and all(map(_is_abbreviation, words, others)))
    ):
        return 3, len(longer) - len(shorter)
    return None


def _is_abbreviation(word: str, other: str) -> bool:
    return word.startswith(other) or other.startswith(word)


def _edits(words: Sequence[str], others: Sequence[str]) -> int | None:
    """The edits between the parts of two names, pair by pair; None when there are too many."""
    from rapidfuzz.distance import OSA  # most commands have no mistake to explain

    total = 0
    for word, other in zip(words, others, strict=True):
        longer = max(len(word), len(other))
        allowed = 0 if longer < 3 else 1 if longer < 7 else 2 if longer < 13 else 3
        edits = OSA.distance(word, other, score_cutoff=allowed)
        if edits > allowed:
            return None
        total += edits
    return total
