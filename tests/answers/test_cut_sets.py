"""Minimal cut sets, against trying every set on the whole net."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.answers.cut_sets import largest_set
from sitegen.answers.observations import Observation
from sitegen.answers.trace import trace
from sitegen.answers.troubleshoot import troubleshoot
from sitegen.catalogue.model import Catalogue
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Fault, Scenario, bits, every_set, scenarios_of
from sitegen.terminal.diagnosis_text import diagnosis_text
from sitegen.terminal.trace_text import trace_text
from tests.listed_cut_sets import cut_sets
from tests.nets import expand, network
from tests.pages.pages_sample import reading
from tests.random_nets import Raw, catalogues
from tests.samples import thorough

LEFT_OR_RIGHT = """
sources: {left: 28, right: 28}
buses: [left-bus, right-bus]
devices: {cb-left: breaker, cb-right: breaker}
feeders: [left > cb-left > left-bus, right > cb-right > right-bus]
equipment: {radio: {supplies: [{bus: left-bus}, {bus: right-bus}]}, lamp: left-bus}
"""


def tried_one_by_one(net: Network, condition: str, order: int) -> dict[str, set[frozenset[Fault]]]:
    """By equipment: every set that takes it of which no part does, by trying all of them."""
    takes: dict[str, set[frozenset[Fault]]] = {e: set() for e in net.equipment}
    sets = [
        chosen
        for size in range(1, order + 1)
        for chosen in combinations(net.faults if size == 1 else net.combined_faults, size)
        if len({component for component, _ in chosen}) == size
    ]
    outcome = solve(net, scenarios_of([Scenario(condition, chosen) for chosen in sets]))
    for item, mask in outcome.lost.items():
        for k in bits(mask):
            chosen = frozenset(sets[k])
            if not any(smaller < chosen for smaller in takes[item]):
                takes[item].add(chosen)
    return takes


@thorough(300)
@given(catalogues())
def test_cut_sets_are_what_trying_every_set_finds(raw: Raw) -> None:
    net = build(Catalogue.model_validate(raw), "block-1")
    condition = raw["conditions"][0]["id"]
    order = 3 if len(net.faults) <= 16 else 2
    wanted = tried_one_by_one(net, condition, order)
    works = solve(net, scenarios_of([Scenario(condition)])).before.works
    found = cut_sets(net, condition, list(net.equipment), order=order)
    assert set(found) == {e for e in net.equipment if works[e] & 1}
    for item, sets in found.items():
        assert len(sets) == len(set(sets))
        assert {frozenset(s) for s in sets} == wanted[item]


def test_an_item_on_two_sides_is_taken_only_by_one_failure_of_each() -> None:
    sets = cut_sets(network(LEFT_OR_RIGHT), "flight", ["radio"])["radio"]
    assert {len(s) for s in sets} == {2}
    side = {"left": 0, "left-bus": 0, "cb-left": 0, "right": 1, "right-bus": 1, "cb-right": 1}
    assert all({side[component] for component, _ in s} == {0, 1} for s in sets)
    # One of (source lost, source shorted, bus dead, bus shorted, breaker) on either side.
    assert len(sets) == 5 * 5


def test_the_smallest_sets_come_first() -> None:
    sizes = [len(s) for s in cut_sets(network(LEFT_OR_RIGHT), "flight", ["lamp", "radio"])["radio"]]
    assert sizes == sorted(sizes)


def test_every_set_up_to_three_is_in_the_blocks_whatever_their_size() -> None:
    faults = [(f"cb-{i}", "open") for i in range(9)]
    wanted = {frozenset(c) for n in (1, 2, 3) for c in combinations(faults, n)}
    for largest in (1, 20, 1000):
        seen: set[frozenset[Fault]] = set()
        triples = 0
        for block in every_set("flight", faults, 3, largest):
            for k in range(block.count):
                chosen = block.at(k).faults
                seen.add(frozenset(chosen))
                for fault in faults:
                    assert bool(block.failed.get(fault, 0) >> k & 1) == (fault in chosen)
                assert block.of_size.get(3, 0) >> k & 1 == (len(chosen) == 3)
            triples += block.of_size.get(3, 0).bit_count()
        assert seen == wanted
        assert triples == 84  # 9 over 3


def test_two_lamps_that_are_fed_the_same_have_each_its_own_breaker_in_their_sets() -> None:
    net = network(
        """
        sources: {gen: 28}
        buses: [main]
        feeders: [gen > main]
        equipment:
          left: {supplies: [{bus: main, breaker: {id: cb-left, name: LEFT, amps: 5}}]}
          right: {supplies: [{bus: main, breaker: {id: cb-right, name: RIGHT, amps: 5}}]}
        """
    )
    found = cut_sets(net, "flight", ["left", "right"])
    assert (("cb-left", "open"),) in found["left"]
    assert (("cb-right", "open"),) in found["right"]
    assert len(found["left"]) == len(found["right"]) == 5


def test_a_shorted_diode_takes_what_only_works_while_the_bus_before_it_is_dead() -> None:
    net = network(
        """
        sources: {bat: {kind: battery, volts: 24}}
        buses: [main, standby]
        devices: {d: diode, k: {kind: relay, closes-when: {dead: [main]}}}
        feeders: [bat > standby, main > d > standby]
        equipment: {flood-light: {supplies: [{bus: standby, through: [k]}]}}
        """
    )
    assert (("d", "shorted"),) in cut_sets(net, "flight", ["flood-light"])["flood-light"]


def test_an_items_sets_are_those_of_the_first_condition_in_which_it_works() -> None:
    catalogue = expand(
        """
        sources: {gen: 28, bat: {kind: battery, volts: 24}}
        buses: [main, hot]
        devices: {k: {kind: contactor, closes-when: {dead: [main]}}}
        feeders: [gen > main, bat > hot]
        equipment:
          radio: main
          clock: hot
          flood-light: {supplies: [{bus: hot, through: [k]}]}
          spare: {supplies: [{bus: hot}, {bus: main}], needs: all, requires: [flood-light]}
        conditions: {flight: {sources: [gen, bat]}, parked: {sources: [bat]}}
        """
    )
    catalogue["airframes"] = [{"id": "all", "name": "All"}]
    read = reading(catalogue)
    assert read.catalogue is not None
    sets = AirframeAnswers(read, build(read.catalogue, "all")).equipment_sets
    assert {item: condition for item, (condition, _) in sets.items()} == {
        "radio": 0,
        "clock": 0,
        "flood-light": 1,
    }
    assert ((("k", "open"),),) in sets["flood-light"][1]


def test_sets_that_are_too_many_are_not_tried_and_the_answer_says_so(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    net = network(LEFT_OR_RIGHT)
    assert max(map(len, trace(net, "radio").sets)) == 2
    assert "not tried" not in "\n".join(trace_text(net, trace(net, "radio")))
    monkeypatch.setattr("sitegen.answers.cut_sets.MOST_SETS", 1)
    assert largest_set(net) == 1
    text = "\n".join(trace_text(net, trace(net, "radio")))
    assert "Sets of more than one failure are not tried" in text
    assert "only together" not in text
    found = troubleshoot(net, "flight", [Observation("radio", "dead")])
    assert found.order == 1
    assert "up to" not in "\n".join(diagnosis_text(net, found))
