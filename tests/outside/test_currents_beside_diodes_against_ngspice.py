"""What feeders with and without diodes carry, against a circuit simulator.

Source of the check: the operating point that `ngspice` finds (https://ngspice.sourceforge.io;
Debian package `ngspice`) for random nets of one source as circuits: a conductor is a few hundred
thousandths of an ohm, a sound diode one without a drop and a source of the drop's volts against the
current. No current may be outside its bounds: a diode beside a way that drops more than half a volt
less carries nothing, and a way that is the only one left carries everything.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from sitegen.answers.loads.carried import CurrentBounds
from sitegen.answers.loads.drawn import draws
from sitegen.answers.loads.state_amps import Amps
from sitegen.solver.network import Network
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from tests.nets import network
from tests.outside.ngspice import operating_point
from tests.samples import sample_size

NETS = 400
DROPS = (0.2, 0.45, 0.7, 1.1)
"""Of diodes, V."""
OFF = 0.1
"""A."""
NOTHING = CurrentBounds(0, 0)  # type: ignore[arg-type]


def random_net(chance: random.Random) -> Network:
    """One source, a tree of buses, and branches besides; more than half of all hold a diode."""
    nodes = ["s", *(f"b{i}" for i in range(chance.randint(2, 6)))]
    branches = [(chance.choice(nodes[:i]), nodes[i]) for i in range(1, len(nodes))]
    branches += [tuple(chance.sample(nodes, 2)) for _ in range(chance.randint(1, 6))]  # type: ignore[misc]
    devices, feeders = [], []
    for i, (origin, target) in enumerate(branches):
        through = [f"f{i}"]
        devices.append(f"f{i}: fuse")
        if chance.random() < 0.6:
            through.append(f"d{i}")
            devices.append(f"d{i}: {{kind: diode, drop-volts: {chance.choice(DROPS)}}}")
        feeders.append(" > ".join([origin, *through, target]))
    items = ", ".join(
        f"e{i}: {{supplies: [{{bus: {chance.choice(nodes[1:])}}}], amps: {chance.randint(1, 60)}}}"
        for i in range(chance.randint(1, 4))
    )
    return network(
        f"sources: {{s: {{kind: generator, volts: 28, amps: 300}}}}\n"
        f"buses: [{', '.join(nodes[1:])}]\ndevices: {{{', '.join(devices)}}}\n"
        f"feeders: [{', '.join(feeders)}]\nequipment: {{{items}}}"
    )


def circuit(net: Network, amps: Amps, chance: random.Random, prefix: str) -> list[str]:
    """The net as lines of a deck; `a` with the number of a branch reads its current."""
    lines = [f"r{prefix}{node} {prefix}{node} 0 1meg" for node in net.nodes]
    lines.append(f"v{prefix}s {prefix}s 0 28")
    for i, branch in enumerate(net.branches):
        start, end = f"{prefix}a{i}", f"{prefix}{branch.target}"
        lines.append(f"va{prefix}{i} {prefix}{branch.origin} {start} 0")
        for drop in (net.millivolts[d] for d in branch.diodes):
            lines.append(f"d{prefix}{i} {start} {prefix}m{i} ideal")
            lines.append(f"v{prefix}m{i} {prefix}m{i} {prefix}n{i} {drop / 1000}")
            lines.append(f"r{prefix}m{i} {prefix}m{i} 0 1g")
            start = f"{prefix}n{i}"
        lines.append(f"r{prefix}w{i} {start} {end} {10 ** chance.uniform(-5, -3.5):.4g}")
    lines += [f"i{prefix}{node} {prefix}{node} 0 {float(a)}" for node, a in amps.known.items()]
    return lines


@pytest.mark.parametrize("seed", range(2))
def test_no_current_beside_diodes_is_outside_its_bounds(seed: int, tmp_path: Path) -> None:
    chance = random.Random(seed)
    lines: list[str] = []
    bounds: dict[str, CurrentBounds] = {}
    diodes_without = diodes_that_may = 0
    for number in range(sample_size(NETS)):
        net = random_net(chance)
        amps = draws(solve(net, scenarios_of([Scenario("flight")])).after).states[0]
        prefix = f"n{number}x"
        lines += circuit(net, amps, chance, prefix)
        live = {n for n in net.nodes if amps.net.sharing.state.nodes[n].live}
        for i, branch in enumerate(net.branches):
            bounds[f"{prefix}{i}"] = found = amps.branch_bounds.get(i, NOTHING)
            if branch.diodes and {branch.origin, branch.target} <= live:
                diodes_without += not found.most
                diodes_that_may += bool(found.most)
    shown = dict(operating_point(lines, "is=1e-9 n=0.002", r"va(\w+)#branch", tmp_path))
    assert shown.keys() == bounds.keys()
    outside = {
        branch: (bounds[branch], flows)
        for branch, flows in shown.items()
        if not bounds[branch].least - OFF <= abs(flows) <= bounds[branch].most + OFF
    }
    assert not outside
    assert diodes_without > 20
    assert diodes_that_may > 20
