"""What drops too much: along a conductor, at equipment that needs its volts, and at voltmeters.

The limits are those of FAA AC 43.13-1B, Table 11-6, for the conductor between a bus and what it
feeds. That a feeder between buses keeps to the continuous ones is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sitegen.answers.observations import agrees
from sitegen.answers.protection.protection_records import LongWire, LowMeter, LowVolts
from sitegen.answers.readings import TOLERANCE_VOLTS, Reading, banded
from sitegen.answers.voltage_drop_records import VoltageDrops
from sitegen.answers.volts_bands import volts_bands
from sitegen.solver.network import Network
from sitegen.solver.power import Power


def wires_at_worst(network: Network, drops: Mapping[str, VoltageDrops]) -> list[LongWire]:
    """Every conductor that can be judged, each where most of what is allowed drops.

    Parameters
    ----------
    network : the airframe.
    drops : by condition, with nothing failed.
    """
    worst: dict[tuple[str, int], LongWire] = {}
    for condition, here in drops.items():
        for key, wire in _judged(network, here, condition):
            before = worst.get(key)
            if before is None or wire.percent > before.percent:
                worst[key] = wire
    return list(worst.values())


def _judged(
    network: Network, drops: VoltageDrops, condition: str
) -> Iterator[tuple[tuple[str, int], LongWire]]:
    for number, drop in drops.feeders.items():
        origin = network.branches[number].origin
        allowed = drops.limits.get(origin)
        if allowed:
            yield ("", number), LongWire("", origin, number, drop, allowed[0], False, condition)
    for key, supply in drops.supplies.items():
        for drop, limit in supply.judged:
            if limit is not None:
                short = drop is supply.short_time
                yield key, LongWire(supply.item, supply.bus, -1, drop, limit, short, condition)


def low_volts(network: Network, drops: Mapping[str, VoltageDrops]) -> list[LowVolts]:
    """Equipment with less than its `min-volts`, each where it has least."""
    worst: dict[str, LowVolts] = {}
    for condition, here in drops.items():
        for item, left in here.too_low(network).items():
            before = worst.get(item)
            if before is None or left.volts < before.left.volts:
                least = network.equipment[item].min_volts or 0.0
                worst[item] = LowVolts(item, left, least, condition)
    return list(worst.values())


def low_meters(
    network: Network, before: Power, drops: Mapping[str, VoltageDrops]
) -> list[LowMeter]:
    """By source the voltmeter that would show less than a healthy one, by what sags and drops.

    Parameters
    ----------
    network : the airframe.
    before : its conditions with nothing failed, in their order.
    drops : by condition, with nothing failed.
    """
    worst: dict[str, tuple[float, LowMeter]] = {}
    nodes = {i.id: i.at for i in network.catalogue.indications if i.kind == "voltmeter" and i.at}
    for meter, node in nodes.items():
        bands = volts_bands(before, node)
        for number, (condition, here) in enumerate(drops.items()):
            left = here.nodes.get(node)
            band = next((b for b, mask in bands.items() if mask >> number & 1), None)
            carrying = [s for s, mask in before.carriers[node].items() if mask >> number & 1]
            if left is None or band is None or not carrying:
                continue
            healthy = banded(band.shown / 1000, (band.least / 1000, band.most / 1000), "V")
            shows = Reading("figure", float(left.volts), "V")
            below = band.least / 1000 - float(left.volts)
            if below > 0 and not agrees(healthy, shows, TOLERANCE_VOLTS):
                found = LowMeter(carrying[0], meter, left, band.least / 1000, condition)
                if below > worst.get(carrying[0], (0.0, found))[0]:
                    worst[carrying[0]] = below, found
    return [found for _, found in worst.values()]
