"""All single and double failures of a net of 600 buses, against one scenario at a time.

The net is solved for every pair at once, the making of the masks included. A sample of the same
scenarios goes to networkx one at a time, in two ways: on a copy of the graph, as one would write it
at first, and on the one graph, from which what has failed is taken out and put back. Both are
compared bus by bus, and their times scaled to all scenarios.

Run by hand: `python -m tests.bench.pairs`.
"""

from __future__ import annotations

import random
import resource
import time
from collections.abc import Callable

import networkx

from sitegen.solver.network import Network, build
from sitegen.solver.outcome import condition_states, solve
from sitegen.solver.scenarios import Scenario, singles_and_pairs
from tests.bench.generate import net

BUSES, BREAKERS, SAMPLE = 600, 900, 500

Edge = tuple[str, str, int]
"""Two nodes and the number of the run between them."""


def main() -> None:
    network = build(net(buses=BUSES, devices=BREAKERS), "all")
    faults = [fault for fault in network.faults if fault[1] != "shorted"]

    started = time.perf_counter()
    scenarios = singles_and_pairs("flight", faults)
    made = time.perf_counter() - started
    live = solve(network, scenarios, condition_states(network)).after.steady.live
    at_once = time.perf_counter() - started
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{BUSES} buses, {len(network.components)} components, {len(faults)} failures")
    print(f"{scenarios.count} scenarios at once: {at_once:.2f} s, of it making masks {made:.2f} s")
    print(f"peak memory {peak:.0f} MB")

    graph = networkx.MultiGraph()
    graph.add_nodes_from(network.nodes)
    edges: dict[str, list[Edge]] = {}
    for number, run in enumerate(network.branches):
        graph.add_edge(run.origin, run.target, key=number)
        for device in run.through:
            edges.setdefault(device, []).append((run.origin, run.target, number))
    chosen = random.Random(19).sample(range(scenarios.count), SAMPLE)
    for words, referee in (("on a copy", on_a_copy), ("taken out and put back", put_back)):
        each = compare(words, referee, graph, edges, network, live, scenarios.at, chosen)
        alone = each * scenarios.count
        print(f"networkx, {words}: {each * 1000:.2f} ms each, {alone:.0f} s for all scenarios")
        print(f"  at once is {alone / at_once:.0f} times faster; {SAMPLE} compared, all equal")


def compare(
    words: str,
    referee: Callable[..., set[str]],
    graph: networkx.MultiGraph,
    edges: dict[str, list[Edge]],
    network: Network,
    live: dict[str, int],
    at: Callable[[int], Scenario],
    chosen: list[int],
) -> float:
    """The seconds that one scenario takes; the answers must be the same."""
    asked = [at(k) for k in chosen]
    started = time.perf_counter()
    answers = [referee(graph, edges, network, scenario) for scenario in asked]
    seconds = time.perf_counter() - started
    for k, reached in zip(chosen, answers, strict=True):
        assert {n for n, mask in live.items() if mask >> k & 1} == reached, (words, at(k))
    return seconds / len(chosen)


def on_a_copy(
    graph: networkx.MultiGraph, edges: dict[str, list[Edge]], network: Network, scenario: Scenario
) -> set[str]:
    """The live nodes, on a copy without what has failed."""
    left = graph.copy()
    for component, mode in scenario.faults:
        if mode == "open":
            left.remove_edges_from(edges[component])
        elif mode == "dead":
            left.remove_node(component)
    return reached_from_sources(left, network, scenario)


def put_back(
    graph: networkx.MultiGraph, edges: dict[str, list[Edge]], network: Network, scenario: Scenario
) -> set[str]:
    """The live nodes, with what has failed taken out of the one graph and put back."""
    out: list[Edge] = []
    dead = {component for component, mode in scenario.faults if mode == "dead"}
    for component, mode in scenario.faults:
        if mode == "open":
            out += edges[component]
    for bus in dead:
        out += graph.edges(bus, keys=True)
    graph.remove_edges_from(out)
    reached = reached_from_sources(graph, network, scenario)
    graph.add_edges_from(out)
    return reached - dead


def reached_from_sources(
    graph: networkx.MultiGraph, network: Network, scenario: Scenario
) -> set[str]:
    lost = {component for component, mode in scenario.faults if mode == "lost"}
    reached: set[str] = set()
    for source in network.sources:
        if source not in lost and source not in reached:
            reached |= networkx.node_connected_component(graph, source)
    return reached


if __name__ == "__main__":
    main()
