"""What a breaker, link or contactor in a feeder carries.

A feeder carries all current that has no other path. Where current has several paths, the
resistances of the conductors decide, and the catalogue has none: the bounds are then what the
feeder carries for certain, and the most that it could carry.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache

from sitegen.answers.loads.sharing import Sharing
from sitegen.answers.loads.source_loads import Load
from sitegen.solver.graph import by_start, directions, reach
from sitegen.solver.network import Branch, Network


@dataclass(frozen=True)
class CurrentBounds:
    """Amps through a device in one scenario."""

    least: float
    """What has no other path, A."""
    most: float
    """What it could carry, A; the same where there is no other path."""


Reach = Callable[[str, str], set[str]]
"""(start, excluded node) -> the nodes that power reaches without one branch and that node."""


def current_bounds(network: Network, load: Load) -> dict[str, CurrentBounds]:
    """By device in a feeder that conducts: what it carries; of several poles, the one with most.

    Parameters
    ----------
    network, load : the airframe, and the amps in one scenario of it.
    """
    state = load.loss
    conducting = {
        number: branch
        for number, branch in enumerate(network.branches)
        if not branch.into_converter and all(state.conducts[d] for d in branch.through)
    }
    passing = {n for n, s in state.nodes.items() if not s.down}
    neighbours = by_start(
        (number, start, end)
        for number, branch in conducting.items()
        for start, end in directions(branch, state.failed)
        if start in passing and end in passing
    )
    sharing = Sharing(network, state)
    flows = [
        (source, bus, part * drawn)
        for bus, drawn in load.buses.items()
        for source, part in sharing.carriers(bus).items()
        if drawn and source != bus
    ]
    bounds: dict[str, CurrentBounds] = {}
    for number, branch in conducting.items():

        @cache
        def without_it(start: str, excluded: str, number: int = number) -> set[str]:
            return reach(neighbours, (start,), excluded, number)

        both_ways = len(directions(branch, state.failed)) == 2
        amps = _through(branch, both_ways, without_it, flows)
        for device in branch.through:
            bounds[device] = _larger(bounds.get(device), amps)
    for converter, drawn in load.converters.items():
        inputs = sharing.live_inputs(converter)
        for branch in inputs:
            amps = CurrentBounds(drawn if len(inputs) == 1 else 0.0, drawn)
            for device in branch.through:
                bounds[device] = _larger(bounds.get(device), amps)
    return bounds


def _through(
    branch: Branch, both_ways: bool, reached: Reach, flows: Iterable[tuple[str, str, float]]
) -> CurrentBounds:
    near, far = branch.origin, branch.target
    from_far, from_near = reached(far, near), reached(near, far)
    # Along the branch counts up, against it down: what two sources send each other's buses cancels.
    low = high = 0.0
    for source, bus, amps in flows:
        along = bus in from_far and near in reached(source, far)
        against = both_ways and bus in from_near and far in reached(source, near)
        certain = (along or against) and bus not in reached(source, "")
        if along:
            high += amps
            low += amps if certain else 0.0
        if against:
            low -= amps
            high -= amps if certain else 0.0
    return CurrentBounds(max(low, -high, 0.0), max(high, -low))


def _larger(one: CurrentBounds | None, other: CurrentBounds) -> CurrentBounds:
    if one is None:
        return other
    return CurrentBounds(max(one.least, other.least), max(one.most, other.most))
