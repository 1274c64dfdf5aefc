"""What a person sees, and in which scenarios the aircraft would look so.

An observation is one reading or one item seen to work or not; it can be asked of any settled net.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sitegen.catalogue.model import Indication
from sitegen.network.cutsets import closure_of, own_breakers
from sitegen.network.indications import BLANK, reading
from sitegen.network.network import Network
from sitegen.network.outcome import Power

TOLERANCE_VOLTS = 1.5
"""A meter may read so much off: a 24 V battery reads 22.5 to 25.5 V. Common practice, no source."""

TOLERANCE_SHARE = 0.05
"""On higher volts it may be off by this share of what is there."""

METERS = ("voltmeter", "ammeter", "loadmeter")


@dataclass(frozen=True)
class Observation:
    """One thing seen."""

    subject: str
    """An equipment, bus or indication id."""
    seen: str
    """For equipment and buses `works` or `dead`; for a lamp or flag `lit`, `unlit` or `blank`;
    for a meter its figure, or `blank`."""


def holds(
    network: Network,
    observation: Observation,
    power: Power,
    tolerance: float = TOLERANCE_VOLTS,
) -> int:
    """The scenarios in which the observation would be made.

    Parameters
    ----------
    network, observation : what is seen, and where.
    power : the settled scenarios.
    tolerance : how far a meter may be off, V.
    """
    every = power.settled.setting.all
    subject = observation.subject
    if subject in network.equipment:
        works = power.works[subject]
        return works if observation.seen == "works" else every & ~works
    if subject in power.settled.live:
        live = power.settled.live[subject]
        return live if observation.seen == "works" else every & ~live
    indication = indications_by_id(network)[subject]
    mask = 0
    for text, shown in reading(indication, power):
        if agrees(indication, text, observation.seen, tolerance):
            mask |= shown
    return mask


def agrees(indication: Indication, shown: str, seen: str, tolerance: float) -> bool:
    """Whether what would be shown is what was seen, the meter's tolerance allowed for."""
    if BLANK in (shown, seen) or indication.kind not in METERS:
        return shown == seen
    figure = float(seen)
    if indication.kind == "voltmeter":
        volts = float(shown.split()[0])
        return abs(figure - volts) <= max(tolerance, TOLERANCE_SHARE * volts)
    return (abs(figure) > 0) == (shown == "load")


def breakers_behind(network: Network, observations: Sequence[Observation]) -> tuple[str, ...]:
    """The breakers that can change these observations and nothing else of the net."""
    owners: dict[str, None] = {}
    for observation in observations:
        if observation.subject in network.equipment:
            owners.update(dict.fromkeys(closure_of(network, (observation.subject,))))
        elif observation.subject in network.connections:
            owners[observation.subject] = None
    return own_breakers(network, owners)


def indications_by_id(network: Network) -> Mapping[str, Indication]:
    """Every indication of the airframe."""
    return {i.id: i for i in network.catalogue.indications}
