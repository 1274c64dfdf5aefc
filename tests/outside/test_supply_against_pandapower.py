"""Buses without supply against pandapower, on the nets that it publishes.

Source of the check: `pandapower.topology.unsupplied_buses` (pandapower, https://www.pandapower.org)
on nets of `pandapower.networks`: the CIGRE medium-voltage benchmark, the IEEE 30- and 118-bus
cases, a four-load branch, a multi-voltage example with switches of three kinds, and a
medium-voltage grid with two feeds. Every line and switch is opened by itself, and 500 pairs of
them, drawn with a fixed seed.

The translation: an external grid is a source with a bare feeder to its bus. A line is a feeder
through a breaker `line-N`, a two-winding transformer a feeder, and so is an impedance; a
three-winding transformer is three feeders, since it joins each winding to each. A switch between
two buses is a feeder through a breaker `switch-N`; a switch at the end of a line or transformer is
one more breaker in that feeder. Switches that the net has open stand pulled in the condition. Volts
play no part. The same opening is done in pandapower: a line is taken out of service, a switch is
opened, and its function is asked again.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

import pandapower.networks
import pandapower.topology
import pytest

from sitegen.catalogue.model import Catalogue
from sitegen.solver.network import build
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, bits, scenarios_of

Net = Any
NETS: dict[str, Callable[[], Net]] = {
    "CIGRE medium voltage": pandapower.networks.create_cigre_network_mv,
    "IEEE 30 buses": pandapower.networks.case30,
    "IEEE 118 buses": pandapower.networks.case118,
    "four-load branch": pandapower.networks.panda_four_load_branch,
    "multi-voltage example": pandapower.networks.example_multivoltage,
    "Oberrhein medium voltage": pandapower.networks.mv_oberrhein,
}
PAIRS = 500


def catalogue_of(net: Net) -> Catalogue:
    """A pandapower net in the words of the catalogue."""
    assert net.line.in_service.all()
    assert net.bus.in_service.all()
    assert set(net.switch.et) <= {"b", "l", "t"}
    feeders: list[dict[str, Any]] = []

    def feeder(origin: int, target: int, *through: str) -> None:
        feeders.append(
            {
                "from": f"bus-{origin}",
                "to": f"bus-{target}",
                "through": list(dict.fromkeys(through)),
            }
        )

    def switches_of(kind: str, element: int) -> list[str]:
        found = net.switch[(net.switch.et == kind) & (net.switch.element == element)]
        return [f"switch-{i}" for i in found.index]

    for i, line in net.line.iterrows():
        feeder(line.from_bus, line.to_bus, f"line-{i}", *switches_of("l", i))
    for i, trafo in net.trafo.iterrows():
        feeder(trafo.hv_bus, trafo.lv_bus, *switches_of("t", i))
    for _, trafo in net.trafo3w.iterrows():
        feeder(trafo.hv_bus, trafo.mv_bus)
        feeder(trafo.hv_bus, trafo.lv_bus)
        feeder(trafo.mv_bus, trafo.lv_bus)
    for _, impedance in net.impedance.iterrows():
        feeder(impedance.from_bus, impedance.to_bus)
    for i, switch in net.switch[net.switch.et == "b"].iterrows():
        feeder(switch.bus, switch.element, f"switch-{i}")
    for i, grid in net.ext_grid.iterrows():
        feeders.append({"from": f"grid-{i}", "to": f"bus-{grid.bus}"})
    devices = [*(f"line-{i}" for i in net.line.index), *(f"switch-{i}" for i in net.switch.index)]
    grids = [f"grid-{i}" for i in net.ext_grid.index]
    return Catalogue.model_validate(
        {
            "format": 1,
            "aircraft": {"name": "A grid", "revision": "1", "revised": "2026-01-01"},
            "sources": [{"id": g, "name": g, "kind": "generator", "volts": 1} for g in grids],
            "buses": [{"id": f"bus-{i}", "name": f"Bus {i}"} for i in net.bus.index],
            "devices": [{"id": d, "name": d, "kind": "breaker"} for d in devices],
            "feeders": feeders,
            "conditions": [
                {
                    "id": "grid",
                    "name": "As published",
                    "sources": grids,
                    "pulled": [f"switch-{i}" for i in net.switch.index[~net.switch.closed]],
                }
            ],
        }
    )


def referee(net: Net, opened: tuple[str, ...]) -> set[str]:
    """What pandapower says is without supply with these opened; the net is left as it was."""
    cells = []
    for name in opened:
        kind, _, number = name.partition("-")
        table, column = (net.line, "in_service") if kind == "line" else (net.switch, "closed")
        cells.append((table, int(number), column, bool(table.at[int(number), column])))
        table.at[int(number), column] = False
    unsupplied = pandapower.topology.unsupplied_buses(net)
    for table, row, column, was in cells:
        table.at[row, column] = was
    return {f"bus-{int(bus)}" for bus in unsupplied}


@pytest.mark.parametrize("name", NETS)
def test_the_dead_buses_are_those_that_pandapower_calls_unsupplied(name: str) -> None:
    net = NETS[name]()
    network = build(catalogue_of(net), "all")
    devices = [c.id for c in network.components.values() if c.kind == "breaker"]
    chance = random.Random(19)
    openings: list[tuple[str, ...]] = [(), *((d,) for d in devices)]
    openings += [tuple(chance.sample(devices, 2)) for _ in range(PAIRS)]
    outcome = solve(
        network,
        scenarios_of([Scenario("grid", tuple((d, "open") for d in opened)) for opened in openings]),
    )
    dead: list[set[str]] = [set() for _ in openings]
    for bus in network.catalogue.buses:
        for k in bits(outcome.scenarios.all & ~outcome.after.steady.live[bus.id]):
            dead[k].add(bus.id)
    assert any(dead)
    assert not all(dead)
    for opened, found in zip(openings, dead, strict=True):
        assert found == referee(net, opened), opened
