"""How much the audit of protection had figures for: 'no finding' is not 'no figures'.

Shorts are left out: the rule about them needs no figure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from sitegen.answers.loads.current_bounds import current_bounds
from sitegen.answers.loads.source_loads import Load
from sitegen.answers.protection.protection_records import Judged, Overload, Tally
from sitegen.answers.protection.wires import allowed_for, row_for, wires
from sitegen.answers.voltage_drop_records import VoltageDrops
from sitegen.catalogue.kinds import OVERCURRENT
from sitegen.catalogue.wire_chart import WireRow
from sitegen.solver.network import Network


def judged(
    network: Network,
    table: Sequence[WireRow],
    carried: Sequence[Load],
    sums: Iterable[Sequence[Overload]],
    drops: Iterable[VoltageDrops],
) -> Judged:
    """What of an airframe could be judged.

    Parameters
    ----------
    table : Table 11-3.
    carried, drops : the loads and the voltage drops of each condition.
    sums : what devices carry of the equipment that they feed, or would alone.
    """
    protectors = {c.id: c for c in network.components.values() if c.kind in OVERCURRENT}
    without_load = _without_load(network, carried, sums)
    without_gauge = {
        device
        for gauge, devices in wires(network)
        for device in devices
        if allowed_for(network.components[device], row_for(gauge, table)) is None
    }
    unrated = {c.id for c in protectors.values() if c.amps is None}
    on_wires = {c.id: c.name for c in protectors.values() if c.kind != "fuse-link"}
    conductors = dict(_conductors(network))
    dropping = {key for here in drops for key in _judged_by_drop(network, here)}
    return Judged(
        Tally(
            {c.id: c.name for c in protectors.values()},
            tuple(d for d in protectors if d in unrated | without_load),
        ),
        Tally(on_wires, tuple(d for d in on_wires if d in unrated | without_gauge)),
        Tally(conductors, tuple(key for key in conductors if key not in dropping)),
    )


def _without_load(
    network: Network, carried: Sequence[Load], sums: Iterable[Sequence[Overload]]
) -> set[str]:
    """Devices of which it is not known, in some condition or in all, what they carry."""
    unknown: dict[str, bool] = {}
    for load in carried:
        for device, bounds in current_bounds(network, load.amps).items():
            unknown[device] = unknown.get(device, False) or bounds.unknown
    for carries in sums:
        for one in carries:
            unknown[one.component] = unknown.get(one.component, False) or bool(one.unknown)
    return {device for device in network.components if unknown.get(device, True)}


def _conductors(network: Network) -> Iterator[tuple[str, str]]:
    names = network.names
    for branch in network.branches:
        way = f"{names[branch.origin]} to {names[branch.target]}"
        yield _key(branch.origin, branch.target, branch.through), way
    for item in network.equipment:
        for connection in network.connections[item]:
            way = f"{names[item]} on {names[connection.bus]}"
            yield _key(connection.bus, item, connection.through), way


def _judged_by_drop(network: Network, drops: VoltageDrops) -> Iterator[str]:
    for number, drop in drops.feeders.items():
        branch = network.branches[number]
        if drops.limits.get(branch.origin) and not drop.at_least:
            yield _key(branch.origin, branch.target, branch.through)
    for (item, number), supply in drops.supplies.items():
        if any(limit is not None and not drop.at_least for drop, limit in supply.judged):
            connection = network.connections[item][number]
            yield _key(connection.bus, item, connection.through)


def _key(start: str, end: str, through: Sequence[str]) -> str:
    """One conductor, the same on every airframe that has it."""
    return " ".join((start, *through, end))
