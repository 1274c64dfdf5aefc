"""In which scenarios the least that something carries may reach its limit: a quick upper bound.

What a branch carries at least comes from sources every one of whose ways to a node passes it.
Without the branch such a source reaches its near end, and the node is reached from its far end and
not from the near one: so all that can be drawn at these nodes is a bound, found for all scenarios
at once. Only scenarios in which it reaches a limit have to be worked out exactly (`overload.py`).
"""

from __future__ import annotations

import math
from collections.abc import Container, Iterator, Mapping, Sequence

from sitegen.quantities import Fraction
from sitegen.solver.graph import (
    arcs,
    backwards,
    by_start,
    masked_arcs,
    reach,
    spread,
)
from sitegen.solver.load_figures import exact
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome
from sitegen.solver.power import Power
from sitegen.solver.scenarios import union

ENDLESS = Fraction(10**9)
"""In place of amps that no bound is known of."""

PER_AMP = 10
"""Bounds are whole tenths of an ampere, rounded up; limits are rounded down."""


def may_have_to_open(outcome: Outcome, limits: Mapping[str, Fraction]) -> int:
    """The scenarios in which any device may reach its limit, as a mask; in no other one does.

    Parameters
    ----------
    outcome : scenarios in answer 1.
    limits : by device in a feeder, the amps at which it must open.
    """
    network, steady = outcome.network, outcome.after.steady
    drawn = _drawn(outcome.after)
    found = 0
    for number, branch in enumerate(network.branches):
        limit = min((limits[d] for d in branch.through if d in limits), default=None)
        mask = steady.branch_masks[number]
        if branch.into_converter or limit is None or not mask:
            continue
        without = [*steady.branch_masks]
        without[number] = 0
        ways = masked_arcs(network, without, steady.setting.bypassed, None)
        powered = spread(steady.produces, ways, steady.passes)
        back = backwards(branch, mask, steady.setting.bypassed)
        for start, end, passing in (
            (branch.origin, branch.target, mask),
            (branch.target, branch.origin, back),
        ):
            seed = passing & powered[start] & ~found
            if seed:
                beyond = spread({end: seed}, ways, steady.passes)
                near = spread({start: seed}, ways, steady.passes)
                found |= _sum_at_least(
                    [(drawn[node], mask & ~near[node]) for node, mask in beyond.items()],
                    math.floor(limit * PER_AMP),
                )
    return found


BitSum = list[int]
"""A whole number in every scenario: item i has bit i of it, as a mask."""


def _drawn(power: Power) -> dict[str, BitSum]:
    """By node: the most that can be drawn there, in whole tenths of an ampere."""
    network = power.steady.network
    levels = {
        node: [level for level, _ in power.steady.levels[node] if level] for node in network.nodes
    }
    at_most = dict.fromkeys(network.nodes, Fraction())
    found: dict[str, BitSum] = {node: [] for node in network.nodes}
    for item in network.equipment:
        figures = [of[item] or Fraction() for (_, peak), of in network.figures.items() if not peak]
        fed: dict[str, int] = {}
        for connection, mask in zip(network.connections[item], power.fed[item], strict=True):
            fed[connection.bus] = fed.get(connection.bus, 0) | mask
        for bus, mask in fed.items():
            if mask:
                amps = max(figures) * _factor(network, item, levels[bus])
                at_most[bus] += amps
                _add_weight(found[bus], math.ceil(amps * PER_AMP), mask)
    for node, amps in _inputs(network, at_most, levels):
        _add_weight(found[node], math.ceil(amps * PER_AMP), power.steady.live[node])
    return found


def _factor(network: Network, item: str, levels: Sequence[int]) -> Fraction:
    """By how much the amps of an item may be more than its figure."""
    taken_at = network.load_millivolts
    if item not in network.follow_volts or taken_at is None or not levels:
        return Fraction(1)
    return max(Fraction(taken_at, min(levels)), Fraction(max(levels), taken_at))


def _inputs(
    network: Network, drawn: Mapping[str, Fraction], levels: Mapping[str, list[int]]
) -> list[tuple[str, Fraction]]:
    """(node, A) of what converters draw from the nodes that feed them, at the most."""
    neighbours = by_start(arcs(network, converters=False))
    known: dict[str, Fraction | None] = {}

    def given(converter: str) -> Fraction:
        """All that can be drawn of its output."""
        if converter not in known:
            known[converter] = None
            nodes = reach(neighbours, [converter])
            own = sum((drawn[node] for node in nodes), Fraction())
            known[converter] = own + sum((a for n, a in taken(nodes)), Fraction())
        amps = known[converter]
        return ENDLESS if amps is None else amps  # it carries its own input

    def taken(nodes: Container[str]) -> Iterator[tuple[str, Fraction]]:
        for branch in network.branches:
            if branch.into_converter and branch.origin in nodes and levels[branch.origin]:
                record = network.sources[branch.target]
                # Where the diodes leave nothing, nothing is known that it takes.
                left = min(levels[branch.origin]) - sum(
                    network.millivolts[d] for d in branch.diodes
                )
                at = exact(record.efficiency) * max(left, 1)
                output = network.millivolts[branch.target] * given(branch.target)
                yield branch.origin, output / at

    return list(taken(network.nodes))


def _add_weight(total: BitSum, weight: int, mask: int) -> None:
    """Add a weight in the scenarios of a mask."""
    for place in range(weight.bit_length()):
        if weight >> place & 1:
            _add(total, place, mask)


def _add(total: BitSum, place: int, carry: int) -> None:
    """Add 2 ** place in the scenarios of a mask."""
    while carry:
        total += [0] * (place + 1 - len(total))
        total[place], carry = total[place] ^ carry, total[place] & carry
        place += 1


def _sum_at_least(parts: Sequence[tuple[BitSum, int]], limit: int) -> int:
    """The scenarios in which numbers, each where its mask holds, add up to the limit or more.

    >>> both = [([0b11, 0b11], 0b01), ([0, 0, 0b11], 0b11)]  # 3 in one, 4 in both
    >>> bin(_sum_at_least(both, 4)), bin(_sum_at_least(both, 5))
    ('0b11', '0b1')
    """
    total: BitSum = []
    for number, mask in parts:
        for place, bit in enumerate(number):
            _add(total, place, bit & mask)
    over, equal = 0, union(mask for _, mask in parts)
    for place in reversed(range(max(len(total), limit.bit_length()))):
        bit = total[place] if place < len(total) else 0
        if limit >> place & 1:
            equal &= bit
        else:
            over |= equal & bit
            equal &= ~bit
    return over | equal
