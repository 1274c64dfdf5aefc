"""Question 4: the minimal cut sets of an item or a function.

A set of failures counts when it takes the target, and no smaller part of it does (Barlow and
Proschan, Statistical Theory of Reliability and Life Testing, 1975). All sets are tried, none is
derived by rule, so contactors that close on a *dead* bus, for which a second failure can restore
what the first took, are right as well.

Two exact savings keep the number of scenarios small. Failures of the same effect on the network
(two breakers in series in one branch) are tried once for all of them. And a breaker that feeds
nothing but equipment cannot change what the buses do, so it is opened in the answer instead of the
network.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, partial
from itertools import chain, combinations, product
from math import comb, prod

from sitegen.catalogue.model import AnyOf, Provider, required_ids
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome, condition_states, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import (
    Fault,
    Scenario,
    Scenarios,
    at_least,
    bits,
    every_set,
    every_single,
    scenarios_of,
)

LARGEST_SET = 3
MOST_SETS = 1_000_000
"""Sets of one size that are tried; larger sets are not, where they would be more."""

CutSet = tuple[Fault, ...]
"""Faults in the network's order; together they take the target."""

GroupedSet = tuple[tuple[Fault, ...], ...]
"""Groups of failures with the same effect on the network: any one of each group makes a set."""

Shape = tuple[object, ...]
"""How something is fed, with its own breakers numbered in place of their ids."""

TargetTest = Callable[[Power, frozenset[str]], int]
"""(what is powered, breakers also opened) -> the scenarios in which something holds."""


@dataclass(frozen=True)
class Target:
    """Something that a failure may bring about: the loss of an item, of a function ..."""

    id: str
    holds: TargetTest
    breakers: tuple[str, ...]
    """The devices that can only change what equipment gets, not what the buses do."""


def grouped_cut_sets(
    network: Network,
    condition: str,
    equipment: Sequence[str] = (),
    functions: Sequence[str] = (),
    order: int = LARGEST_SET,
    before: Power | None = None,
) -> dict[str, tuple[GroupedSet, ...]]:
    """The minimal cut sets of at most `order` failures of each target, grouped by effect.

    Equipment that is fed the same but for its own breakers is worked out once.

    Parameters
    ----------
    network, condition : where.
    equipment, functions : ids of the targets.
    order : the most failures in a set, 1 to 3; in a large net fewer (`largest_set`).
    before : the conditions in steady state, where the caller has them.

    Returns
    -------
    By target its sets, the smallest first. A target that does not work in the condition to begin
    with is left out. `ungrouped` lists every set by itself.
    """
    before = before or condition_states(network)
    nothing = solve(network, scenarios_of([Scenario(condition)]), before)
    conducts = nothing.after.steady.conducts
    # What switches, or is pulled in this condition, is a case of its own.
    by_name = {
        *_in_net(network),
        *network.switching,
        *(d for d, mask in conducts.items() if not mask),
    }
    first_of: dict[Shape, tuple[Target, tuple[str, ...]]] = {}
    same: dict[str, tuple[str, dict[Fault, Fault]]] = {}
    for item in equipment:
        shape, breakers = _shape(network, item, by_name)
        if shape not in first_of:
            closure = closure_of(network, (item,))
            lost = _lost_test(closure, (item,), 1)
            target = Target(item, lost, own_breakers(network, closure))
            first_of[shape] = target, breakers
        first, numbered = first_of[shape]
        pairs = zip(numbered, breakers, strict=True)
        same[item] = first.id, {(b, "open"): (c, "open") for b, c in pairs}
    targets = [*(t for t, _ in first_of.values()), *_function_targets(network, functions)]
    working = [t for t in targets if not t.holds(nothing.after, frozenset())]
    order = largest_set(network, order)
    found = _minimal_grouped_sets(network, condition, working, order, before)
    for item, (first_id, renamed) in same.items():
        if first_id in found and item != first_id:
            found[item] = tuple(_renamed(groups, renamed) for groups in found[first_id])
    return {t: found[t] for t in (*equipment, *functions) if t in found}


