"""An aircraft whose sources are elsewhere in their `volts-range` than at their volts.

What goes by volts, `min-volts` and closing conditions, may then be otherwise than at nominal volts
though nothing has failed, or after a failure.
"""

from __future__ import annotations

import math
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
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

NEAR = 1500
"""As far as this from what is read, mV, a limit is tried with pairs: a voltmeter's error."""

TENTH = 100
"""Volts past a limit are given in tenths, mV."""

Way = tuple[int | None, ...]
"""By source its volts, mV; None: its own."""

Airframe = tuple[Network, Power]
"""At certain volts of its sources; its conditions with nothing failed."""


@dataclass(frozen=True, eq=False)
class Elsewhere:
    """An airframe with sources at other volts than their own."""

    network: Network
    """At their own volts."""
    volts: Mapping[str, int]
    """By source that is moved: to where, mV."""
    pairs: bool = False
    """Pairs of failures are tried here too."""

    @cached_property
    def airframe(self) -> Airframe:
        """At these volts."""
        moved = self.network.at_volts({s: mv / 1000 for s, mv in self.volts.items()})
        return moved, condition_states(moved)


def anywhere_in_range(
    network: Network, condition: str, observations: Sequence[Observation]
) -> list[Elsewhere]:
    """The airframe with its sources at other volts than their own, nothing failed.

    Without a range, each at volts that are read, behind a diode or not, or at the bottom or the top
    of its range; then with some of them just past a limit in volts. None where nothing goes by
    volts.
    """
    points = _read_in_range(network, condition, observations)
    ranges = {s: network.millivolt_ranges[s] for s in points}
    every = [[*dict.fromkeys((*read, *ranges[s]))] for s, read in points.items()]
    apart = math.prod(map(len, every)) <= MOST_TRIED
    ways: list[Way] = [*(product(*every) if apart else zip(*ranges.values(), strict=True))]
    past = [
        [*dict.fromkeys((*at, *_past_limits(network, s, points[s])))]
        for s, at in zip(points, every, strict=True)
    ]
    if math.prod(len(at) + 1 for at in past) <= MOST_TRIED:
        ways += _fewest_first(product(*((None, *at) for at in past)))
    else:
        ways += _one_at_a_time(past)
        for end in zip(*ranges.values(), strict=True):
            ways += _one_at_a_time(past, end)
    return _elsewhere(network, [*points], ways)


def with_failures(
    network: Network, condition: str, observations: Sequence[Observation]
) -> list[Elsewhere]:
    """The airframe at other volts of its sources, for failures that its own volts do not explain.

    Sources are moved to volts that are read, behind a diode or not, and just past each limit in
    volts, the fewest at a time first; then each to the bottom or the top of its range. Where that
    would be more than 16 ways, one source at a time is moved past a limit, the others at their own
    volts, at the bottom or at the top.

    Pairs of failures are tried at volts that are read, with one source at a time just past a limit
    as near to these as a voltmeter may be off, and with all sources at the same end.
    """
    points = _read_in_range(network, condition, observations)
    if not points:
        return []
    own: list[Way] = [(None, *read) for read in points.values()]
    past = [
        [mv for mv in _past_limits(network, s, read) if mv != network.millivolts[s]]
        for s, read in points.items()
    ]
    near: list[Sequence[int]] = [
        [mv for mv in limits if any(abs(mv - v) <= NEAR for v in read)]
        for limits, read in zip(past, points.values(), strict=True)
    ]
    ranges = [network.millivolt_ranges[s] for s in points]
    same_end: list[Way] = [*zip(*ranges, strict=True)]
    ends = [*product(*ranges)] if 2 ** len(ranges) <= MOST_WITH_FAILURES else same_end
    few = math.prod(map(len, own)) <= MOST_WITH_FAILURES
    read_off = _fewest_first(product(*own)) if few else _one_at_a_time([*points.values()])
    for_pairs = {*read_off, *_one_at_a_time(near), *same_end}
    every = [[*dict.fromkeys((*o, *p))] for o, p in zip(own, past, strict=True)]
    if math.prod(map(len, every)) <= MOST_WITH_FAILURES:
        ways = [*_fewest_first(product(*every)), *ends]
    else:
        ways = [*read_off, *_one_at_a_time(past), *ends]
        for end in same_end:
            ways += _one_at_a_time(past, end)
    return _elsewhere(network, [*points], ways, for_pairs)


def _one_at_a_time(points: Sequence[Sequence[int]], others: Way | None = None) -> list[Way]:
    """One source at each of its points; the others at their own volts, or as `others` has them."""
    rest = others or (None,) * len(points)
    return [
        tuple(mv if i == place else one for i, one in enumerate(rest))
        for place, at in enumerate(points)
        for mv in at
    ]


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
    drops = _diode_drops(network)
    return {
        s: list(dict.fromkeys(v + d for v in read for d in drops if low <= v + d <= high))
        for s, (low, high) in network.millivolt_ranges.items()
        if s in here.sources
    }


def _fewest_first(ways: Iterable[Way]) -> list[Way]:
    """Those first in which the fewest sources are moved."""
    return sorted(ways, key=lambda way: sum(mv is not None for mv in way))


def _past_limits(network: Network, source: str, read: Sequence[int]) -> list[int]:
    """In each part of a source's range in which what goes by volts is the same: the volts nearest
    to those that are read, or to its own; in tenths of a volt if there are any, mV.
    """
    low, high = network.millivolt_ranges[source]
    cuts = [mv for mv in _limits(network) if low < mv <= high]
    near = read or [network.millivolts[source]]
    found = []
    for bottom, top in zip((low, *cuts), (*(mv - 1 for mv in cuts), high), strict=True):
        tenths = -(-bottom // TENTH) * TENTH, top // TENTH * TENTH
        ends = tenths if tenths[0] <= tenths[1] else (bottom, top)
        within = [(min(max(v, ends[0]), ends[1]), v) for v in near]
        found.append(min(within, key=lambda one: abs(one[0] - one[1]))[0])
    return found


@lru_cache(maxsize=8)
def _limits(network: Network) -> tuple[int, ...]:
    """The volts of a source, less a diode or not, at which what goes by volts changes, mV."""
    lamps = [term for i in network.catalogue.indications for term in i.lit_when or ()]
    cuts = {*network.min_millivolts.values()}
    for term in (*(t for terms in network.switching.values() for t in terms), *lamps):
        # Both limits are strict.
        cuts.update(millivolts(volts) + 1 for volts in term.volts_above.values())
        cuts.update(millivolts(volts) for volts in term.volts_below.values())
    return tuple(sorted({cut + drop for cut in cuts for drop in _diode_drops(network)}))


def _diode_drops(network: Network) -> list[int]:
    """None, and those of the diodes, mV."""
    of_diodes = (mv for i, mv in network.millivolts.items() if i not in network.sources)
    return [*dict.fromkeys((0, *of_diodes))]


def _elsewhere(
    network: Network, sources: Sequence[str], ways: Iterable[Way], for_pairs: Container[Way] = ()
) -> list[Elsewhere]:
    """The airframe with these sources moved in each of the ways, each once."""
    return [
        Elsewhere(network, at, way in for_pairs)
        for way in dict.fromkeys(ways)
        for at in [{s: mv for s, mv in zip(sources, way, strict=True) if mv is not None}]
        if at
    ]


def moved_volts(network: Network, moved: Network) -> dict[str, float]:
    """The volts of the sources that are elsewhere in their ranges, V."""
    had_range = {s for s, record in network.sources.items() if record.volts_range}
    there = moved.sources.items()
    return {s: record.volts for s, record in there if s in had_range and not record.volts_range}
