"""How sources share load, against a circuit simulator.

Source of the check: the operating point analysis (`.op`) of `ngspice`
(https://ngspice.sourceforge.io; Debian package `ngspice`) on the same DC net as a circuit. A source
that produces is an ideal voltage source behind a near-ideal diode, so that nothing flows back into
it, and a resistance in inverse proportion to its rated amps: sources of equal volts then droop
alike at equal shares of their ratings, which is what 'in proportion to their rated amps' means. A
closed feeder is a millionth of an ohm, with such a diode in it where the catalogue has one; a
piece of equipment on a live bus is a current source of its amps.

The droop is at most DROOP_VOLTS, less than what lies between the volts of any two levels of
source, so that the higher level carries all that it reaches. What the conductors and diodes drop,
against this, is why a source may differ by TOLERANCE of the net's whole load.

Where diodes let two sources reach one bus in common, and one of them another bus besides, how a
circuit shares depends on the droop itself. The simulator is asked only where ideal conductors
settle it: any two loaded buses have the same highest sources, or none in common.
"""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest

from sitegen.answers.loads.source_loads import Load, loads
from sitegen.catalogue.model import Catalogue
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from tests.outside.frozen import WITHOUT_SHORTS
from tests.outside.ngspice import operating_point

NETS_IN_A_DECK = 150
SCENARIOS_OF_A_NET = 4
DROOP_VOLTS = 3.0
TOLERANCE = 0.005
VOLTS = [28.0, 28.0, 28.0, 24.0]
RATINGS = [50.0, 100.0, 150.0, 300.0]


def net(
    sources: dict[str, tuple[float, float]],
    buses: list[str],
    feeders: list[tuple[str, str, bool]],
    draws: list[tuple[str, float]],
) -> Network:
    """A DC net.

    Parameters
    ----------
    sources : volts and rated amps of each.
    feeders : from, to, and whether a diode stands behind the breaker.
    draws : the bus and the amps of each piece of equipment.
    """
    devices: list[dict[str, Any]] = []
    for i, (_, _, diode) in enumerate(feeders):
        devices.append({"id": f"cb{i}", "name": f"CB {i}", "kind": "breaker"})
        if diode:
            devices.append({"id": f"d{i}", "name": f"D {i}", "kind": "diode", "drop-volts": 0})
    return build(
        Catalogue.model_validate(
            {
                "format": 1,
                "aircraft": {"name": "A net", "revision": "1", "revised": "2026-01-01"},
                "sources": [
                    {"id": s, "name": s, "kind": "generator", "volts": volts, "amps": rated}
                    for s, (volts, rated) in sources.items()
                ],
                "buses": [{"id": b, "name": b} for b in buses],
                "devices": devices,
                "feeders": [
                    {"from": a, "to": b, "through": [f"cb{i}", *([f"d{i}"] if diode else [])]}
                    for i, (a, b, diode) in enumerate(feeders)
                ],
                "equipment": [
                    {"id": f"e{i}", "name": "E", "ata": "24", "supplies": [{"bus": b}], "amps": a}
                    for i, (b, a) in enumerate(draws)
                ],
                "conditions": [{"id": "flight", "name": "Flight", "sources": [*sources]}],
            }
        ),
        "all",
    )


def random_net(chance: random.Random, diodes: float) -> Network:
    """Sources, buses with equipment, and feeders of which this share holds a diode."""
    sources = {
        f"s{i}": (chance.choice(VOLTS), chance.choice(RATINGS)) for i in range(chance.randint(2, 4))
    }
    buses = [f"b{i}" for i in range(chance.randint(1, 5))]
    ends = [(s, chance.choice(buses)) for s in sources]
    for _ in range(chance.randint(0, 6)):
        origin, target = chance.sample([*sources, *buses], 2)
        ends.append((origin, target))
    feeders = [(a, b, chance.random() < diodes) for a, b in ends]
    draws = [
        (chance.choice(buses), chance.choice([1.0, 2.5, 6.0, 20.0]))
        for _ in range(chance.randint(1, 5))
    ]
    return net(sources, buses, feeders, draws)


def draws_of(network: Network) -> list[tuple[str, str, float]]:
    """Every piece of equipment: id, bus, amps."""
    found = []
    for item in network.equipment.values():
        assert isinstance(item.amps, float)
        found.append((item.id, item.supplies[0].bus, item.amps))
    return found


def settled_by_ideal_conductors(network: Network, found: Load) -> bool:
    """Whether any two loaded buses have the same highest sources, or none in common."""
    carriers = []
    for _, bus, _ in draws_of(network):
        state = found.nodes[bus]
        carriers.append({s for s in state.sources if network.sources[s].volts == state.volts})
    return all(a == b or not a & b for a in carriers for b in carriers)


