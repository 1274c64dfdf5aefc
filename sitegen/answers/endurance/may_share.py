"""Which batteries may share their load, or carry it in place of each other."""

from __future__ import annotations

from functools import cache
from itertools import combinations, permutations

from sitegen.solver.outcome import Outcome
from sitegen.solver.power import SHARING_MILLIVOLTS
from sitegen.solver.scenarios import union
from sitegen.solver.volts import diode_drops


def may_share(outcome: Outcome) -> dict[tuple[str, str], int]:
    """By pair of batteries: one carries load, and the other might.

    At one node, or at two that feed one item or converter, which draws from the higher: a generator
    at one of them leaves the batteries nothing to share.
    """
    network, power = outcome.network, outcome.after
    batteries = [s for s, record in network.sources.items() if record.kind == "battery"]
    changes = network.millivolt_changes
    at_one_node = {(node, node, 0): -1 for node in network.loaded_nodes}
    found = {}

    @cache
    def may_carry(battery: str, node: str) -> int:
        """Where what carries a node may be no higher than the battery, each within its range."""
        highest = changes.get(battery, (0, 0))[1] + SHARING_MILLIVOLTS
        return union(
            here & mask & where
            for source, where in power.carriers[node].items()
            for level, here in power.offered[battery][node]
            for shown, mask in power.steady.levels[node]
            if shown + changes.get(source, (0, 0))[0] <= level + highest
        )

    for one, other in combinations(batteries, 2):
        (low, high), (other_low, other_high) = (changes.get(s, (0, 0)) for s in (one, other))
        found[one, other] = union(
            fed
            & here
            & there
            & (power.carriers[node].get(one, 0) | power.carriers[other_node].get(other, 0))
            & may_carry(one, node)
            & may_carry(other, other_node)
            for nodes, within in (
                (at_one_node, SHARING_MILLIVOLTS),
                (_fed_from_two(outcome), 0),
            )
            for (node, other_node, more), fed in nodes.items()
            for level, here in power.offered[one][node]
            for other_level, there in power.offered[other][other_node]
            if level + high >= other_level + more + other_low - within
            and other_level + more + other_high >= level + low - within
        )
    return found


def _fed_from_two(outcome: Outcome) -> dict[tuple[str, str, int], int]:
    """By two nodes, and how much more the diodes of the first one's feed drop, mV: where they feed
    one item that works from either, or one converter.
    """
    network, power, steady = outcome.network, outcome.after, outcome.after.steady
    inputs: dict[str, list[tuple[str, int, int]]] = {}
    for branch, mask in zip(network.branches, steady.branch_masks, strict=True):
        if branch.into_converter:
            live = mask & steady.live[branch.origin] & steady.produces[branch.target]
            inputs.setdefault(branch.target, []).extend(
                (branch.origin, drop, where)
                for drop, where in diode_drops(network, branch, live, steady.setting).items()
            )
    for item, record in network.equipment.items():
        if record.needs == "any":
            on = ~power.shed.get(item, 0)
            inputs[item] = [
                (connection.bus, 0, mask & on)
                for connection, mask in zip(network.connections[item], power.fed[item], strict=True)
            ]
    found: dict[tuple[str, str, int], int] = {}
    for fed in inputs.values():
        for (node, drop, here), (other, other_drop, there) in permutations(fed, 2):
            if here & there:
                key = node, other, drop - other_drop
                found[key] = found.get(key, 0) | here & there
    return found
