"""The volts that amps follow with sources at the ends of their `volts-range`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from sitegen.catalogue.kinds import SourceKind
from sitegen.solver.network import Network
from sitegen.solver.power import Power

RangeEnd = Literal[0, 1, 2, 3]
"""All sources at the bottom of their `volts-range`, or at the top; or all but converters, which are
at the other end: what a converter takes is most with its output at the top and its input at the
bottom.
"""


def range_ends(network: Network) -> tuple[RangeEnd, ...]:
    """The ends that may differ in what amps follow; without a range there is one."""
    kinds = {s.kind == "converter" for s in network.sources.values() if s.volts_range}
    if len(kinds) == 2:
        return (0, 1, 2, 3)
    return (0, 1) if kinds else (0,)


def is_at_top(kind: SourceKind, end: RangeEnd) -> bool:
    """Whether a source of this kind is at the top of its range."""
    return bool(end & 1) != (kind == "converter" and end > 1)


def volts_at_range_end(power: Power, scenario: int, end: RangeEnd) -> Mapping[str, int] | None:
    """By node, what amps follow with sources at ends of their range, mV; None: the same.

    Who carries what is as at nominal volts.
    """
    network = power.steady.network
    moved = {
        s: change[is_at_top(network.sources[s].kind, end)]
        for s, change in network.millivolt_changes.items()
    }
    if not moved:
        return None
    found = {}
    for node in network.nodes:
        offered = [
            level + moved.get(source, 0)
            for source, mask in power.carriers[node].items()
            if mask >> scenario & 1
            for level, where in power.offered[source][node]
            if where >> scenario & 1
        ]
        found[node] = max([0, *offered])
    return found
