"""The volts that amps follow with sources at nominal volts or at ends of their `volts-range`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import combinations
from typing import Literal

from sitegen.catalogue.kinds import SourceKind
from sitegen.solver.network import Network
from sitegen.solver.power import Power

MOST_APART = 4
"""Sources that are set apart in every way; of more only one at a time."""

Place = frozenset[str] | None
"""The sources that are at the top of their range, where the others are at the bottom; None: all are
at their nominal volts.
"""

ALL_LOW: Place = frozenset()

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


def at_top_in_turn(sources: Sequence[str]) -> Iterable[frozenset[str]]:
    """Those of some sources that are at the top, the others at the bottom: in every way; of many
    none, all, one, and all but one.
    """
    every = frozenset(sources)
    if len(sources) <= MOST_APART:
        sizes = range(len(sources) + 1)
        return [frozenset(top) for size in sizes for top in combinations(sources, size)]
    ones = [frozenset([source]) for source in sources]
    return dict.fromkeys([frozenset(), every, *ones, *(every - one for one in ones)])


def battery_places(network: Network) -> tuple[Place, ...]:
    """Where the volts may be that the load of batteries follows: every battery at either end of
    its range, the converters all at the bottom or all at the top; then all at nominal volts.
    """
    ranged = [network.sources[s] for s in network.millivolt_ranges]
    batteries = [s.id for s in ranged if s.kind == "battery"]
    converters = frozenset(s.id for s in ranged if s.kind == "converter")
    if not (network.follow_volts or network.inputs):
        return (ALL_LOW,)
    both = dict.fromkeys((frozenset[str](), converters))
    places = [top | some for top in at_top_in_turn(batteries) for some in both]
    return (*places, None) if batteries or converters else (ALL_LOW,)


def volts_at_place(power: Power, scenario: int, place: Place) -> Mapping[str, int] | None:
    """By node, what amps follow with sources elsewhere in their range, mV; None: the same.

    Who carries what is as at nominal volts.
    """
    network = power.steady.network
    if place is None or not network.millivolt_changes:
        return None
    moved = {s: change[s in place] for s, change in network.millivolt_changes.items()}
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
