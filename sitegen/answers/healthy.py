"""A healthy aircraft whose sources are elsewhere in their `volts-range` than at their volts.

What goes by volts, `min-volts` and closing conditions, may then be otherwise than at nominal volts
though nothing has failed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product

from sitegen.answers.observations import Observation
from sitegen.answers.readings import Reading
from sitegen.solver.load_figures import millivolts
from sitegen.solver.network import Network

MOST_TRIED = 256
"""Ways to set the sources apart; with more, all are at the same end of their ranges."""


def elsewhere_in_range(
    network: Network, condition: str, observations: Sequence[Observation]
) -> Iterator[Network]:
    """The airframe with its sources at other volts, without a range.

    Each at volts that are read, behind a diode or not, or at the bottom or the top of its range.
    None where nothing goes by volts.
    """
    here = next(c for c in network.catalogue.conditions if c.id == condition)
    ranges = {s: span for s, span in network.millivolt_ranges.items() if s in here.sources}
    if not ranges or not _goes_by_volts(network):
        return
    read = [
        millivolts(float(o.seen.number))
        for o in observations
        if isinstance(o.seen, Reading) and o.seen.kind == "figure" and o.seen.unit == "V"
    ]
    drops = dict.fromkeys((0, *(network.millivolts[d] for d in _diodes(network))))
    points = [
        list(
            dict.fromkeys(
                (*(v + d for v in read for d in drops if low <= v + d <= high), low, high)
            )
        )
        for low, high in ranges.values()
    ]
    number = 1
    for of_source in points:
        number *= len(of_source)
    chosen = product(*points) if number <= MOST_TRIED else zip(*ranges.values(), strict=True)
    for at in chosen:
        volts = dict(zip(ranges, at, strict=True))
        yield replace(
            network,
            sources={
                s: record.model_copy(update={"volts": volts[s] / 1000, "volts_range": None})
                if s in volts
                else record
                for s, record in network.sources.items()
            },
        )


def moved_volts(network: Network, healthy_at: Network) -> dict[str, float]:
    """The volts of the sources that are elsewhere in their ranges, V."""
    had_range = {s for s, record in network.sources.items() if record.volts_range}
    there = healthy_at.sources.items()
    return {s: record.volts for s, record in there if s in had_range and not record.volts_range}


def _goes_by_volts(network: Network) -> bool:
    terms = [t for of_device in network.switching.values() for t in of_device]
    return bool(network.min_millivolts) or any(t.volts_above or t.volts_below for t in terms)


def _diodes(network: Network) -> list[str]:
    return [device.id for device in network.catalogue.devices if device.kind == "diode"]
