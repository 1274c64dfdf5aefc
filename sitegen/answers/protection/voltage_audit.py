"""What drops too much: along a conductor, and at equipment that needs its volts.

The limits are those of FAA AC 43.13-1B, Table 11-6, for the conductor between a bus and what it
feeds. That a feeder between buses keeps to the continuous ones is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sitegen.answers.protection.protection_records import LongWire, LowVolts
from sitegen.answers.voltage_drop import VoltageDrops
from sitegen.solver.network import Network


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
