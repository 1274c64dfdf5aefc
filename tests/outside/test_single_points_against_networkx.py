"""Single points of failure against the dominators of a graph.

Source of the check: `networkx.immediate_dominators` (networkx, graph library,
https://networkx.org; the algorithm is that of Cooper, Harvey and Kennedy, A Simple, Fast Dominance
Algorithm). What stands on every way from the sources to a supply is a single point of failure of
it: it dominates the supply in a directed graph from one root, in which sources, buses and devices
are nodes and a diode has an edge one way only.

Where the two correspond: sources `lost`, buses `dead`, devices `open`, with the contactors held as
the condition has them (`frozen.py`). A device that stands in several feeders is a node in each, and
all of them go at once, which no dominator says: it is left out. From the supplies on it is counted:
one of several supplies or providers is taken by what takes every one of them, all that an item
needs by what takes any. Dominators know no volts: the demo's limits of volts are taken as live or
dead, and its `min-volts` are left out (`without_volts` in `frozen.py`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from pathlib import Path

import networkx
import pytest
from hypothesis import given

import sitegen
from sitegen.catalogue.model import Catalogue, Group
from sitegen.catalogue.read import read
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Fault, bits, every_single
from tests.listed_cut_sets import cut_sets
from tests.outside.fault_functions import supplies_of
from tests.outside.frozen import WITHOUT_SHORTS, Frozen, frozen, without_volts
from tests.random_nets import Raw, catalogues
from tests.samples import thorough

ROOT = "root"
DEMO = Path(sitegen.__file__).parents[1] / "data" / "tarn-19"

Points = frozenset[Fault] | None
"""The single points of what works in the condition; None for what does not."""


def graph_of(net: Frozen) -> networkx.DiGraph:
    """From the root to every supply; a node that can fail carries its fault."""
    graph = networkx.DiGraph()
    graph.add_node(ROOT)
    catalogue = net.network.catalogue
    diodes = {d.id for d in catalogue.devices if d.kind == "diode"}
    both_ways = {
        ("feeder", number)
        for number, feeder in enumerate(catalogue.feeders)
        if diodes.isdisjoint(feeder.through)
    }

    def run(start: object, end: object, devices: list[str], name: object) -> None:
        chain = [start, *((name, d) for d in devices), end]
        if net.gaps.isdisjoint(devices):
            for device in devices:
                graph.add_node((name, device), fault=(device, "open"))
            networkx.add_path(graph, chain)
            if name in both_ways:
                networkx.add_path(graph, chain[::-1])

    for bus in catalogue.buses:
        graph.add_node(bus.id, fault=(bus.id, "dead"))
    for source in catalogue.sources:
        makes = ("makes", source.id)
        graph.add_node(makes, fault=(source.id, "lost"))
        graph.add_edge(makes, source.id)
        if source.id in net.on_line:
            graph.add_edge(ROOT, makes)
        for number, feed in enumerate(source.fed_from):
            run(feed.bus, makes, feed.through, ("feed", source.id, number))
    for number, feeder in enumerate(catalogue.feeders):
        run(feeder.from_, feeder.to, feeder.through, ("feeder", number))
    for item in net.network.equipment:
        for number, (start, devices) in enumerate(supplies_of(net.network, item)):
            supply = ("supply", item, number)
            run(start, supply, devices, supply)
    return graph


def single_points(net: Frozen) -> dict[str, Points]:
    """By equipment and function."""
    graph = graph_of(net)
    parents = networkx.immediate_dominators(graph, ROOT)
    faults = networkx.get_node_attributes(graph, "fault")

    def of_supply(node: object) -> Points:
        if node not in parents:
            return None
        found = set()
        while node is not None and node != ROOT:
            if node in faults:
                found.add(faults[node])
            node = parents[node]
        return frozenset(found)

    points: dict[str, Points] = {}
    for item in net.network.resolve_order:
        record = net.network.equipment[item]
        fed = [of_supply(("supply", item, i)) for i in range(len(record.supplies))]
        needed = fed if record.needs == "all" else [any_will_do(fed)]
        for required in record.requires:
            names = [required] if isinstance(required, str) else required.any
            needed.append(any_will_do(points[name] for name in names))
        points[item] = all_needed(needed)
    for function in net.network.catalogue.functions:
        points[function.id] = any_of(function.provided_by, function.need, points)
    return points


def any_of(providers: Iterable[str | Group], need: int, points: dict[str, Points]) -> Points:
    """What leaves fewer than `need` of these; a group of them counts as one."""
    of_each: list[Points] = []
    for provider in providers:
        if isinstance(provider, str):
            of_each.append(points[provider])
        elif provider.any is not None:
            of_each.append(any_of(provider.any, provider.need, points))
        else:
            members = provider.all or []
            of_each.append(any_of(members, len(members), points))
    working = [p for p in of_each if p is not None]
    takes = Counter(fault for provider in working for fault in provider)
    spare = len(working) - need
    return frozenset(f for f, taken in takes.items() if taken > spare) if spare >= 0 else None


def any_will_do(several: Iterable[Points]) -> Points:
    working = [points for points in several if points is not None]
    return frozenset.intersection(*working) if working else None


def all_needed(several: Iterable[Points]) -> Points:
    together: frozenset[Fault] = frozenset()
    for points in several:
        if points is None:
            return None
        together |= points
    return together


def compared(network: Network) -> set[Fault]:
    """The faults on which the two correspond."""
    runs = Counter(device for run in network.branches for device in run.through)
    return {f for f in network.faults if f[1] in WITHOUT_SHORTS and runs[f[0]] <= 1}


def check(net: Frozen) -> int:
    """Compare every item and function; returns how many single points were found."""
    network, wanted = net.network, single_points(net)
    among = compared(network)
    equipment = list(network.equipment)
    functions = [f.id for f in network.catalogue.functions]
    sets = cut_sets(network, net.condition, equipment, functions, order=1)
    assert sets.keys() == {target for target, points in wanted.items() if points is not None}
    outcome = solve(network, every_single([net.condition], network.faults))
    count = 0
    for target, found in sets.items():
        alone = {fault for (fault,) in found}
        assert alone & among == (wanted[target] or frozenset()) & among, target
        if target in network.equipment:
            lost = {outcome.scenarios.at(k).faults[0] for k in bits(outcome.lost[target])}
            assert lost == alone, target
        count += len(alone & among)
    return count


@pytest.mark.parametrize("airframe", ["block-1", "block-2", "block-3"])
def test_the_single_points_of_the_demo_are_dominators(airframe: str) -> None:
    catalogue = read(DEMO).catalogue
    assert catalogue is not None
    network = build(without_volts(catalogue), airframe)
    for condition in network.catalogue.conditions:
        assert check(frozen(network, condition.id)) > 300


@thorough(80)
@given(catalogues())
def test_the_single_points_of_random_nets_are_dominators(raw: Raw) -> None:
    # Dominators know nothing of volts.
    for item in raw["equipment"]:
        item.pop("min-volts", None)
    network = build(Catalogue.model_validate(raw), "block-1")
    for condition in network.catalogue.conditions:
        check(frozen(network, condition.id))
