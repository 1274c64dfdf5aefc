"""Question 6, of devices: what a breaker, link or contactor in a feeder carries.

Where a feeder is the only way for some current, it carries it. Where current has several ways, the
conductors' resistances decide, and the catalogue has none: a feeder is then told the least that it
carries for certain and the most that it could be asked to carry.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, partial

from sitegen.network.loads import Load, live_inputs, sharing
from sitegen.network.network import Network, Run


@dataclass(frozen=True)
class Carried:
    """Amps through a device in one scenario."""

    least: float
    """What it is the only way for, A."""
    most: float
    """What it could be asked to carry, A; the same where it is the only way."""


Ways = dict[tuple[tuple[int, ...], frozenset[str], int], Callable[[str, str], set[str]]]
"""By what conducts, what passes and a run: the nodes reached without the run and one more node."""


def carried(network: Network, load: Load, ways: Ways | None = None) -> dict[str, Carried]:
    """By device in a feeder that conducts: what it carries; of several poles, the one with most.

    Parameters
    ----------
    network, load : the airframe, and the amps in one scenario of it.
    ways : to be given again with the next scenario, which often has the same ways for power.
    """
    state = load.loss
    conducting = tuple(
        number
        for number, run in enumerate(network.runs)
        if not run.into_converter and all(state.conducts[d] for d in run.through)
    )
    passing = frozenset(n for n, s in state.nodes.items() if not s.down)
    flows = [
        (source, bus, amps)
        for bus, drawn in load.buses.items()
        for source, amps in sharing(network, state, bus, drawn)
        if amps and source != bus
    ]
    found: dict[str, Carried] = {}
    known = {} if ways is None else ways
    for number in conducting:
        amps = _through(network.runs, conducting, number, passing, flows, known)
        for device in network.runs[number].through:
            found[device] = _larger(found.get(device), amps)
    for converter, drawn in load.converters.items():
        inputs = live_inputs(network, state, converter)
        for run in network.runs:
            if run.into_converter and run.target == converter and run.origin in inputs:
                amps = Carried(drawn if len(inputs) == 1 else 0.0, drawn)
                for device in run.through:
                    found[device] = _larger(found.get(device), amps)
    return found


def _through(
    runs: Sequence[Run],
    conducting: tuple[int, ...],
    number: int,
    passing: frozenset[str],
    flows: Iterable[tuple[str, str, float]],
    ways: Ways,
) -> Carried:
    run = runs[number]
    key = (conducting, passing, number)
    if key not in ways:
        ways[key] = cache(partial(_reach, _arcs(runs, conducting, number), passing))
    reach = ways[key]
    near, far = run.origin, run.target
    beyond, behind = reach(far, near), reach(near, far)
    # Along the run counts up, against it down: what two sources send each other's buses cancels.
    low = high = 0.0
    for source, bus, amps in flows:
        along = bus in beyond and near in reach(source, far)
        against = not run.one_way and bus in behind and far in reach(source, near)
        certain = (along or against) and bus not in reach(source, "")
        if along:
            high += amps
            low += amps if certain else 0.0
        if against:
            low -= amps
            high -= amps if certain else 0.0
    return Carried(max(low, -high, 0.0), max(high, -low))


def _arcs(runs: Sequence[Run], conducting: Iterable[int], without: int) -> dict[str, list[str]]:
    """By node, where power goes from it through the other runs."""
    arcs: dict[str, list[str]] = {}
    for number in conducting:
        if number != without:
            arcs.setdefault(runs[number].origin, []).append(runs[number].target)
            if not runs[number].one_way:
                arcs.setdefault(runs[number].target, []).append(runs[number].origin)
    return arcs


def _reach(
    arcs: Mapping[str, Iterable[str]], passing: frozenset[str], start: str, without: str
) -> set[str]:
    """The nodes that a way from `start` leads to, past those that pass no power and one more."""
    if start not in passing:
        return set()
    reached, waiting = {start}, [start]
    while waiting:
        for node in arcs.get(waiting.pop(), ()):
            if node in passing and node not in reached and node != without:
                reached.add(node)
                waiting.append(node)
    return reached


def _larger(one: Carried | None, other: Carried) -> Carried:
    if one is None:
        return other
    return Carried(max(one.least, other.least), max(one.most, other.most))