def circuit(network: Network, found: Load, prefix: str) -> list[str]:
    """One scenario as lines of a deck; all its names carry the prefix."""
    failed = {component for component, _ in found.failed}
    live = [(e, bus, a) for e, bus, a in draws_of(network) if found.nodes[bus].live]
    total = sum(a for _, _, a in live) or 1.0
    # Even with the smallest source alone on the whole load, the droop stays below DROOP_VOLTS.
    ratings = {s.id: s.amps or 0.0 for s in network.sources.values()}
    ohms_times_amps = DROOP_VOLTS * min(ratings.values()) / total
    lines = [f"r{prefix}{node} {prefix}{node} 0 1meg" for node in network.nodes]
    for source in network.sources.values():
        if source.id not in failed:
            name = prefix + source.id
            lines.append(f"v{name} {name}v 0 {source.volts}")
            lines.append(f"ri{name} {name}v {name}i {ohms_times_amps / ratings[source.id]:.9g}")
            lines.append(f"d{name} {name}i {name} ideal")
    for i, feeder in enumerate(network.catalogue.feeders):
        if failed & {*feeder.through, *(end for end in (feeder.from_, feeder.to) if end[0] == "b")}:
            continue
        target = f"{prefix}{feeder.to}"
        if len(feeder.through) == 2:
            lines.append(f"d{prefix}f{i} {prefix}f{i} {target} ideal")
            target = f"{prefix}f{i}"
        lines.append(f"rf{prefix}{i} {prefix}{feeder.from_} {target} 1u")
    lines += [f"i{prefix}{item} {prefix}{bus} 0 {a}" for item, bus, a in live]
    return lines


def amps_given(lines: list[str], folder: Path) -> dict[str, float]:
    """By source, with its prefix, the amps that it gives at ngspice's operating point."""
    table = operating_point(lines, "is=1e-9 n=0.002", r"v(\w+)#branch", folder)
    # The simulator counts amps into the source's positive end.
    return {source: -amps for source, amps in table}


@pytest.mark.parametrize(("seed", "diodes"), [(1, 0.0), (2, 0.0), (3, 0.5), (4, 0.5)])
def test_sources_give_the_amps_that_a_circuit_simulator_finds(
    seed: int, diodes: float, tmp_path: Path
) -> None:
    chance = random.Random(seed)
    lines: list[str] = []
    expected: dict[str, tuple[float, float]] = {}
    sharing = 0
    for number in range(NETS_IN_A_DECK):
        network = random_net(chance, diodes)
        faults = [fault for fault in network.faults if fault[1] in WITHOUT_SHORTS]
        scenarios = [
            Scenario("flight", tuple(chance.sample(faults, chance.randint(0, 2))))
            for _ in range(SCENARIOS_OF_A_NET)
        ]
        for k, found in enumerate(loads(solve(network, scenarios_of(scenarios)))):
            if not settled_by_ideal_conductors(network, found):
                continue
            prefix = f"n{number}x{k}"
            lines += circuit(network, found, prefix)
            margin = TOLERANCE * sum(a for _, _, a in draws_of(network))
            expected |= {prefix + s: (given, margin) for s, given in found.sources.items()}
            sharing += len({given for given in found.sources.values() if given}) > 1
    simulated = amps_given(lines, tmp_path)
    assert set(simulated) == set(expected)
    differing = {
        source: (given, simulated[source])
        for source, (given, margin) in expected.items()
        if abs(simulated[source] - given) > margin
    }
    assert not differing
    assert sharing >= 25, "too few nets in which sources share unequally"


def test_three_generators_of_different_rating_share_one_bus_as_the_simulator_has_it(
    tmp_path: Path,
) -> None:
    generators = {"s0": (28.0, 50.0), "s1": (28.0, 150.0), "s2": (28.0, 300.0)}
    network = net(
        generators,
        ["b0"],
        [(s, "b0", False) for s in generators],
        [("b0", 20.0), ("b0", 2.5), ("b0", 7.5)],
    )
    whole, without_largest = loads(
        solve(network, scenarios_of([Scenario("flight"), Scenario("flight", (("s2", "lost"),))]))
    )
    assert whole.sources == pytest.approx({"s0": 3, "s1": 9, "s2": 18})
    assert without_largest.sources == pytest.approx({"s0": 7.5, "s1": 22.5})
    lines = circuit(network, whole, "a") + circuit(network, without_largest, "b")
    expected = {"a" + s: given for s, given in whole.sources.items()}
    expected |= {"b" + s: given for s, given in without_largest.sources.items()}
    assert amps_given(lines, tmp_path) == pytest.approx(expected, abs=TOLERANCE * 30)
