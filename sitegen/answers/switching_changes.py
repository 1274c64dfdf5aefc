"""What opens or closes by itself when something fails: contactors, and what clears a short."""

from __future__ import annotations

from sitegen.answers.drop import Loss
from sitegen.solver.network import Network

VERBS = {"tripped": "trips", "blown": "blows"}


def switching_changes(network: Network, loss: Loss, before: Loss) -> list[tuple[str, str]]:
    """(device, `opens`, `closes`, `trips` or `blows`), without what has failed itself.

    Parameters
    ----------
    network, loss : the airframe and what has failed.
    before : the same condition with nothing failed, or before the crew acted.
    """
    failed = {component for component, _ in loss.failed}
    devices = dict.fromkeys((*network.switching, *loss.opened))
    return [
        (device, _verb(loss, device))
        for device in devices
        if loss.conducts[device] != before.conducts[device] and device not in failed
    ]


def _verb(loss: Loss, device: str) -> str:
    if loss.conducts[device]:
        return "closes"
    return VERBS[loss.opened[device]] if device in loss.opened else "opens"
