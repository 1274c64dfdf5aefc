"""Reach against networkx.

Source of the check: `networkx.descendants` (networkx, graph library, https://networkx.org), asked
one scenario at a time on the graph that is left when what has failed is taken out. Volts are
checked with it: the highest source of which a node is a descendant.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import networkx
from hypothesis import given
from hypothesis import strategies as st

from sitegen.answers.drop import losses
from sitegen.catalogue.model import Catalogue
from sitegen.solver.network import build
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Fault, every_single, singles_and_pairs
from tests.outside.frozen import WITHOUT_SHORTS
from tests.samples import thorough

Feeder = tuple[str, str, str, bool]
"""From, to, the device in it, and whether that is a diode."""


BREAKER = {"kind": "breaker"}


@st.composite
def nets(
    draw: Callable[[st.SearchStrategy[Any]], Any],
) -> tuple[list[str], list[str], list[Feeder]]:
    """Sources, buses, feeders with one device each."""
    sources = [f"s{i}" for i in range(draw(st.integers(1, 3)))]
    buses = [f"b{i}" for i in range(draw(st.integers(1, 6)))]
    nodes = st.sampled_from(sources + buses)
    ends = draw(st.lists(st.tuples(nodes, nodes, st.booleans()), min_size=1, max_size=12))
    feeders = [(a, b, f"d{i}", diode) for i, (a, b, diode) in enumerate(ends) if a != b]
    return sources, buses, feeders


def catalogue(sources: list[str], buses: list[str], feeders: list[Feeder]) -> Catalogue:
    return Catalogue.model_validate(
        {
            "format": 1,
            "aircraft": {"name": "A net", "revision": "1", "revised": "2026-01-01"},
            "sources": [
                {"id": s, "name": s, "kind": "generator", "volts": volts_of(s)} for s in sources
            ],
            "buses": [{"id": b, "name": b} for b in buses],
            "devices": [
                {"id": d, "name": d, **({"kind": "diode", "drop-volts": 0} if diode else BREAKER)}
                for _, _, d, diode in feeders
            ],
            "feeders": [{"from": a, "to": b, "through": [d]} for a, b, d, _ in feeders],
            "conditions": [{"id": "flight", "name": "Flight", "sources": sources}],
        }
    )


def volts_of(source: str) -> float:
    return 24 + 2 * int(source[1:])


def referee(
    sources: list[str], buses: list[str], feeders: list[Feeder], failed: tuple[Fault, ...]
) -> dict[str, float]:
    """By node its volts, 0 for a dead one."""
    gone = set(failed)
    graph = networkx.DiGraph()
    graph.add_nodes_from(sources + buses)
    for a, b, device, diode in feeders:
        if (device, "open") not in gone:
            graph.add_edge(a, b)
            if not diode:
                graph.add_edge(b, a)
    graph.remove_nodes_from([b for b in buses if (b, "dead") in gone])
    shown = dict.fromkeys(sources + buses, 0.0)
    for source in sources:
        if (source, "lost") not in gone:
            for node in {source} | networkx.descendants(graph, source):
                shown[node] = max(shown[node], volts_of(source))
    return shown


@thorough(1500)
@given(nets(), st.booleans())
def test_the_nodes_that_power_reaches_are_the_descendants_of_the_sources(
    net: tuple[list[str], list[str], list[Feeder]], in_pairs: bool
) -> None:
    network = build(catalogue(*net), "all")
    # Shorts are no question of reach from the sources.
    faults = [fault for fault in network.faults if fault[1] in WITHOUT_SHORTS]
    scenarios = (
        singles_and_pairs("flight", faults) if in_pairs else every_single(["flight"], faults)
    )
    for loss in losses(solve(network, scenarios)):
        shown = referee(*net, loss.failed)
        assert {n: state.volts for n, state in loss.nodes.items()} == shown, loss.failed
        assert {n for n, state in loss.nodes.items() if state.live} == {
            n for n, volts in shown.items() if volts
        }
