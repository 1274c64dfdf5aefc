"""The smallest explanations of what is seen: sets of failures that hold no smaller one.

All sets of up to three failures are tried, the smaller ones first. One that holds an explanation is
none, so it is not asked about: what costs most to work out is what meters read. Single failures
that do not explain it at the volts of the catalogue are tried with the sources elsewhere in their
ranges; pairs are so where nothing else explains it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import reduce
from itertools import islice
from operator import and_
from typing import NamedTuple

from sitegen.answers.cut_sets import CutSet, grouped_by_effect, ungrouped
from sitegen.answers.drop import Loss, losses
from sitegen.answers.elsewhere_in_range import Airframe, Elsewhere
from sitegen.answers.overload import open_by_overload, what_is_overloaded_opens
from sitegen.answers.three_answers import ANSWERS, Answer
from sitegen.solver.outcome import Outcome, off_line, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import (
    Fault,
    Scenario,
    Scenarios,
    bits,
    every_set,
    every_single,
    scenarios_of,
    singles_and_pairs,
    union,
)

PossibleWith = Callable[[Sequence[Elsewhere], Sequence[Fault]], Iterable[int]]
"""(airframes, faults) -> by airframe the faults, by their place, that may explain it there."""

Explains = Callable[[Power, int], int]
"""(what is powered, scenarios that are asked about) -> those of them in which all is as seen."""


class Explanation(NamedTuple):
    """What fails, in which answer and at which volts that explains what is seen."""

    failed: CutSet
    answer: Answer = "expected"
    at: int = 0
    """The number of the airframe, of those at other volts of its sources; 0: as it is."""


def explaining_sets(
    airframe: Airframe,
    elsewhere: Mapping[int, Elsewhere],
    condition: str,
    explains: Explains,
    possible_with: PossibleWith,
    order: int,
    own_faults: Iterable[Fault],
    pairs_elsewhere: bool,
) -> list[Explanation]:
    """The sets of one to `order` failures that explain what is seen and hold no smaller one.

    Parameters
    ----------
    airframe, elsewhere : as it is, and by its number at other volts of its sources.
    condition : in which.
    explains, possible_with : whether all is as seen; which single failures may explain it there.
    order : the most failures in a set, 1 to 3.
    own_faults : failures of breakers that feed nothing but what is seen. The other failures that
        are tried can change what the buses do.
    pairs_elsewhere : whether pairs are tried at other volts, where nothing else explains it.

    Returns
    -------
    The smallest first; those of one size that explain it as the airframe is come first, then in the
    network's order.
    """
    network, _ = airframe
    groups = {**grouped_by_effect(network), **{fault: (fault,) for fault in own_faults}}
    combined = set(network.combined_faults)
    found: dict[CutSet, int] = {}

    def search(block: Scenarios, size: int, at: int, possible: int = -1) -> None:
        # What explains it alone is in no larger set that is tried.
        known = [s for s in found if len(s) == min(size, 2)]
        holding = (reduce(and_, (block.failed.get(f, 0) for f in s)) for s in known)
        among = block.of_size.get(size, 0) & possible & ~union(holding)
        if among:
            of, before = elsewhere[at].airframe if at else airframe
            after = solve(of, block, before).after
            for failed in (block.at(k).faults for k in bits(explains(after, among))):
                # One component does not fail in two modes at a time.
                if len({component for component, _ in failed}) == size:
                    found.setdefault(failed, at)

    singles = every_single([condition], list(groups))
    search(singles, 1, 0)
    possible = possible_with([*elsewhere.values()], list(groups))
    for at, where in zip(elsewhere, possible, strict=True):
        search(singles, 1, at, where)
    alone = {fault for (fault,) in found}
    left = [fault for fault in groups if fault in combined and fault not in alone]
    # What no short is in is solved in one pass: it is apart from the rest.
    left.sort(key=lambda fault: fault[1] != "shorted")
    shorts = sum(mode == "shorted" for _, mode in left)
    pairs = [(left, shorts), (left[shorts:], None)] if order > 1 else []
    blocks = [singles_and_pairs(condition, *of) for of in pairs]
    for block in blocks:
        search(block, 2, 0)
    if not found and pairs_elsewhere:
        for at in (at for at, moved in elsewhere.items() if moved.pairs):
            for block in blocks:
                search(block, 2, at)
    for block in islice(every_set(condition, left, order), 1, None) if order > 2 else ():
        search(block, 3, 0)
    place = {fault: i for i, fault in enumerate(network.faults)}
    every = [
        Explanation(failed, at=at)
        for at in sorted({*found.values()})
        for failed in ungrouped(
            network, [tuple(groups[f] for f in s) for s, where in found.items() if where == at]
        )
    ]
    return sorted(every, key=lambda e: (*rank(e), [place[f] for f in e.failed]))


def rank(explanation: Explanation) -> tuple[int, bool]:
    """Those of the fewest failures first, and of these what explains it as the airframe is."""
    return len(explanation.failed), bool(explanation.at)


def answer_outcome(
    airframe: Airframe, condition: str, sets: Sequence[CutSet], answer: Answer
) -> Outcome:
    """One answer of some failures."""
    network, before = airframe
    scenarios = scenarios_of([Scenario(condition, faults) for faults in sets])
    outcome = solve(network, scenarios, before, dip=answer == "drop-out")
    return what_is_overloaded_opens(outcome) if answer == "overload" else outcome


def meaning_of(
    airframes: Mapping[int, Airframe],
    condition: str,
    explanations: Sequence[Explanation],
    source_off: str | None = None,
) -> list[Loss]:
    """What each means in its answer, at its volts.

    Parameters
    ----------
    airframes : by the number that explanations give.
    condition, explanations : what has failed, and where.
    source_off : a source that is taken off line after it has failed.
    """
    found: dict[Explanation, Loss] = {}
    for at in sorted({e.at for e in explanations}):
        for answer in ANSWERS:
            chosen = [e for e in explanations if (e.at, e.answer) == (at, answer)]
            if chosen:
                sets = [e.failed for e in chosen]
                outcome = answer_outcome(airframes[at], condition, sets, answer)
                if source_off:
                    outcome = off_line(outcome, source_off)
                    if answer == "overload":
                        outcome, _ = open_by_overload(outcome)
                found.update(zip(chosen, losses(outcome), strict=True))
    return [found[e] for e in explanations]
