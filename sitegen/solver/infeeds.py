"""The ways into a bus, and what hangs on each when it is the only one left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from sitegen.solver.network import OVERCURRENT_KINDS, Branch, Network
from sitegen.solver.outcome import Power, solve
from sitegen.solver.scenarios import Scenario, bits, every_single, listed
from sitegen.solver.steady_state import find_steady_state, spread


@dataclass(frozen=True)
class Alone:
    """One way into a bus, in one condition, with every other way into that bus open."""

    bus: str
    branch: Branch
    condition: int
    """The condition's number."""
    nodes: tuple[str, ...]
    """What it then carries: the bus, and the nodes below it that it alone holds at their volts."""
    behind: tuple[str, ...]
    """The same, and what lies behind converters there: their input carries it."""


def infeeds_of_buses(network: Network) -> dict[str, tuple[Branch, ...]]:
    """By bus: the feeders by which power can come to it, however switches and contactors stand.

    A feeder is a way in if its other end can be live without the bus itself.
    """
    buses = {b.id: 1 << i for i, b in enumerate(network.catalogue.buses)}
    every = (1 << len(buses)) - 1  # bit b stands for the net without bus number b
    arcs: dict[str, list[tuple[str, int]]] = {n: [] for n in network.nodes}
    for branch in network.branches:
        for start, end in directions(branch):
            arcs[start].append((end, every))
    powered = spread(
        {s.id: every for s in network.sources.values() if s.kind != "converter"},
        arcs,
        {n: every & ~buses.get(n, 0) for n in network.nodes},
    )
    ways: dict[str, list[Branch]] = {b: [] for b in buses}
    for branch in network.branches:
        for start, end in directions(branch):
            if end in buses and powered[start] & buses[end]:
                ways[end].append(branch)
    return {bus: tuple(found) for bus, found in ways.items()}


def each_alone(before: Power, ways: Mapping[str, Sequence[Branch]]) -> list[Alone]:
    """What each way into each bus would carry if it were the only one, in every condition.

    The other ways are opened and the net settles, so that what takes over or drops out by itself
    does. A tie to a bar that has no power of its own in a condition leads out of the bus there,
    and stays closed. Left out are a way that stands open, a way that nothing in it can open, and
    one beside a way that cannot be opened: it is never alone.

    Parameters
    ----------
    before : the conditions settled, with nothing failed.
    ways : by bus, its ways in.
    """
    network = before.steady.network
    conditions = [c.id for c in network.catalogue.conditions]
    tried = [(bus, branch) for bus, branches in ways.items() for branch in branches]
    count = len(conditions)
    scenarios: list[Scenario] = []
    blocks: dict[str, int] = {}
    own: dict[str, int] = {}
    gone = solve(network, every_single(conditions, [(b, "dead") for b in ways]), before).after
    number = {bus: i for i, bus in enumerate(ways)}
    for t, (bus, branch) in enumerate(tried):
        others = [
            (gone.steady.live[_other_end(other, bus)], _opens(network, other, branch))
            for other in ways[bus]
            if other is not branch
        ]
        for c, condition in enumerate(conditions):
            k = c * len(ways) + number[bus]
            opened = tuple((d, "open") for live, d in others if d and live >> k & 1)
            scenarios.append(Scenario(condition, opened))
        block = ((1 << count) - 1) << (t * count)
        blocks[bus] = blocks.get(bus, 0) | block
        device = _opens(network, branch)
        if device:
            own[device] = own.get(device, 0) | block
    alone = solve(network, listed(scenarios), before).after
    fallen = _fallen(alone, _standing_still(alone, own))
    nodes, behind = (
        _by_trial(
            spread(blocks, alone.steady.arcs(converters), alone.steady.passes),
            fallen,
        )
        for converters in (False, True)
    )
    return [
        Alone(*tried[k // count], k % count, nodes[k], behind[k])
        for k in sorted(nodes)
        if tried[k // count][0] in nodes[k]
    ]


def _standing_still(power: Power, opened: Mapping[str, int]) -> Power:
    """The same net with some devices opened, every contactor held as it stood.

    What a contactor that drops out would take is taken by its coil, not fed through the device.
    """
    steady = power.steady
    gaps = {
        device: steady.setting.all & ~mask | opened.get(device, 0)
        for device, mask in steady.conducts.items()
    }
    still = replace(steady.network, switching={})
    return Power(find_steady_state(still, replace(steady.setting, open=gaps), {}))


def _other_end(branch: Branch, bus: str) -> str:
    return branch.origin if branch.target == bus else branch.target


def _by_trial(reached: Mapping[str, int], fallen: Mapping[str, int]) -> dict[int, tuple[str, ...]]:
    found: dict[int, list[str]] = {}
    for node, mask in fallen.items():
        for k in bits(mask & reached[node]):
            found.setdefault(k, []).append(node)
    return {k: tuple(nodes) for k, nodes in found.items()}


def _fallen(with_it: Power, without: Power) -> dict[str, int]:
    """By node: the scenarios in which it shows fewer volts without than with."""
    found = {}
    for node, levels in with_it.volts.items():
        found[node] = 0
        for volts, mask in levels:
            as_high = 0
            for others, still in without.volts[node]:
                as_high |= still if others >= volts else 0
            found[node] |= mask & ~as_high
    return found


def directions(branch: Branch) -> list[tuple[str, str]]:
    """From where to where power may pass."""
    there, back = (branch.origin, branch.target), (branch.target, branch.origin)
    return [there] if branch.one_way or branch.into_converter else [there, back]


def _opens(network: Network, branch: Branch, keep: Branch | None = None) -> str | None:
    """The device that opens a run and leaves another closed; None if nothing in it does."""
    devices = [d for d in branch.through if keep is None or d not in keep.through]
    # A breaker or fuse stands in one run only; a contactor's other poles would open with it.
    devices.sort(key=lambda d: network.components[d].kind not in OVERCURRENT_KINDS)
    return devices[0] if devices else None
