"""The smallest explanations of what is seen: sets of failures that hold no smaller one.

All sets of up to three failures are tried, the smaller ones first. One that holds an explanation is
none, so it is not asked about: what costs most to work out is what meters read.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import reduce
from operator import and_

from sitegen.answers.cut_sets import CutSet, grouped_by_effect, ungrouped
from sitegen.solver.network import Network
from sitegen.solver.outcome import solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Fault, Scenarios, bits, every_set, every_single, union

Explains = Callable[[Power, int], int]
"""(what is powered, scenarios that are asked about) -> those of them in which all is as seen."""


def explaining_sets(
    network: Network,
    condition: str,
    explains: Explains,
    order: int,
    before: Power,
    own_faults: Iterable[Fault],
) -> tuple[CutSet, ...]:
    """The sets of one to `order` failures that explain what is seen and hold no smaller one.

    Parameters
    ----------
    network, condition, before : the airframe, and its conditions in steady state.
    explains : whether all is as seen.
    order : the most failures in a set, 1 to 3.
    own_faults : failures of breakers that feed nothing but what is seen. The other failures that
        are tried can change what the buses do.

    Returns
    -------
    The smallest first, those of one size in the network's order.
    """
    groups = {**grouped_by_effect(network), **{fault: (fault,) for fault in own_faults}}
    combined = set(network.combined_faults)
    found: list[CutSet] = []

    def search(block: Scenarios, size: int) -> None:
        # What explains it alone is in no larger set that is tried.
        known = [s for s in found if 1 < len(s) < size]
        holding = (reduce(and_, (block.failed.get(f, 0) for f in s)) for s in known)
        among = block.of_size.get(size, 0) & ~union(holding)
        if among:
            outcome = solve(network, block, before)
            sets = [block.at(k).faults for k in bits(explains(outcome.after, among))]
            # One component does not fail in two modes at a time.
            found.extend(s for s in sets if len({component for component, _ in s}) == size)

    search(every_single([condition], list(groups)), 1)
    alone = {fault for (fault,) in found}
    left = [fault for fault in groups if fault in combined and fault not in alone]
    for block in every_set(condition, left, order) if order > 1 else ():
        search(block, max(block.of_size))
    return ungrouped(network, [tuple(groups[f] for f in members) for members in found])
