"""The endurance after every single failure, each distinct state of the net computed once.

Most single failures leave the batteries as they were. An endurance follows from which sources reach
which node and which supplies of equipment and of converters are live, now and when some of the
batteries are flat. Where all of it is the same for two failures, so are their endurances.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

from sitegen.answers.endurance.battery_endurance import beside_overload, endurances_of
from sitegen.answers.endurance.battery_load import (
    Flat,
    LoadShares,
    Phases,
    scenarios_on_battery,
    unsure_nodes,
)
from sitegen.answers.endurance.remarks import Remarks
from sitegen.answers.endurance.results import Endurance
from sitegen.answers.three_answers import must_open
from sitegen.solver.network import Network
from sitegen.solver.outcome import solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import (
    Fault,
    Scenario,
    bits,
    by_scenario,
    every_single,
    scenarios_of,
    union,
)

MOST_BATTERIES = 4
"""With more, too many sets of batteries may be flat to compare failures beforehand."""

Endurances = tuple[Endurance, ...]


def endurances_by_scenario(
    network: Network, faults: Sequence[Fault], before: Power
) -> dict[Scenario, Endurances]:
    """The endurances with each fault alone, in each condition in which a battery carries load.

    The same as `battery_endurances` for each of them, in a fraction of the time; scenarios in
    which no battery carries load, also when what must open has opened, are left out.
    """
    # What the conditions may differ in, besides the state of the net.
    conditions = {
        c.id: (c.loads, repr(c.own_battery_time))
        for c in network.catalogue.conditions
        if c.battery_time
    }
    if not conditions:
        return {}
    every = every_single(list(conditions), list(faults))
    solved = solve(network, every, before)
    scenarios = [every.at(k) for k in bits(scenarios_on_battery(solved.after))]
    found = _on_battery(network, scenarios, conditions, before) if scenarios else {}
    opening = [every.at(k) for k in must_open(solved)]
    for some in [opening] if few_batteries(network) else [[s] for s in opening]:
        cases = [(s.condition, s.faults, None) for s in some]
        closed = [found.get(s, ()) for s in some]
        opened = beside_overload(network, cases, closed, range(len(some)), before, dip=False)
        found.update((s, tuple(of_it)) for s, of_it in zip(some, opened, strict=True) if of_it)
    return found


def _on_battery(
    network: Network,
    scenarios: Sequence[Scenario],
    conditions: Mapping[str, object],
    before: Power,
) -> dict[Scenario, Endurances]:
    """The endurances in scenarios in which a battery carries load.

    `conditions`: what they may differ in, besides the state of the net.
    """
    known: dict[object, list[Endurance]] = {}
    found = {}
    outcome = solve(network, scenarios_of(scenarios), before)
    remarks = Remarks(outcome)
    shares = LoadShares(outcome)
    for k, (scenario, state) in enumerate(zip(scenarios, _battery_states(shares), strict=True)):
        key = (conditions[scenario.condition], state)
        if key not in known:
            number = k
            if not few_batteries(network):
                number, shares = 0, LoadShares(solve(network, scenarios_of([scenario]), before))
            phases = Phases(shares, number, shares, [number])
            known[key] = endurances_of(network, scenario.condition, phases)
        if known[key]:
            found[scenario] = remarks.on(known[key], k)
    return found


def few_batteries(network: Network) -> bool:
    """Whether all scenarios may be solved together for each set of batteries that may be flat."""
    return sum(s.kind == "battery" for s in network.sources.values()) <= MOST_BATTERIES


def _battery_states(shares: LoadShares) -> Iterator[object]:
    """By scenario, all that an endurance follows from; the same where the endurances are."""
    outcome = shares.outcome
    if not few_batteries(outcome.network):
        return iter(range(outcome.scenarios.count))
    batteries = [s.id for s in outcome.network.sources.values() if s.kind == "battery"]
    ways = {id(one): one for one in map(shares.with_flat, _flat_before_the_last(batteries))}
    stages = ways.values()
    return by_scenario(
        [mask for stage in stages for mask in _masks_for_loads(stage.after)],
        outcome.scenarios.count,
    )


def _flat_before_the_last(batteries: Sequence[str], flat: Flat = ()) -> Iterator[Flat]:
    """Every way in which batteries go flat while at least one is left."""
    yield flat
    for size in range(1, len(batteries)):
        for together in combinations(batteries, size):
            left = [battery for battery in batteries if battery not in together]
            yield from _flat_before_the_last(left, (*flat, together))


def _masks_for_loads(power: Power) -> Iterator[int]:
    """The masks from which it follows who carries what: where all are the same, so are the shares.

    They say which sources carry the load of a node, which converters have which live inputs,
    which supplies of each piece of equipment are live, and at which volts; of nodes of which
    nothing may say who carries them, which sources reach them; and at which batteries which sources
    offer enough for these to float.
    """
    steady, network = power.steady, power.steady.network
    levels = {node: dict(power.volts[node]) for node in network.nodes}
    inputs = [
        (branch, mask)
        for branch, mask in zip(network.branches, steady.branch_masks, strict=True)
        if branch.into_converter
    ]
    for node in network.loaded_nodes:
        yield from levels[node].values()
        for source in network.sources.values():
            yield power.carriers[node].get(source.id, 0)
    for battery in (s.id for s in network.sources.values() if s.kind == "battery"):
        own = network.millivolts[battery]
        for offered in power.offered.values():
            yield union(where for level, where in offered[battery] if level >= own)
    for branch, mask in inputs:
        yield mask & steady.live[branch.origin]
        yield from (steady.setting.bypassed[diode] for diode in branch.diodes)
    for node, mask in unsure_nodes(power).items():
        for name in network.sources:
            yield power.reach[name].get(node, 0) & mask
    for item in network.equipment:
        yield from power.fed[item]
