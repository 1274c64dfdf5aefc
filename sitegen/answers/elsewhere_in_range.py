"""An aircraft whose sources are elsewhere in their `volts-range` than at their volts.

What goes by volts, `min-volts` and closing conditions, may then be otherwise than at nominal volts
though nothing has failed, or after a failure.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import product

from sitegen.answers.observations import Observation
from sitegen.answers.readings import Reading
from sitegen.solver.load_figures import millivolts
from sitegen.solver.network import Network
from sitegen.solver.outcome import condition_states
from sitegen.solver.power import Power

MOST_TRIED = 256
"""Ways to set the sources apart; with more, all are at the same end of their ranges."""

MOST_WITH_FAILURES = 16
"""Ways to set them apart in which failures are tried; with more, one source at a time is moved."""

Airframe = tuple[Network, Power]
"""At certain volts of its sources; its conditions with nothing failed."""


def anywhere_in_range(
    network: Network, condition: str, observations: Sequence[Observation]
) -> Iterator[Airframe]:
    """The airframe with its sources at other volts than their own, nothing failed.

    Without a range, each at volts that are read, behind a diode or not, or at the bottom or the top
    of its range. None where nothing goes by volts.
    """
    points = _read_in_range(network, condition, observations)
    ranges = {s: network.millivolt_ranges[s] for s in points}
    every = [dict.fromkeys((*read, *ranges[s])) for s, read in points.items()]
    apart = math.prod(map(len, every)) <= MOST_TRIED
    chosen = product(*every) if apart else zip(*ranges.values(), strict=True)
    for at in chosen if points else ():
        yield _moved(network, dict(zip(points, at, strict=True)))


def with_failures(
    network: Network, condition: str, observations: Sequence[Observation]
) -> Iterator[Airframe]:
    """The airframe at other volts of its sources, for failures that its own volts do not explain.

    Sources are moved to volts that are read, behind a diode or not, the fewest at a time first;
    then all to the bottom of their ranges, and all to the top.
    """
    points = _read_in_range(network, condition, observations)
    if not points:
        return
    own = [(None, *read) for read in points.values()]
    if math.prod(map(len, own)) <= MOST_WITH_FAILURES:
        ways = sorted(product(*own), key=lambda way: sum(mv is not None for mv in way))
    else:
        ways = [
            tuple(mv if i == place else None for i in range(len(own)))
            for place, read in enumerate(own)
            for mv in read[1:]
        ]
    ends = zip(*(network.millivolt_ranges[s] for s in points), strict=True)
    for way in (*ways, *ends):
        moved = {s: mv for s, mv in zip(points, way, strict=True) if mv is not None}
        if moved:
            yield _moved(network, moved)


def _read_in_range(
    network: Network, condition: str, observations: Sequence[Observation]
) -> dict[str, list[int]]:
    """By source of the condition that has a range: the volts in it that a meter may mean, mV.

    Empty where nothing goes by volts.
    """
    if not network.goes_by_volts:
        return {}
    here = next(c for c in network.catalogue.conditions if c.id == condition)
    read = [
        millivolts(float(o.seen.number))
        for o in observations
        if isinstance(o.seen, Reading) and o.seen.kind == "figure" and o.seen.unit == "V"
    ]
    of_diodes = (mv for i, mv in network.millivolts.items() if i not in network.sources)
    drops = dict.fromkeys((0, *of_diodes))
    return {
        s: list(dict.fromkeys(v + d for v in read for d in drops if low <= v + d <= high))
        for s, (low, high) in network.millivolt_ranges.items()
        if s in here.sources
    }


def _moved(network: Network, at: Mapping[str, int]) -> Airframe:
    moved = network.at_volts({s: mv / 1000 for s, mv in at.items()})
    return moved, condition_states(moved)


def moved_volts(network: Network, moved: Network) -> dict[str, float]:
    """The volts of the sources that are elsewhere in their ranges, V."""
    had_range = {s for s, record in network.sources.items() if record.volts_range}
    there = moved.sources.items()
    return {s: record.volts for s, record in there if s in had_range and not record.volts_range}
