"""In which order causes are listed, and how many of them the next check is to distinguish.

Those of the fewest failures are first. The named failures come next: whoever wrote the catalogue
expects them, and a check that leaves them out would say more than it can. Then all the others.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import NamedTuple

from sitegen.answers.cut_sets import CutSet
from sitegen.answers.explanations import Explanation, rank


class CauseGroup(NamedTuple):
    """Causes that are listed together."""

    size: int
    """How many failures each is; 0 for named failures of more than the fewest."""
    numbers: Sequence[int]
    """By their place in the list."""


def ranked(explanations: Iterable[Explanation], named: Iterable[CutSet]) -> list[Explanation]:
    """As they are listed; of one group in the order in which they come."""
    every = list(explanations)
    fewest, names = _fewest(e.failed for e in every), {frozenset(s) for s in named}
    return sorted(every, key=lambda e: (*_group(e.failed, fewest, names), *rank(e)))


def in_groups(candidates: Sequence[CutSet], named: Iterable[CutSet]) -> tuple[CauseGroup, ...]:
    """The groups of ranked candidates, in their order."""
    fewest, names = _fewest(candidates), {frozenset(s) for s in named}
    by_group = groupby(range(len(candidates)), lambda i: _group(candidates[i], fewest, names))
    return tuple(CauseGroup(size, list(numbers)) for (_, size), numbers in by_group)


def likeliest(
    groups: Iterable[CauseGroup], candidates: Sequence[CutSet], nothing_failed_fits: bool
) -> int:
    """How many candidates, from the first, the next check is to distinguish.

    Those of the fewest failures and the named ones; where that is one alone, the next size besides:
    hundreds of triples would choose a check that says nothing about the dozen single failures
    before them.
    """
    every = list(groups)
    for i, group in enumerate(every):
        end = group.numbers[-1] + 1
        count = len({frozenset(failed) for failed in candidates[:end]}) + nothing_failed_fits
        named_follow = any(not after.size for after in every[i + 1 :])
        if count > 1 and not named_follow:
            return end
    return len(candidates)


def _fewest(sets: Iterable[CutSet]) -> int:
    return min(map(len, sets), default=0)


def _group(failed: CutSet, fewest: int, named: set[frozenset[tuple[str, str]]]) -> tuple[int, int]:
    if len(failed) == fewest:
        return 0, fewest
    return (1, 0) if frozenset(failed) in named else (2, len(failed))