def _renamed(groups: GroupedSet, names: Mapping[Fault, Fault]) -> GroupedSet:
    if not any(fault in names for group in groups for fault in group):
        return groups
    return tuple(tuple(names.get(fault, fault) for fault in group) for group in groups)


def _minimal_grouped_sets(
    network: Network,
    condition: str,
    targets: Sequence[Target],
    order: int,
    before: Power,
) -> dict[str, tuple[GroupedSet, ...]]:
    """The minimal sets of one to `order` failures that bring each target about.

    Parameters and order as in `grouped_cut_sets`.
    """
    groups_by_first = grouped_by_effect(network)
    combined = set(network.combined_faults)
    tried = [fault for fault in groups_by_first if fault in combined]
    alone = [fault for fault in groups_by_first if fault not in combined]
    found: dict[str, dict[CutSet, None]] = {t.id: {} for t in targets}
    nothing = solve(network, scenarios_of([Scenario(condition)]), before)
    blocks = chain([every_single([condition], alone)], every_set(condition, tried, order))
    for outcome in chain([nothing], (solve(network, block, before) for block in blocks)):
        # Many targets are taken by the same scenarios.
        faults_at = cache(partial(_possible, outcome.scenarios))
        for target in targets:
            _search(outcome, target, order, found[target.id], faults_at)
    # A breaker that feeds only equipment is a group of its own.
    groups = {fault: groups_by_first.get(fault, (fault,)) for fault in network.faults}
    return {
        target: tuple(tuple([groups[f] for f in members]) for members in sorted(sets, key=len))
        for target, sets in found.items()
    }


def largest_set(
    network: Network, order: int = LARGEST_SET, own_faults: Iterable[Fault] = ()
) -> int:
    """The most failures in a set that is looked for: `order`, and fewer in a large network.

    `own_faults` are tried besides what can change the buses.
    """
    combined = set(network.combined_faults)
    faults = sum(f in combined for f in (*grouped_by_effect(network), *own_faults))
    while order > 1 and comb(faults, order) > MOST_SETS:
        order -= 1
    return order


def _possible(scenarios: Scenarios, k: int) -> tuple[Fault, ...] | None:
    """What fails in a scenario; None if one component fails in two modes at a time."""
    faults = scenarios.at(k).faults
    return faults if len({component for component, _ in faults}) == len(faults) else None


def ungrouped(network: Network, groups: Iterable[GroupedSet]) -> tuple[CutSet, ...]:
    """Every set by itself, the smallest first and then in the network's order."""
    place = {fault: i for i, fault in enumerate(network.faults)}
    every = (
        tuple(sorted(choice, key=place.__getitem__))
        for members in groups
        for choice in product(*members)
    )
    return tuple(sorted(every, key=lambda s: (len(s), [place[f] for f in s])))


def as_products(sets: Sequence[GroupedSet]) -> list[GroupedSet]:
    """Sets of one size as products: every choice of one fault from each group is one of the sets.

    Examples
    --------
    >>> a, b, x, y = (("a", "open"), ("b", "open"), ("x", "lost"), ("y", "lost"))
    >>> as_products([((a,), (x,)), ((a,), (y,)), ((b,), (x, y))])
    [((('a', 'open'), ('b', 'open')), (('x', 'lost'), ('y', 'lost')))]
    """
    products = list(sets)
    # Joining the last places first, then the one before: each pass merges products that differ
    # in one place only, which keeps every choice a set and every set in one product.
    for place in range(len(products[0]) - 1, -1, -1):
        merged: dict[GroupedSet, list[Fault]] = {}
        for line in products:
            rest = line[:place] + line[place + 1 :]
            merged.setdefault(rest, []).extend(line[place])
        products = [(*rest[:place], tuple(here), *rest[place:]) for rest, here in merged.items()]
    return products


