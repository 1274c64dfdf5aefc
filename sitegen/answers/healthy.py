"""A healthy aircraft whose sources are elsewhere in their `volts-range` than at their volts.

What goes by volts, `min-volts` and closing conditions, may then be otherwise than at nominal volts
though nothing has failed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import product

from sitegen.answers.observations import Observation
from sitegen.answers.readings import Reading
from sitegen.solver.load_figures import millivolts
from sitegen.solver.network import Network
from sitegen.solver.outcome import condition_states
from sitegen.solver.power import Power

MOST_TRIED = 256
"""Ways to set the sources apart; with more, all are at the same end of their ranges."""


def anywhere_in_range(
    network: Network, before: Power, condition: str, observations: Sequence[Observation]
) -> Iterator[tuple[Network, Power]]:
    """The airframe with its conditions as it is, then with its sources at other volts.

    Without a range, each at volts that are read, behind a diode or not, or at the bottom or the top
    of its range. No other where nothing goes by volts.

    Parameters
    ----------
    network, before : the airframe, and its conditions with nothing failed.
    condition, observations : where, and what is seen.
    """
    yield network, before
    here = next(c for c in network.catalogue.conditions if c.id == condition)
    ranges = {s: span for s, span in network.millivolt_ranges.items() if s in here.sources}
    if not ranges or not network.goes_by_volts:
        return
    read = [
        millivolts(float(o.seen.number))
        for o in observations
        if isinstance(o.seen, Reading) and o.seen.kind == "figure" and o.seen.unit == "V"
    ]
    of_diodes = (mv for i, mv in network.millivolts.items() if i not in network.sources)
    drops = dict.fromkeys((0, *of_diodes))
    points = [
        list(
            dict.fromkeys(
                (*(v + d for v in read for d in drops if low <= v + d <= high), low, high)
            )
        )
        for low, high in ranges.values()
    ]
    apart = math.prod(map(len, points)) <= MOST_TRIED
    chosen = product(*points) if apart else zip(*ranges.values(), strict=True)
    for at in chosen:
        volts = {s: mv / 1000 for s, mv in zip(ranges, at, strict=True)}
        moved = network.at_volts(volts)
        yield moved, condition_states(moved)


def moved_volts(network: Network, healthy_at: Network) -> dict[str, float]:
    """The volts of the sources that are elsewhere in their ranges, V."""
    had_range = {s for s, record in network.sources.items() if record.volts_range}
    there = healthy_at.sources.items()
    return {s: record.volts for s, record in there if s in had_range and not record.volts_range}
