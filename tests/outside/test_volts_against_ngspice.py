"""Node volts against a circuit simulator.

Source of the check: the operating point that `ngspice` finds (https://ngspice.sourceforge.io;
Debian package `ngspice`) for the same net as a circuit: a source that produces is an ideal voltage
source behind a near-ideal diode (emission coefficient 0.01), so that the higher volts win and
nothing flows back into the lower; a closed feeder is a thousandth of an ohm, with such a diode in
it where the catalogue has one; every node has a megohm to ground, so that one without supply shows
0 V. A dead bus is tied to nothing. What is left of the diodes' drop is a few thousandths of a volt.
"""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest

from sitegen.answers.drop import Loss, losses
from sitegen.catalogue.model import Catalogue
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from tests.outside.frozen import WITHOUT_SHORTS
from tests.outside.ngspice import operating_point

NETS_IN_A_DECK = 200
SCENARIOS_OF_A_NET = 5
DROP_VOLTS = 0.7
"""Of a silicon diode; from memory."""
TOLERANCE_VOLTS = 0.05


def random_net(chance: random.Random) -> Network:
    """Sources of different volts, buses, and feeders of which half hold a diode."""
    sources = [f"s{i}" for i in range(chance.randint(1, 4))]
    buses = [f"b{i}" for i in range(chance.randint(2, 7))]
    devices: list[dict[str, Any]] = []
    feeders = []
    for i in range(chance.randint(3, 14)):
        origin, target = chance.sample(sources + buses, 2)
        through = [f"cb{i}"]
        devices.append({"id": f"cb{i}", "name": f"CB {i}", "kind": "breaker"})
        if chance.random() < 0.5:
            through.append(f"d{i}")
            devices.append(
                {"id": f"d{i}", "name": f"D {i}", "kind": "diode", "drop-volts": DROP_VOLTS}
            )
        feeders.append({"from": origin, "to": target, "through": through})
    return build(
        Catalogue.model_validate(
            {
                "format": 1,
                "aircraft": {"name": "A net", "revision": "1", "revised": "2026-01-01"},
                "sources": [
                    {
                        "id": s,
                        "name": s,
                        "kind": "generator",
                        "volts": chance.choice([14, 24, 26, 28, 28.5]),
                    }
                    for s in sources
                ],
                "buses": [{"id": b, "name": b} for b in buses],
                "devices": devices,
                "feeders": feeders,
                "conditions": [{"id": "flight", "name": "Flight", "sources": sources}],
            }
        ),
        "all",
    )


def circuit(network: Network, loss: Loss, prefix: str) -> list[str]:
    """One scenario as lines of a deck; all its names carry the prefix."""
    failed = set(loss.failed)
    lines = []
    for node in network.nodes:
        lines.append(f"r{prefix}{node} {prefix}{node} 0 1meg")
    for source in network.sources.values():
        if (source.id, "lost") not in failed:
            lines.append(f"v{prefix}{source.id} {prefix}{source.id}v 0 {source.volts}")
            lines.append(f"d{prefix}{source.id} {prefix}{source.id}v {prefix}{source.id} ideal")
    for i, feeder in enumerate(network.catalogue.feeders):
        ends = {feeder.from_, feeder.to}
        if any((d, "open") in failed for d in feeder.through):
            continue
        if any((end, "dead") in failed for end in ends):
            continue
        target = f"{prefix}{feeder.to}"
        if len(feeder.through) == 2:
            # A diode: one without a drop, and a source of the drop's volts against the current.
            lines.append(f"d{prefix}f{i} {prefix}f{i} {prefix}m{i} ideal")
            lines.append(f"v{prefix}m{i} {prefix}m{i} {target} {DROP_VOLTS}")
            lines.append(f"r{prefix}m{i} {prefix}m{i} 0 1g")
            target = f"{prefix}f{i}"
        lines.append(f"r{prefix}f{i} {prefix}{feeder.from_} {target} 1m")
    return lines


def volts_found(lines: list[str], folder: Path) -> dict[str, float]:
    """By node the volts that ngspice finds."""
    return dict(operating_point(lines, "is=1e-14 n=0.01", r"([a-z][\w.]*)", folder))


@pytest.mark.parametrize("seed", range(4))
def test_nodes_show_the_volts_that_a_circuit_simulator_finds(seed: int, tmp_path: Path) -> None:
    chance = random.Random(seed)
    lines: list[str] = []
    expected: dict[str, float] = {}
    for number in range(NETS_IN_A_DECK):
        network = random_net(chance)
        faults = [fault for fault in network.faults if fault[1] in WITHOUT_SHORTS]
        scenarios = [
            Scenario("flight", tuple(chance.sample(faults, chance.randint(0, 3))))
            for _ in range(SCENARIOS_OF_A_NET)
        ]
        for k, loss in enumerate(losses(solve(network, scenarios_of(scenarios)))):
            prefix = f"n{number}x{k}"
            lines += circuit(network, loss, prefix)
            expected |= {prefix + node: state.volts for node, state in loss.nodes.items()}
    found = volts_found(lines, tmp_path)
    differing = {
        node: (volts, found[node])
        for node, volts in expected.items()
        if abs(found[node] - volts) > TOLERANCE_VOLTS
    }
    assert not differing
    assert {0.0, 14.0, 24.0, 26.0, 28.0, 28.5, 27.3, 26.6} <= set(expected.values())