def set_count(groups: GroupedSet) -> int:
    """The number of sets in a grouped set."""
    return prod(len(group) for group in groups)


def _search(
    outcome: Outcome,
    target: Target,
    order: int,
    found: dict[CutSet, None],
    faults_at: Callable[[int], tuple[Fault, ...] | None],
) -> None:
    """Add every set among these scenarios that takes the target and holds no smaller one.

    A set is some of the target's own breakers, opened in the answer, and what a scenario has failed
    in the net. Smaller sets are always found first: of one block by the order below, of earlier
    blocks because every part of a scenario's faults is in an earlier one, or in this one.
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
                own = tuple((device, "open") for device in opened)
                for k in bits(taken):
                    faults = faults_at(k)
                    if faults is not None:
                        found[faults + own] = None


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


def _function_targets(network: Network, functions: Sequence[str]) -> list[Target]:
    by_id = {f.id: f for f in network.catalogue.functions}
    targets = []
    for function in functions:
        providers = by_id[function].provided_by
        closure = closure_of(network, by_id[function].equipment)
        lost = _lost_test(closure, providers, by_id[function].need)
        targets.append(Target(function, lost, own_breakers(network, closure)))
    return targets


def _shape(network: Network, item: str, by_name: set[str]) -> tuple[Shape, tuple[str, ...]]:
    """How an item and all that it requires is fed, and its own breakers in their order."""
    number: dict[str, int] = {}

    def device(name: str) -> object:
        return name if name in by_name else number.setdefault(name, len(number))

    def of(name: str) -> Shape:
        equipment = network.equipment[name]
        return (
            equipment.needs,
            equipment.min_volts,
            tuple((c.bus, *map(device, c.through)) for c in network.connections[name]),
            tuple(
                tuple(map(of, r.any)) if isinstance(r, AnyOf) else (of(r),)
                for r in equipment.requires
            ),
        )

    shape = of(item)
    return shape, tuple(number)


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


def _lost_test(closure: Sequence[str], providers: Sequence[Provider], need: int) -> TargetTest:
    def lost(power: Power, opened: frozenset[str]) -> int:
        every = power.steady.setting.all
        works = working(power, closure, opened) if opened else power.works
        return every & ~at_least(power.providing(providers, works), need, every)[need]

    return lost


def working(power: Power, closure: Sequence[str], opened: frozenset[str]) -> dict[str, int]:
    """What works of these, with some of their own breakers opened."""
    network = power.steady.network
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
    """The devices whose position is in a closing condition, or lights a lamp or flag."""
    indications = network.catalogue.indications
    conditions = [*network.switching.values(), *(i.lit_when or () for i in indications)]
    return {
        device
        for any_of in conditions
        for terms in any_of
        for device in (*terms.closed, *terms.open)
    }


def _in_net(network: Network) -> set[str]:
    """The devices that can change what the buses do."""
    return {d for branch in network.branches for d in branch.through} | _watched(network)


def grouped_by_effect(network: Network) -> dict[Fault, tuple[Fault, ...]]:
    """The failures that can change what the buses do: by one of each group, the whole group.

    Of devices in one branch, and in nothing else, that are in no closing condition, any one open
    has the effect of any other.
    """
    watched = _watched(network)
    uses: dict[str, list[int]] = {}
    for i, branch in enumerate(network.branches):
        for device in branch.through:
            uses.setdefault(device, []).append(i)
    for connections in network.connections.values():
        for connection in connections:
            for device in connection.through:
                if device in uses:
                    uses[device].append(-1)
    in_net = _in_net(network)
    groups: dict[tuple[int, str], list[Fault]] = {}
    for component, mode in network.faults:
        used_in = uses.get(component, [])
        if mode == "open" and len(used_in) == 1 and component not in watched:
            groups.setdefault((used_in[0], ""), []).append((component, mode))
        elif component in network.nodes or component in in_net:
            groups.setdefault((-1, f"{component}:{mode}"), []).append((component, mode))
    return {members[0]: tuple(members) for members in groups.values()}
