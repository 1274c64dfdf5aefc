"""What a voltmeter or a lamp with a limit in volts may show in a healthy aircraft.

What feeds its node is anywhere in its `volts-range`.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from sitegen.catalogue.model import Terms
from sitegen.solver.load_figures import millivolts
from sitegen.solver.power import Power
from sitegen.solver.scenarios import union


class VoltsBand(NamedTuple):
    """Millivolts at one node."""

    shown: int
    """At the nominal volts of the sources."""
    least: int
    most: int
    """The node is at the volts of its highest source, less the diodes' drops, and each source is
    anywhere in its range."""


def volts_bands(power: Power, node: str) -> dict[VoltsBand, int]:
    """What a node may show, each with its scenarios; in those of no mask it shows 0.

    Which source reaches it, and every switching device, is as at nominal volts.
    """
    network = power.steady.network
    if not network.millivolt_ranges:
        return {VoltsBand(mv, mv, mv): mask for mv, mask in power.steady.levels[node]}
    found = {VoltsBand(mv, 0, 0): mask for mv, mask in power.steady.levels[node]}
    for source, offered in power.offered.items():
        down, up = network.millivolt_changes.get(source, (0, 0))
        for level, where in offered[node]:
            low, high = level + down, level + up
            split: dict[VoltsBand, int] = {}
            for band, mask in found.items():
                raised = VoltsBand(band.shown, max(band.least, low), max(band.most, high))
                for one, part in ((raised, mask & where), (band, mask & ~where)):
                    if part:
                        split[one] = split.get(one, 0) | part
            found = split
    return found


def lamp_bounds(power: Power, terms: Iterable[Terms]) -> tuple[int, int]:
    """The scenarios in which a lamp is lit for certain, and those in which it may be.

    Of several terms one has to hold; two that each may hold make nothing certain.
    """
    certain = possible = 0
    for term in terms:
        without_volts = term.model_copy(update={"volts_above": {}, "volts_below": {}})
        sure = may = power.steady.terms_hold([without_volts])
        for node, volts in term.volts_above.items():
            sure &= _shows_more(power, node, millivolts(volts), at_most=False)
            may &= _shows_more(power, node, millivolts(volts), at_most=True)
        for node, volts in term.volts_below.items():
            sure &= ~_shows_more(power, node, millivolts(volts) - 1, at_most=True)
            may &= ~_shows_more(power, node, millivolts(volts) - 1, at_most=False)
        certain |= sure
        possible |= may
    return certain, possible


def _shows_more(power: Power, node: str, limit: int, at_most: bool) -> int:
    """The scenarios in which a node shows more mV, its sources at one end of their ranges."""
    if limit < 0:
        return power.steady.setting.all
    network = power.steady.network
    found = 0
    for source in network.sources:
        change = network.millivolt_changes.get(source, (0, 0))[at_most]
        offered = power.offered[source][node]
        if node in network.sources:
            # A source is asked for its own volts, while it produces.
            offered = (
                [(network.millivolts[source], power.steady.produces[source])]
                if source == node
                else []
            )
        found |= union(mask for level, mask in offered if level + change > limit)
    return found
