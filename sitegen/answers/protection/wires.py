"""The wires of an airframe, and which line of Table 11-3 is about each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sitegen.catalogue.model import Equipment, Indication
from sitegen.catalogue.wire_chart import WireRow
from sitegen.solver.network import Component, Network


def wires(network: Network) -> Iterator[tuple[int | None, Sequence[str]]]:
    """Each wire's gauge, with the devices in it, in order from what feeds it.

    The gauge is None where it is not known, and for AC: the table is of DC wires.
    """
    catalogue = network.catalogue
    found: list[tuple[int | None, str, Sequence[str]]] = [
        *((feeder.wire, feeder.from_, feeder.through) for feeder in catalogue.feeders),
        *((feed.wire, feed.bus, feed.through) for s in catalogue.sources for feed in s.fed_from),
    ]
    owners: list[Equipment | Indication] = [*catalogue.equipment, *catalogue.indications]
    for owner in owners:
        for supply, connection in zip(owner.supplies, network.connections[owner.id], strict=True):
            protector = [connection.protector] if connection.protector else []
            found.append((supply.wire, supply.bus, protector))
    for gauge, start, devices in found:
        yield gauge if start in network.dc_nodes else None, devices


def row_for(gauge: int | None, table: Sequence[WireRow]) -> WireRow | None:
    """The table's line for a gauge, or for the next thicker one that the table has."""
    rows = [row for row in table if gauge is not None and row.gauge <= gauge]
    return max(rows, key=lambda row: row.gauge, default=None)


def allowed_for(component: Component, row: WireRow | None) -> float | None:
    """What a breaker or fuse on such a wire may be rated at, A."""
    if row is None:
        return None
    return row.breaker if component.kind == "breaker" else row.fuse
