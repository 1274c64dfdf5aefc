"""Question 4: the smallest sets of failures that take an item or a function away.

A set counts when everything in it failing takes the target, and no smaller part of it does (a
minimal cut set; Barlow and Proschan, Statistical Theory of Reliability and Life Testing, 1975).
All sets are tried, none is put together by rule, so contactors that close on a *dead* bus, for
which a second failure can give back what the first took, are right as well.

Two exact savings keep the number of scenarios small. Failures that are the same to the rest of the
net (two breakers in series in one run) stand in for each other. And a breaker that feeds nothing
but equipment cannot change what the buses do, so it is opened in the answer instead of the net.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, combinations, product

from sitegen.network.network import Network, required_ids
from sitegen.network.outcome import Outcome, Power, conditions_settled, solve
from sitegen.network.scenarios import Fault, Scenario, at_least, bits, every_set, listed

LARGEST_SET = 3

CutSet = tuple[Fault, ...]
"""Faults in the network's order; together they take the target."""

Holding = Callable[[Power, frozenset[str]], int]
"""(what is powered, breakers opened besides) -> the scenarios in which something holds."""


@dataclass(frozen=True)
class Target:
    """Something that a failure may bring about: the loss of an item, of a function ..."""

    id: str
    holds: Holding
    breakers: tuple[str, ...]
    """The devices that can only change what equipment gets, not what the buses do."""


def cut_sets(
    network: Network,
    condition: str,
    equipment: Sequence[str] = (),
    functions: Sequence[str] = (),
    order: int = LARGEST_SET,
    before: Power | None = None,
) -> dict[str, tuple[CutSet, ...]]:
    """The smallest sets of at most `order` failures that take each target.

    Parameters
    ----------
    network, condition : where.
    equipment, functions : ids of the targets.
    order : the most failures in a set, 1 to 3.
    before : the conditions already settled, where the caller has them.

    Returns
    -------
    By target its sets, the smallest first and then in the network's order. A target that does not
    work in the condition to begin with is left out.
    """
    before = before or conditions_settled(network)
    nothing = solve(network, listed([Scenario(condition)]), before)
    targets = [
        target
        for target in _targets(network, equipment, functions)
        if not target.holds(nothing.after, frozenset())
    ]
    return smallest_sets(network, condition, targets, order, before)


def smallest_sets(
    network: Network,
    condition: str,
    targets: Sequence[Target],
    order: int = LARGEST_SET,
    before: Power | None = None,
    besides: Iterable[Fault] = (),
) -> dict[str, tuple[CutSet, ...]]:
    """The smallest sets of one to `order` failures that bring each target about.

    None of a target's sets holds a smaller one. Parameters and order as in `cut_sets`; `besides`
    are failures of breakers that feed only equipment, tried in the net rather than in the answer.
    """
    before = before or conditions_settled(network)
    classes = {**_classes(network), **{fault: (fault,) for fault in besides}}
    found: dict[str, dict[CutSet, None]] = {t.id: {} for t in targets}
    nothing = solve(network, listed([Scenario(condition)]), before)
    blocks = every_set(condition, list(classes), order)
    for outcome in chain([nothing], (solve(network, block, before) for block in blocks)):
        for target in targets:
            _search(outcome, target, order, found[target.id])
    place = {fault: i for i, fault in enumerate(network.faults)}

    def in_order(sets: dict[CutSet, None]) -> tuple[CutSet, ...]:
        expanded = (
            tuple(sorted(choice, key=place.__getitem__))
            for members in sets
            for choice in product(*(classes.get(fault, (fault,)) for fault in members))
        )
        return tuple(sorted(expanded, key=lambda s: (len(s), [place[f] for f in s])))

    return {target: in_order(sets) for target, sets in found.items()}


def _search(outcome: Outcome, target: Target, order: int, found: dict[CutSet, None]) -> None:
    """Add every set among these scenarios that takes the target and holds no smaller one.

    A set is some of the target's own breakers, opened in the answer, and what a scenario has failed
    in the net. Smaller sets are always found first: of one block by the order below, of earlier
    blocks because every part of a scenario's faults stands in an earlier one, or in this one.
    """
    scenarios = outcome.scenarios
    for size in range(1, order + 1):
        for opened_count in range(min(size, len(target.breakers)) + 1):
            wanted = scenarios.of_size.get(size - opened_count, 0)
            if not wanted:
                continue
            for opened in combinations(target.breakers, opened_count):
                taken = target.holds(outcome.after, frozenset(opened)) & wanted
                if not taken:
                    continue
                for smaller in found:
                    if len(smaller) < size:
                        taken &= ~_holds(smaller, opened, target, scenarios.failed, scenarios.all)
                for k in bits(taken):
                    faults = scenarios.at(k).faults
                    # One component fails in one mode at a time.
                    if len({component for component, _ in faults}) == len(faults):
                        found[(*faults, *((device, "open") for device in opened))] = None


