"""The volts that amps follow with all sources at one end of their `volts-range`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from sitegen.solver.power import Power

RangeEnd = Literal[0, 1]
"""Sources at the bottom of their `volts-range`, or at the top."""


def volts_at_range_end(power: Power, scenario: int, end: RangeEnd) -> Mapping[str, int] | None:
    """By node, what amps follow with sources at an end of their range, mV; None: the same.

    Who carries what is as at nominal volts.
    """
    network = power.steady.network
    moved = {s: change[end] for s, change in network.millivolt_changes.items()}
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
