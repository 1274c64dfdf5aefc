"""In which order causes are listed, and which of them the next check is to distinguish.

Those of the fewest failures are first, each observation that is left unexplained counted as one
more. The named failures come next: whoever wrote the catalogue expects them, and a check that
leaves them out would say more than it can. Then all the others.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from sitegen.answers.cut_sets import CutSet
from sitegen.answers.explanations import Explanation, rank
from sitegen.answers.near_misses import NearMiss
from sitegen.answers.observations import Observation

NAMED = 1
"""The place of the named failures, between the fewest and the others."""


class CauseGroup(NamedTuple):
    """Causes that are listed together."""

    size: int
    """How many failures each is; 0 for named failures of more than the fewest."""
    numbers: Sequence[int]
    """By their place in the list; near misses follow the last of it."""
    against: tuple[Observation, ...] = ()
    """What each of them leaves unexplained; with a size of 0 it is all that is wrong."""


def ranked(
    explanations: Iterable[Explanation], named: Iterable[CutSet], near: Sequence[NearMiss] = ()
) -> list[Explanation]:
    """As they are listed; of one group in the order in which they come."""
    every = list(explanations)
    fewest, names = _fewest([e.failed for e in every], near), {frozenset(s) for s in named}
    return sorted(every, key=lambda e: (*_group(e.failed, (), fewest, names), *rank(e)))


def in_groups(
    candidates: Sequence[CutSet], named: Iterable[CutSet], near: Sequence[NearMiss] = ()
) -> tuple[CauseGroup, ...]:
    """The groups of ranked candidates and of near misses, in their order."""
    fewest, names = _fewest(candidates, near), {frozenset(s) for s in named}
    groups: dict[tuple[tuple[int, int, int], tuple[Observation, ...]], list[int]] = {}
    every = [*((c, ()) for c in candidates), *((n.failed, n.against) for n in near)]
    for number, (failed, against) in enumerate(every):
        group = _group(failed, against, fewest, names)
        groups.setdefault((group, against), []).append(number)
    return tuple(
        CauseGroup(0 if group[0] == NAMED else len(every[numbers[0]][0]), numbers, against)
        for (group, against), numbers in sorted(groups.items(), key=lambda item: item[0][0])
    )


def likeliest(
    groups: Iterable[CauseGroup],
    candidates: Sequence[CutSet],
    nothing_failed_fits: bool,
) -> list[int]:
    """The numbers of the causes that the next check is to distinguish.

    Those of the fewest failures and the named ones; where that is one alone, the next besides:
    hundreds of triples would choose a check that says nothing about the dozen single failures
    before them.
    """
    by_cost: dict[int, list[int]] = {}
    for size, numbers, against in groups:
        by_cost.setdefault(size + len(against), []).extend(numbers)
    likely = by_cost.pop(0, [])
    for cost in sorted(by_cost):
        likely += by_cost[cost]
        different = {frozenset(candidates[n]) if n < len(candidates) else n for n in likely}
        if len(different) + nothing_failed_fits > 1:
            break
    return sorted(likely)


def _fewest(sets: Sequence[CutSet], near: Sequence[NearMiss]) -> int:
    costs = [*map(len, sets), *(len(n.failed) + len(n.against) for n in near)]
    return min(costs, default=0)


def _group(
    failed: CutSet,
    against: tuple[Observation, ...],
    fewest: int,
    named: set[frozenset[tuple[str, str]]],
) -> tuple[int, int, int]:
    cost = len(failed) + len(against)
    if cost == fewest:
        return 0, cost, len(against)
    if not against and frozenset(failed) in named:
        return NAMED, 0, 0
    return NAMED + 1, cost, len(against)
