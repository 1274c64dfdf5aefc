"""Contactors that chatter with nothing failed: a fault of the catalogue, not of the aircraft."""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.catalogue.findings import Finding
from sitegen.catalogue.read import ReadResult
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import condition_states
from sitegen.solver.scenarios import bits


def chattering(network: Network) -> list[tuple[str, str]]:
    """Every (condition id, contactor id) in which the contactor never comes to rest."""
    steady = condition_states(network).steady
    conditions = network.catalogue.conditions
    return [
        (conditions[k].id, device) for device, mask in steady.chatters.items() for k in bits(mask)
    ]


def chatter_findings(reading: ReadResult) -> Iterator[Finding]:
    """An error for every contactor that chatters, on any airframe, with nothing failed.

    Parameters
    ----------
    reading : a catalogue without other errors.
    """
    assert reading.catalogue is not None
    where: dict[str, list[str]] = {}
    for airframe in reading.catalogue.airframes:
        for condition, device in chattering(build(reading.catalogue, airframe.id)):
            where.setdefault(device, []).append(f"{condition} on {airframe.id}")
    for record in reading.catalogue.devices:
        if record.id in where:
            yield Finding(
                "error",
                reading.locations.of(record),
                f"{record.kind} {record.id} chatters in {', '.join(where.pop(record.id))}:"
                " what closes it also opens it.",
                "Let it hold itself in (closed: [itself] as an alternative), or change its terms.",
                "chatter",
            )
