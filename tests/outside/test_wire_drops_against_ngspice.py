"""Voltage drop of radial nets against a circuit simulator.

Source of the check: the operating point that `ngspice` finds (https://ngspice.sourceforge.io;
Debian package `ngspice`) for the same net as a circuit: the battery is an ideal voltage source in
series with its internal ohms, each conductor a resistor of its ohms, each piece of equipment a
current source of its amps. The ohms are those of FAA AC 43.13-1B, Table 11-9, copied here.

With rings in the net the amps of its feeders are bounds; the simulator's must then be within them.
So they must with a second battery, as here sources share by their ratings, and in truth by ohms.
Equipment of constant power is a current source of its watts by its own volts, of half the volts of
the battery if less is left; resistive equipment is a resistor.
"""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest

from sitegen.answers.loads.drawn import draws
from sitegen.answers.voltage_drop import voltage_drops
from sitegen.catalogue.model import Catalogue
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import condition_states
from tests.outside.ngspice import operating_point

NETS = 60
TOLERANCE = 0.01
"""Of a drop: a hundredth."""
NEGLIGIBLE = 1e-4
"""V; the simulator's own rounding."""

OHMS = {20: 9.88, 16: 4.81, 12: 2.02, 8: 0.70, 4: 0.28, 1: 0.15, "00": 0.09, "0000": 0.06}
"""AC 43.13-1B, Table 11-9, of 1,000 ft."""


def conductor(chance: random.Random) -> tuple[dict[str, Any], float]:
    """The fields of a conductor, and its ohms."""
    gauge, feet = chance.choice(list(OHMS)), chance.choice([2, 7.5, 12, 30])
    length = {"feet": feet} if chance.random() < 0.5 else {"metres": round(feet * 0.3048, 6)}
    return {"wire": gauge, "length": length}, OHMS[gauge] * feet / 1000


def random_net(
    chance: random.Random, prefix: str, rings: int = 0, two: bool = False, follows: bool = False
) -> tuple[dict[str, Any], list[str]]:
    """A battery, a tree of buses, and equipment on each: as a catalogue, and as a circuit.

    `rings` more feeders join two of the buses; `two`: another battery feeds one of them;
    `follows`: the equipment draws by its volts.
    """
    volts, inside = chance.choice([12, 24, 28]), chance.choice([0.003, 0.01, 0.05])
    buses = [f"b{i}" for i in range(chance.randint(1, 6))]
    circuit = [f"v{prefix} {prefix}v 0 {volts}", f"r{prefix}s {prefix}v {prefix}bat {inside}"]
    feeders, equipment = [], []
    for i, bus in enumerate(buses):
        above = chance.choice(["bat", *buses[:i]]) if i else "bat"
        fields, ohms = conductor(chance)
        feeders.append({"from": above, "to": bus, **fields})
        circuit.append(f"r{prefix}f{i} {prefix}{above} {prefix}{bus} {ohms:.9g}")
    for i in range(len(buses), len(buses) + (rings if len(buses) > 1 else 0)):
        above, bus = chance.sample(buses, 2)
        fields, ohms = conductor(chance)
        feeders.append({"from": above, "to": bus, **fields})
        circuit.append(f"r{prefix}f{i} {prefix}{above} {prefix}{bus} {ohms:.9g}")
    for k in range(chance.randint(1, 8)):
        bus, amps = chance.choice(buses), chance.choice([0.5, 2, 7.5, 20])
        fields, ohms = conductor(chance)
        supply = {"bus": bus, **fields}
        equipment.append(
            {"id": f"e{k}", "name": "E", "ata": "24", "amps": amps, "supplies": [supply]}
        )
        circuit.append(f"r{prefix}e{k} {prefix}{bus} {prefix}e{k} {ohms:.9g}")
        load = chance.choice(["constant-power", "resistive"]) if follows else "constant-current"
        equipment[-1]["load"] = load
        circuit.append(
            {
                "constant-current": f"i{prefix}e{k} {prefix}e{k} 0 {amps}",
                "constant-power": f"b{prefix}e{k} {prefix}e{k} 0"
                f" i={amps * volts}/max(v({prefix}e{k}),{volts / 2})",
                "resistive": f"r{prefix}l{k} {prefix}e{k} 0 {volts / amps}",
            }[load]
        )
    battery = {"kind": "battery", "volts": volts, "internal-ohms": inside}
    sources = [{"id": "bat", "name": "Battery", "amps": 20, **battery}]
    if two:
        own = {"volts": volts - chance.choice([0, 0.2, 0.4]), "amps": chance.choice([10, 40])}
        sources.append({**sources[0], "id": "bat2", "internal-ohms": 0.02, **own})
        bus, (fields, ohms) = chance.choice(buses), conductor(chance)
        feeders.append({"from": "bat2", "to": bus, **fields})
        circuit += [
            f"v{prefix}2 {prefix}v2 0 {own['volts']}",
            f"r{prefix}s2 {prefix}v2 {prefix}bat2 0.02",
            f"r{prefix}f{len(feeders) - 1} {prefix}bat2 {prefix}{bus} {ohms:.9g}",
        ]
    catalogue = {
        "format": 1,
        "aircraft": {
            "name": "A net",
            "revision": "1",
            "revised": "2026-01-01",
            "load-volts": volts,
        },
        "sources": sources,
        "buses": [{"id": b, "name": b} for b in buses],
        "feeders": feeders,
        "equipment": equipment,
        "conditions": [{"id": "flight", "name": "Flight", "sources": [s["id"] for s in sources]}],
    }
    return catalogue, circuit


