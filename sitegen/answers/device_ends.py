"""Between which nodes a device is, which way power may pass it, and which side is always live."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from sitegen.catalogue.kinds import SWITCHING
from sitegen.reachable import reachable
from sitegen.solver.graph import directions, outfeeds
from sitegen.solver.network import Branch, Network
from sitegen.words import join_words

ALWAYS_LIVE = "Live whenever a charged battery is fitted"
"""Said of a side that only conductors join to a battery of which the catalogue has no hazard."""


@dataclass(frozen=True)
class Ends:
    """One feeder, or feed of a converter, that a device is in."""

    origin: str
    target: str
    both_ways: bool
    """Either end may feed the other through it."""

    def named(self, names: Mapping[str, str]) -> str:
        """Its ends in words: `Mid bus to Avionics bus 2`."""
        origin, target = names[self.origin], names[self.target]
        return f"between {origin} and {target}" if self.both_ways else f"{origin} to {target}"


@dataclass(frozen=True)
class LiveSide:
    """A side of a device that no switch turns off."""

    node: str
    """The battery, or the bus, at that side."""
    hazard: str
    """What the catalogue says of it, or of another node that is live with it."""


def device_ends(network: Network) -> dict[str, tuple[Ends, ...]]:
    """By device in a feeder or in a converter's feed: its ends, in the author's order."""
    fed = {(id(branch), end) for n in network.nodes for branch, end in outfeeds(network, n)}
    found: dict[str, dict[Ends, None]] = {}
    for branch in network.branches:
        ends = Ends(branch.origin, branch.target, (id(branch), branch.origin) in fed)
        for device in branch.through:
            found.setdefault(device, {})[ends] = None
    return {device: tuple(each) for device, each in found.items()}


def live_sides(network: Network) -> dict[str, tuple[LiveSide, ...]]:
    """By device in a feeder or in a converter's feed: its sides that are always live.

    Such a side is at a battery, or at a node that only sound conductors join to one: breakers,
    fuses and shunts, and diodes one way. A contactor, relay or switch ends it.
    """
    groups = _always_live(network)
    found: dict[str, dict[LiveSide, None]] = {}
    for branch in network.branches:
        for node, devices in _from_its_ends(network, branch):
            if node in groups:
                hazard = next(
                    (network.hazards[n] for n in (node, *groups[node]) if n in network.hazards),
                    ALWAYS_LIVE,
                )
                for device in devices:
                    found.setdefault(device, {})[LiveSide(node, hazard)] = None
    return {device: tuple(sides) for device, sides in found.items()}


def by_hazard(network: Network, sides: Iterable[LiveSide]) -> Iterator[tuple[str, str]]:
    """(the sides in words, their hazard), each hazard once: `("Hot battery bus side", "Live")`."""
    found: dict[str, list[str]] = {}
    for side in sides:
        found.setdefault(side.hazard, []).append(f"{network.names[side.node]} side")
    return ((join_words(each), hazard) for hazard, each in found.items())


def _always_live(network: Network) -> dict[str, tuple[str, ...]]:
    """By node that is always live: what is live with it, the battery first."""
    joined: dict[str, list[str]] = {}
    for branch in network.branches:
        if not branch.into_converter and not SWITCHING & _kinds(network, branch.through):
            for start, end in directions(branch):
                joined.setdefault(start, []).append(end)
    found: dict[str, tuple[str, ...]] = {}
    for source in network.sources.values():
        if source.kind == "battery":
            live = reachable(joined, [source.id])
            group = (source.id, *(node for node in network.nodes if node in live))
            for node in live:
                found[node] = tuple(dict.fromkeys((*found.get(node, ()), *group)))
    return found


def _kinds(network: Network, devices: tuple[str, ...]) -> set[str]:
    return {network.components[device].kind for device in devices}


def _from_its_ends(network: Network, branch: Branch) -> Iterator[tuple[str, list[str]]]:
    """Each end of a branch, with the devices that have power when that end has."""
    yield branch.origin, _up_to(network, branch.through, SWITCHING)
    if not branch.into_converter:
        ending = SWITCHING | {"diode"}
        yield branch.target, _up_to(network, branch.through[::-1], ending)


def _up_to(network: Network, devices: tuple[str, ...], ending: frozenset[str]) -> list[str]:
    """The devices up to the first of these kinds, which is included: one side of it is live."""
    found = []
    for device in devices:
        found.append(device)
        if network.components[device].kind in ending:
            break
    return found
