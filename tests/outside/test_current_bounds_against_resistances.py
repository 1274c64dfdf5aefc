"""What feeders carry at least and at most, against conductors with resistances.

The catalogue has no resistances: they decide how current divides over parallel paths. So random
nets get many random sets of them, and Kirchhoff's laws (numpy's linear solver; each source gives
what the rule of sharing says) the current in every branch. None may be outside its bounds. Where
one source feeds one load, some set must come near to each bound, so that they are not loose.
"""

from __future__ import annotations

import random

import numpy as np
import pytest

from sitegen.answers.loads.carried import CurrentBounds
from sitegen.answers.loads.drawn import draws
from sitegen.answers.loads.state_amps import Amps
from sitegen.solver.network import Network
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from tests.nets import network
from tests.samples import sample_size

NETS = 100
SETS = 1000
DECADES = 4
"""Conductances are between 10 to the minus this and 10 to this, so that one path may take all."""
NEAR = 0.05
NOTHING = CurrentBounds(0, 0)  # type: ignore[arg-type]


def meshed(chance: random.Random, buses: int, sources: int, loads: int, more: int) -> Network:
    """Buses in a tree from the sources, with some branches besides."""
    nodes = [f"b{i}" for i in range(buses)]
    branches = [(chance.choice(nodes[:i]), nodes[i]) for i in range(1, buses)]
    branches += [tuple(chance.sample(nodes, 2)) for _ in range(more)]  # type: ignore[misc]
    branches += [(f"s{i}", chance.choice(nodes)) for i in range(sources)]
    feeders = ", ".join(f"{a} > f{i} > {b}" for i, (a, b) in enumerate(branches))
    devices = ", ".join(f"f{i}: fuse" for i in range(len(branches)))
    gives = ", ".join(
        f"s{i}: {{kind: generator, volts: 28, amps: {chance.choice((100, 200, 350))}}}"
        for i in range(sources)
    )
    items = ", ".join(
        f"e{i}: {{supplies: [{{bus: {chance.choice(nodes)}}}], amps: {chance.randint(1, 60)}}}"
        for i in range(loads)
    )
    return network(
        f"sources: {{{gives}}}\nbuses: [{', '.join(nodes)}]\ndevices: {{{devices}}}\n"
        f"feeders: [{feeders}]\nequipment: {{{items}}}"
    )


def amps_in(net: Network) -> Amps:
    outcome = solve(net, scenarios_of([Scenario("flight")]))
    return draws(outcome.after).states[0]


def currents(net: Network, amps: Amps, chance: np.random.Generator, sets: int) -> np.ndarray:
    """By set of resistances, by branch: the current along it, A."""
    place = {node: i for i, node in enumerate(net.nodes)}
    ends = np.array([(place[b.origin], place[b.target]) for b in net.branches])
    given = np.zeros(len(place))
    for (source, node), flow in amps.flows.items():
        given[place[source]] += float(flow)
        given[place[node]] -= float(flow)
    found = []
    for _ in range(sets):
        conductance = 10 ** chance.uniform(-DECADES, DECADES, len(ends))
        matrix = np.zeros((len(place), len(place)))
        for (one, other), g in zip(ends, conductance, strict=True):
            matrix[one, one] += g
            matrix[other, other] += g
            matrix[one, other] -= g
            matrix[other, one] -= g
        # Volts are from the first node; the net is connected.
        volts = np.zeros(len(place))
        volts[1:] = np.linalg.solve(matrix[1:, 1:], given[1:])
        found.append(conductance * (volts[ends[:, 0]] - volts[ends[:, 1]]))
    return np.abs(np.array(found))


@pytest.mark.parametrize("sources", [1, 2, 3])
def test_no_set_of_resistances_leads_a_current_outside_its_bounds(sources: int) -> None:
    chance, resistances = random.Random(sources), np.random.default_rng(sources)
    parallel = 0
    for _ in range(sample_size(NETS)):
        net = meshed(
            chance, chance.randint(2, 7), sources, chance.randint(1, 5), chance.randint(0, 4)
        )
        amps = amps_in(net)
        # The volts of a badly conducting net are large, and so are the errors of rounding.
        off = 1e-4 * sum(map(float, amps.sources.values()))
        flowing = currents(net, amps, resistances, sample_size(SETS))
        for number in range(len(net.branches)):
            bounds = amps.branch_bounds.get(number, NOTHING)
            parallel += bounds.least < bounds.most
            assert flowing[:, number].min() >= float(bounds.least) - off
            assert flowing[:, number].max() <= float(bounds.most) + off
    assert parallel


def test_some_set_of_resistances_comes_near_to_each_bound() -> None:
    chance, resistances = random.Random(7), np.random.default_rng(7)
    for _ in range(sample_size(NETS)):
        net = meshed(chance, chance.randint(2, 4), 1, 1, chance.randint(1, 2))
        amps = amps_in(net)
        [load] = amps.sources.values()
        flowing = currents(net, amps, resistances, SETS)
        for number in range(len(net.branches)):
            bounds = amps.branch_bounds.get(number, NOTHING)
            assert flowing[:, number].max() >= float(bounds.most - load * NEAR)
            assert flowing[:, number].min() <= float(bounds.least + load * NEAR)