def volts_found(lines: list[str], folder: Path) -> dict[str, float]:
    """By node, with its prefix, the volts that ngspice finds."""
    return dict(operating_point(lines, "is=1e-14", r"([a-z][\w.]*)", folder))


def simulated_nets(
    seed: int, folder: Path, most_rings: int = 0, two: bool = False, follows: bool = False
) -> tuple[dict[str, Network], dict[str, float]]:
    """Random nets by their prefix, and the volts that ngspice finds in all of them.

    With `most_rings` each has one or more branches that close a ring; with `two`, two batteries.
    """
    chance = random.Random(seed)
    lines: list[str] = []
    nets = {}
    for number in range(NETS):
        prefix = f"n{number}x"
        rings = chance.randint(1, most_rings) if most_rings else 0
        catalogue, circuit = random_net(chance, prefix, rings=rings, two=two, follows=follows)
        lines += circuit
        nets[prefix] = build(Catalogue.model_validate(catalogue), "all")
    return nets, volts_found(lines, folder)


@pytest.mark.parametrize("seed", range(3))
def test_volts_and_drops_of_radial_nets_are_those_of_a_circuit_simulator(
    seed: int, tmp_path: Path
) -> None:
    nets, simulated = simulated_nets(seed, tmp_path)
    compared = 0
    for prefix, network in nets.items():
        found = voltage_drops(draws(condition_states(network)).states[0])
        volts = {node: float(left.volts) for node, left in found.nodes.items()}
        for number, feeder in enumerate(network.catalogue.feeders):
            ends = simulated[prefix + feeder.from_], simulated[prefix + feeder.to]
            assert float(found.feeders[number].volts) == pytest.approx(
                ends[0] - ends[1], rel=TOLERANCE, abs=NEGLIGIBLE
            )
            assert volts[feeder.to] == pytest.approx(ends[1], rel=TOLERANCE)
        for (item, _), supply in found.supplies.items():
            at_bus, at_item = simulated[prefix + supply.bus], simulated[prefix + item]
            assert supply.continuous is not None
            drop = float(supply.continuous.volts)
            assert drop == pytest.approx(at_bus - at_item, rel=TOLERANCE, abs=NEGLIGIBLE)
            assert float(supply.at_item.volts) == pytest.approx(at_item, rel=TOLERANCE)
            assert (supply.at_item.at_least, supply.at_item.at_most) == (False, False)
            compared += 1
    assert compared > NETS


@pytest.mark.parametrize("seed", range(3))
def test_where_the_current_has_several_paths_the_simulator_is_within_the_bounds(
    seed: int, tmp_path: Path
) -> None:
    nets, simulated = simulated_nets(seed, tmp_path, most_rings=3)
    bounded = 0
    for prefix, network in nets.items():
        found = voltage_drops(draws(condition_states(network)).states[0])
        for number, feeder in enumerate(network.catalogue.feeders):
            drop = abs(simulated[prefix + feeder.from_] - simulated[prefix + feeder.to])
            assert drop <= float(found.feeders[number].volts) + NEGLIGIBLE
        for node, left in found.nodes.items():
            assert simulated[prefix + node] >= float(left.volts) - NEGLIGIBLE
            assert simulated[prefix + node] <= float(left.most) + NEGLIGIBLE
            bounded += left.at_least
    assert bounded > NETS


@pytest.mark.parametrize(("seed", "most_rings"), [(0, 0), (1, 0), (2, 2), (3, 2)])
def test_with_two_batteries_the_simulator_is_within_the_bounds(
    seed: int, most_rings: int, tmp_path: Path
) -> None:
    nets, simulated = simulated_nets(seed, tmp_path, most_rings, two=True)
    bounded = 0
    for prefix, network in nets.items():
        found = voltage_drops(draws(condition_states(network)).states[0])
        for node, left in found.nodes.items():
            # What differs by less than half a hundredth of a volt is the same.
            assert simulated[prefix + node] >= float(left.volts) - 0.005
            assert simulated[prefix + node] <= float(left.most) + 0.005
            bounded += left.at_least
    assert bounded > NETS


@pytest.mark.parametrize(("seed", "most_rings"), [(0, 0), (1, 0), (2, 2), (3, 2)])
def test_what_draws_by_its_volts_has_those_of_the_simulator(
    seed: int, most_rings: int, tmp_path: Path
) -> None:
    nets, simulated = simulated_nets(seed, tmp_path, most_rings, follows=True)
    compared = 0
    for prefix, network in nets.items():
        found = voltage_drops(draws(condition_states(network)).states[0])
        least = 0.6 * network.sources["bat"].volts
        # Where less is left, no load lasts.
        if min(simulated[prefix + item] for item, _ in found.supplies) < least:
            continue
        for (item, _), supply in found.supplies.items():
            left, at_item = supply.at_item, simulated[prefix + item]
            assert float(left.volts) - 0.01 <= at_item <= float(left.most) + 0.01
            compared += 1 if most_rings else not left.bound
    assert compared > NETS
