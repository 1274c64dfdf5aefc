"""Question 6, of devices: what a breaker, link or contactor in a feeder carries.

Where a feeder is the only way for some current, it carries it. Where current has several ways, the
conductors' resistances decide, and the catalogue has none: a feeder is then told the least that it
carries for certain and the most that it could be asked to carry.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable
from dataclasses import dataclass
from functools import cache, partial

from sitegen.answers.loads.sharing import Sharing
from sitegen.answers.loads.source_loads import Load
from sitegen.solver.graph import Neighbours, arcs, by_start, reach
from sitegen.solver.network import Branch, Network


@dataclass(frozen=True)
class CurrentBounds:
    """Amps through a device in one scenario."""

    least: float
    """What it is the only way for, A."""
    most: float
    """What it could be asked to carry, A; the same where it is the only way."""


Reach = Callable[[int, str, str], set[str]]
"""(number of a run, start, node) -> the nodes that power reaches past that run and that node."""

Ways = dict[tuple[tuple[int, ...], frozenset[str]], Reach]
"""By what conducts and what passes."""


def current_bounds(
    network: Network, load: Load, ways: Ways | None = None
) -> dict[str, CurrentBounds]:
    """By device in a feeder that conducts: what it carries; of several poles, the one with most.

    Parameters
    ----------
    network, load : the airframe, and the amps in one scenario of it.
    ways : to be given again with the next scenario, which often has the same ways for power.
    """
    state = load.loss
    conducting = tuple(
        number
        for number, branch in enumerate(network.branches)
        if not branch.into_converter and all(state.conducts[d] for d in branch.through)
    )
    passing = frozenset(n for n, s in state.nodes.items() if not s.down)
    known = {} if ways is None else ways
    if (conducting, passing) not in known:
        known[conducting, passing] = cache(
            partial(_reach, _neighbours(network, set(conducting), passing))
        )
    reached = known[conducting, passing]
    sharing = Sharing(network, state)
    flows = [
        (source, bus, part * drawn)
        for bus, drawn in load.buses.items()
        for source, part in sharing.carriers(bus).items()
        if drawn and source != bus
    ]
    found: dict[str, CurrentBounds] = {}
    for number in conducting:
        branch = network.branches[number]
        amps = _through(branch, partial(reached, number), flows)
        for device in branch.through:
            found[device] = _larger(found.get(device), amps)
    for converter, drawn in load.converters.items():
        inputs = sharing.live_inputs(converter)
        for branch in inputs:
            amps = CurrentBounds(drawn if len(inputs) == 1 else 0.0, drawn)
            for device in branch.through:
                found[device] = _larger(found.get(device), amps)
    return found


def _through(
    branch: Branch,
    reach: Callable[[str, str], set[str]],
    flows: Iterable[tuple[str, str, float]],
) -> CurrentBounds:
    near, far = branch.origin, branch.target
    beyond, behind = reach(far, near), reach(near, far)
    # Along the run counts up, against it down: what two sources send each other's buses cancels.
    low = high = 0.0
    for source, bus, amps in flows:
        along = bus in beyond and near in reach(source, far)
        against = not branch.one_way and bus in behind and far in reach(source, near)
        certain = (along or against) and bus not in reach(source, "")
        if along:
            high += amps
            low += amps if certain else 0.0
        if against:
            low -= amps
            high -= amps if certain else 0.0
    return CurrentBounds(max(low, -high, 0.0), max(high, -low))


def _neighbours(
    network: Network, conducting: Container[int], passing: Container[str]
) -> Neighbours:
    return by_start(
        (number, start, end)
        for number, start, end in arcs(network, converters=False)
        if number in conducting and start in passing and end in passing
    )


def _reach(neighbours: Neighbours, left_out: int, start: str, without: str) -> set[str]:
    return reach(neighbours, (start,), without, left_out)


def _larger(one: CurrentBounds | None, other: CurrentBounds) -> CurrentBounds:
    if one is None:
        return other
    return CurrentBounds(max(one.least, other.least), max(one.most, other.most))
