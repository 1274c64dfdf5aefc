"""What a voltmeter may show in a healthy aircraft: the `volts-range` of what feeds its node."""

from __future__ import annotations

from typing import NamedTuple

from sitegen.solver.power import Power


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
        nominal = network.millivolts[source]
        least, most = network.millivolt_ranges.get(source, (nominal, nominal))
        for level, where in offered[node]:
            low, high = level - nominal + least, level - nominal + most
            split: dict[VoltsBand, int] = {}
            for band, mask in found.items():
                raised = VoltsBand(band.shown, max(band.least, low), max(band.most, high))
                for one, part in ((raised, mask & where), (band, mask & ~where)):
                    if part:
                        split[one] = split.get(one, 0) | part
            found = split
    return found
