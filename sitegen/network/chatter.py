"""Contactors that chatter with nothing failed: a fault of the catalogue, not of the aircraft."""

from __future__ import annotations

from sitegen.network.network import Network
from sitegen.network.outcome import conditions_settled
from sitegen.network.scenarios import bits


def chattering(network: Network) -> list[tuple[str, str]]:
    """Every (condition id, contactor id) in which the contactor never settles."""
    settled = conditions_settled(network).settled
    conditions = network.catalogue.conditions
    return [
        (conditions[k].id, device) for device, mask in settled.chatters.items() for k in bits(mask)
    ]
