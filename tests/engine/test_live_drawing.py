"""The live drawing: the state of every part, the drawing in words, and what a step changes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

import pytest

from sitegen.answers.drop import drop, faults_of, losses
from sitegen.catalogue.read import read
from sitegen.pages.drawing_states import drawn_branches, states
from sitegen.resources import demo_catalogue
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from tests.engine.v8 import Engine
from tests.nets import network as net
from tests.pages.pages_sample import reading, sample


def networks() -> Iterator[Network]:
    small = reading(sample()).catalogue
    demo = read(demo_catalogue()).catalogue
    for catalogue in (small, demo):
        assert catalogue
        yield from (build(catalogue, airframe.id) for airframe in catalogue.airframes)


NETWORKS = list(networks())


@pytest.fixture(
    scope="module", params=NETWORKS, ids=lambda n: f"{n.catalogue.aircraft.name} {n.airframe}"
)
def network(request: pytest.FixtureRequest) -> Network:
    found: Network = request.param
    return found


@pytest.fixture(scope="module")
def engine(network: Network) -> Engine:
    return Engine(network)


@pytest.fixture(scope="module")
def small() -> Engine:
    return Engine(NETWORKS[0])


def items(nodes: list[dict[str, Any]], within: str = "") -> Iterator[tuple[dict[str, Any], str]]:
    """Every item of an outline, and the name of the node that it is below."""
    for node in nodes:
        yield node, within
        yield from items(node["branches"], node["name"])


def test_every_part_has_the_state_that_the_package_draws(network: Network, engine: Engine) -> None:
    wiring = drawn_branches(network.catalogue)
    conditions = [c.id for c in network.catalogue.conditions][:2]
    each = [Scenario(c, failed) for c in conditions for failed in ((), *zip(network.faults))]
    for scenario, loss in zip(each, losses(solve(network, scenarios_of(each))), strict=True):
        expected = states(network, wiring, loss)
        assert engine.drawn(scenario.condition, scenario.faults) == expected, scenario


def test_every_branch_is_in_the_words_once_and_no_other(network: Network, engine: Engine) -> None:
    condition = network.catalogue.conditions[0].id
    said = Counter(
        (frozenset({within, node["name"]}), tuple(sorted(name for name, _ in node["through"])))
        for node, within in items(engine.outline(condition))
        if not node["root"]
    )
    names = network.names
    assert said == Counter(
        (frozenset({names[b.origin], names[b.target]}), tuple(sorted(names[d] for d in b.through)))
        for b in network.branches
    )


def test_every_source_and_bus_is_walked_on_from_one_place(network: Network, engine: Engine) -> None:
    outline = engine.outline(network.catalogue.conditions[0].id)
    first = [s.name for s in network.catalogue.sources if not s.fed_from]
    assert [node["name"] for node in outline][: len(first)] == first
    with_branches = Counter(node["name"] for node, _ in items(outline) if node["branches"])
    assert set(with_branches.values()) == {1}
    assert {node["name"] for node, _ in items(outline)} == {network.names[n] for n in network.nodes}


def test_the_words_say_the_state_of_every_bus(network: Network, engine: Engine) -> None:
    condition = network.catalogue.conditions[0].id
    loss = drop(network, condition, ())
    said = {node["name"]: node["state"] for node, _ in items(engine.outline(condition))}
    for bus in network.catalogue.buses:
        state = loss.nodes[bus.id]
        word = "dead" if not state.live else "on battery only" if state.battery else "live"
        assert said[bus.name] == word


def test_what_a_source_feeds_is_below_it_and_a_device_says_how_it_failed(small: Engine) -> None:
    outline = small.outline("flight", [("k-1", "open")])
    node, within = next((n, w) for n, w in items(outline) if n["name"] == "Left bus")
    assert within == "Generator 1"
    assert node["state"] == "dead"
    assert node["through"] == [["Generator 1 contactor", "failed, open"]]


@pytest.mark.parametrize(
    ("faults", "device", "word"),
    [
        ([("k-1", "stuck-closed")], "Generator 1 contactor", "failed, closed"),
        ([], "Generator 1 contactor", "closed"),
        ([("gen-1", "lost")], "Generator 1 contactor", "open"),
        ([("d-left", "open")], "Left diode", "failed, open"),
        ([], "Left diode", ""),
    ],
)
def test_a_device_says_its_state_unless_it_conducts_and_could_do_nothing_else(
    small: Engine, faults: list[tuple[str, str]], device: str, word: str
) -> None:
    through = [
        pair for node, _ in items(small.outline("flight", faults)) for pair in node["through"]
    ]
    said = {state for name, state in through if name == device}
    assert said == {word}


def test_a_step_says_what_opens_and_what_dies(small: Engine) -> None:
    normal, lost = small.drawn("flight"), small.drawn("flight", [("gen-1", "lost")])
    assert small.change(normal, lost, ["gen-1"]) == "Opens: Generator 1 contactor; dead: Left bus."
    assert small.change(lost, lost, ["gen-1"]) == "Nothing else changes in the drawing."


def test_a_step_says_that_the_terminals_of_a_source_come_live() -> None:
    engine = Engine(
        net("""
sources: {gen: 28, unit: {kind: external-power, volts: 28}}
buses: [main]
devices: {k: {kind: contactor, closes-when: {live: [unit]}}}
feeders: [gen > main, unit > k > main]
equipment: {radio: main}
conditions: {flight: {sources: [gen]}}
""")
    )
    before, after = engine.drawn("flight"), engine.drawn("flight", [("k", "stuck-closed")])
    assert engine.change(before, after, ["k"]) == "Live: unit."


def test_a_step_says_which_buses_come_back_and_which_go_on_battery(small: Engine) -> None:
    network = NETWORKS[0]
    faults = faults_of(network, network.catalogue.failures[0])
    failed = [component for component, _ in faults]

    def state(*faults: tuple[str, str]) -> list[str]:
        return small.drawn("flight", faults)

    normal, lost = state(), state(*faults)
    said = small.change(normal, lost, failed)
    assert "dead: Left bus, Right bus" in said
    assert said.endswith("on battery only: every bus that is still live.")
    said = small.change(lost, normal)
    assert "live: Left bus, Right bus" in said
    assert "no longer on battery only: Hot bus, Essential bus, AC bus" in said
    one = small.change(state(*faults, ("inverter", "lost")), lost, failed)
    assert one == "On battery only: AC bus."
    without_main = small.change(state(("essential", "dead")), normal)
    assert without_main == "Live: Essential bus, AC bus; no longer on battery only: Hot bus."


def test_without_a_failure_the_words_say_what_is_dead_or_on_battery(small: Engine) -> None:
    assert small.change(None, small.drawn("flight")) == "Every bus is live."
    assert small.change(None, small.drawn("parked")).startswith("With nothing failed, dead: ")
