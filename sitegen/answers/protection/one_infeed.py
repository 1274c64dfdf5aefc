"""What each infeed of a bus carries when it is the only one left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from sitegen.answers.loads.drawn import draws
from sitegen.answers.loads.state_amps import Amps
from sitegen.catalogue.kinds import OVERCURRENT
from sitegen.solver.faults import run_stage
from sitegen.solver.graph import spread
from sitegen.solver.network import Branch, Network
from sitegen.solver.outcome import solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Scenario, bits, every_single, scenarios_of
from sitegen.solver.setting import starting_from


@dataclass(frozen=True)
class Alone:
    """One infeed of a bus, in one condition, with every other infeed of that bus open."""

    bus: str
    branch: Branch
    condition: int
    """The condition's number."""
    nodes: tuple[str, ...]
    """The nodes that it then feeds: the bus, and those downstream that it alone holds at their
    volts."""
    through_converters: tuple[str, ...]
    """The same, and what converters there feed: their input carries it."""
    amps: Amps
    """What flows then."""


def each_alone(before: Power, infeeds: Mapping[str, Sequence[Branch]]) -> list[Alone]:
    """What each infeed of each bus would feed if it were the only one, in every condition.

    The other infeeds are opened and the net reaches its steady state, so that what takes over or
    drops out by itself does. A tie to a bus that has no power of its own in a condition leads out
    of the first bus there, and stays closed. Left out are an infeed that is open, an infeed that
    nothing in it can open, and one beside an infeed that cannot be opened: it is never alone.

    Parameters
    ----------
    before : the conditions in steady state, with nothing failed.
    infeeds : by bus, its infeeds.
    """
    network = before.steady.network
    conditions = [c.id for c in network.catalogue.conditions]
    tried = [(bus, branch) for bus, branches in infeeds.items() for branch in branches]
    count = len(conditions)
    scenarios: list[Scenario] = []
    blocks: dict[str, int] = {}
    own: dict[str, int] = {}
    tested: dict[int, int] = {}
    gone = solve(network, every_single(conditions, [(b, "dead") for b in infeeds]), before).after
    number = {bus: i for i, bus in enumerate(infeeds)}
    for t, (bus, branch) in enumerate(tried):
        others = [
            (gone.steady.live[_other_end(other, bus)], _opens(network, other, branch))
            for other in infeeds[bus]
            if other is not branch
        ]
        for c, condition in enumerate(conditions):
            k = c * len(infeeds) + number[bus]
            opened = tuple((d, "open") for live, d in others if d and live >> k & 1)
            scenarios.append(Scenario(condition, opened))
        block = ((1 << count) - 1) << (t * count)
        blocks[bus] = blocks.get(bus, 0) | block
        place = network.branches.index(branch)
        tested[place] = tested.get(place, 0) | block
        device = _opens(network, branch)
        if device:
            own[device] = own.get(device, 0) | block
    alone = solve(network, scenarios_of(scenarios), before).after
    fallen = _fallen(alone, _held(alone, own))
    nodes, through_converters = (
        _by_trial(
            # Not back through itself: what another pole of its device feeds is not its own.
            spread(blocks, alone.steady.arcs(converters, tested), alone.steady.passes),
            fallen,
        )
        for converters in (False, True)
    )
    drawn = draws(alone)
    return [
        Alone(
            *tried[k // count],
            k % count,
            nodes[k],
            through_converters[k],
            drawn.states[drawn.number[k]],
        )
        for k in sorted(nodes)
        if tried[k // count][0] in nodes[k]
    ]


def _held(power: Power, opened: Mapping[str, int]) -> Power:
    """The same net with some devices opened, every contactor held in its position.

    What a contactor that drops out would take is taken by its coil, not fed through the device.
    """
    steady = power.steady
    gaps = {
        device: steady.setting.all & ~mask | opened.get(device, 0)
        for device, mask in steady.conducts.items()
    }
    held = replace(steady.network, switching={})
    return Power(run_stage(held, replace(steady.setting, open=gaps), starting_from(held, {})))


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
            for others, same in without.volts[node]:
                as_high |= same if others >= volts else 0
            found[node] |= mask & ~as_high
    return found


def _opens(network: Network, branch: Branch, keep: Branch | None = None) -> str | None:
    """The device that opens a branch and leaves another closed; None if nothing in it does."""
    devices = [d for d in branch.through if keep is None or d not in keep.through]
    # A breaker or fuse is in one branch only; a contactor's other poles would open with it.
    devices.sort(key=lambda d: network.components[d].kind not in OVERCURRENT)
    return devices[0] if devices else None
