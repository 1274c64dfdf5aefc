"""The status of a function, and what takes it."""

from __future__ import annotations

from sitegen.answers.cut_sets import ungrouped
from sitegen.answers.function_status import function_status
from tests.nets import network

TWO_RADIOS = """
sources: {left: 28, right: 28}
buses: [left-bus, right-bus]
devices: {cb-left: breaker, cb-right: breaker}
feeders: [left > cb-left > left-bus, right > cb-right > right-bus]
equipment: {com-1: left-bus, com-2: right-bus}
conditions: {flight: {sources: [left, right]}, one-side: {sources: [left]}, parked: {sources: []}}
functions: {talk: {provided-by: [com-1, com-2]}}
"""


def test_a_function_is_kept_then_on_its_last_provider_then_lost() -> None:
    found = function_status(network(TWO_RADIOS), "talk")
    assert found.states == {"flight": "kept", "one-side": "one-left", "parked": "lost"}
    assert found.working == {"flight": ("com-1", "com-2"), "one-side": ("com-1",), "parked": ()}


def test_on_one_side_each_failure_of_that_side_takes_it_and_no_other() -> None:
    takes = function_status(network(TWO_RADIOS), "talk").takes
    assert {failure.fault for failure in takes} == {
        ("left", "lost"),
        ("left", "shorted"),
        ("left-bus", "dead"),
        ("left-bus", "shorted"),
        ("cb-left", "open"),
    }
    assert {failure.conditions for failure in takes} == {("one-side",)}
    assert not any(failure.drop_out for failure in takes)


def test_with_both_sides_it_takes_one_failure_of_each() -> None:
    net = network(TWO_RADIOS)
    found = function_status(net, "talk")
    assert found.condition == "flight"
    sets = ungrouped(net, found.sets)
    assert {len(s) for s in sets} == {2}
    assert len(sets) == 5 * 5
    assert function_status(net, "talk", "one-side").as_json(net)["sets_in"] == "one-side"
    assert function_status(net, "talk", "parked").sets == ()
