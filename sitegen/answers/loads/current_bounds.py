"""Question 6, of devices: what a breaker, link or contactor in a feeder carries.

Where a feeder is the only way for some current, it carries it. Where current has several ways, the
conductors' resistances decide, and the catalogue has none: a feeder is then told the least that it
carries for certain and the most that it could be asked to carry.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Sequence
from dataclasses import dataclass
from functools import cache, partial

from sitegen.answers.loads.sharing import Sharing
from sitegen.answers.loads.source_loads import Load
from sitegen.solver.network import Branch, Network


@dataclass(frozen=True)
class CurrentBounds:
    """Amps through a device in one scenario."""

    least: float
    """What it is the only way for, A."""
    most: float
    """What it could be asked to carry, A; the same where it is the only way."""


Arcs = dict[str, list[tuple[int, str]]]
"""By node, where power goes from it: (number of the run, node at its other end)."""

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
            partial(_reach, _arcs(network.branches, conducting, passing))
        )
    reach = known[conducting, passing]
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
        amps = _through(branch, partial(reach, number), flows)
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


def _arcs(branches: Sequence[Branch], conducting: Iterable[int], passing: Container[str]) -> Arcs:
    """The ways along what conducts, among the nodes that pass power."""
    arcs: Arcs = {}
    for number in conducting:
        near, far = branches[number].origin, branches[number].target
        if near in passing and far in passing:
            arcs.setdefault(near, []).append((number, far))
            if not branches[number].one_way:
                arcs.setdefault(far, []).append((number, near))
    return arcs


def _reach(arcs: Arcs, left_out: int, start: str, without: str) -> set[str]:
    reached, waiting = {start}, [start]
    while waiting:
        for number, node in arcs.get(waiting.pop(), ()):
            if node not in reached and number != left_out and node != without:
                reached.add(node)
                waiting.append(node)
    return reached


def _larger(one: CurrentBounds | None, other: CurrentBounds) -> CurrentBounds:
    if one is None:
        return other
    return CurrentBounds(max(one.least, other.least), max(one.most, other.most))