def _holds(
    smaller: CutSet,
    opened: Sequence[str],
    target: Target,
    failed: Mapping[Fault, int],
    every: int,
) -> int:
    """The scenarios that, with these breakers opened, hold all of a smaller set."""
    mask = every
    for fault in smaller:
        if fault[0] in target.breakers:
            if fault[0] not in opened:
                return 0
        else:
            mask &= failed.get(fault, 0)
    return mask


def _targets(network: Network, equipment: Sequence[str], functions: Sequence[str]) -> list[Target]:
    by_id = {f.id: f for f in network.catalogue.functions}
    wanted: list[tuple[str, Sequence[str], int]] = [
        *((item, (item,), 1) for item in equipment),
        *((f, by_id[f].provided_by, by_id[f].need) for f in functions),
    ]
    targets = []
    for target, providers, need in wanted:
        closure = closure_of(network, providers)
        breakers = own_breakers(network, closure)
        targets.append(Target(target, _gone(closure, providers, need), breakers))
    return targets


def own_breakers(network: Network, owners: Iterable[str]) -> tuple[str, ...]:
    """The devices through which equipment or indications are fed that nothing else depends on."""
    in_net = _in_net(network)
    return tuple(
        dict.fromkeys(
            device
            for owner in owners
            for connection in network.connections[owner]
            for device in connection.through
            if device not in in_net
        )
    )


def _gone(closure: Sequence[str], providers: Sequence[str], need: int) -> Holding:
    def gone(power: Power, opened: frozenset[str]) -> int:
        every = power.settled.setting.all
        works = working(power, closure, opened) if opened else power.works
        return every & ~at_least((works[p] for p in providers), need, every)[need]

    return gone


def working(power: Power, closure: Sequence[str], opened: frozenset[str]) -> dict[str, int]:
    """What works of these, with some of their own breakers opened."""
    network = power.settled.network
    works: dict[str, int] = {}
    for item in closure:
        fed = power.fed_with(item, opened)
        works[item] = power.working(network.equipment[item], fed, works)
    return works


def closure_of(network: Network, items: Sequence[str]) -> list[str]:
    """These pieces of equipment and all that they require, what is required first."""
    wanted: set[str] = set()
    waiting = list(items)
    while waiting:
        item = waiting.pop()
        if item not in wanted:
            wanted.add(item)
            waiting.extend(required_ids(network.equipment[item]))
    return [item for item in network.resolve_order if item in wanted]


def _watched(network: Network) -> set[str]:
    """The devices whose being open or closed moves a contactor, or is shown."""
    indications = network.catalogue.indications
    shown = {i.at for i in indications if i.at is not None}
    structures = [*network.moving.values(), *(i.lit_when or () for i in indications)]
    return shown | {
        device
        for any_of in structures
        for terms in any_of
        for device in (*terms.closed, *terms.open)
    }


def _in_net(network: Network) -> set[str]:
    """The devices that can change what the buses do."""
    return {d for run in network.runs for d in run.through} | _watched(network)


def _classes(network: Network) -> dict[Fault, tuple[Fault, ...]]:
    """The failures that can change what the buses do, by one of each kind, with its like.

    Devices in one run, and in nothing else, that no contactor watches: any of them open does the
    same as any other.
    """
    watched = _watched(network)
    uses: dict[str, list[int]] = {}
    for i, run in enumerate(network.runs):
        for device in run.through:
            uses.setdefault(device, []).append(i)
    for connections in network.connections.values():
        for connection in connections:
            for device in connection.through:
                if device in uses:
                    uses[device].append(-1)
    in_net = _in_net(network)
    like: dict[tuple[int, str], list[Fault]] = {}
    for component, mode in network.faults:
        used_in = uses.get(component, [])
        if mode == "open" and len(used_in) == 1 and component not in watched:
            like.setdefault((used_in[0], ""), []).append((component, mode))
        elif component in network.nodes or component in in_net:
            like.setdefault((-1, f"{component}:{mode}"), []).append((component, mode))
    return {members[0]: tuple(members) for members in like.values()}
