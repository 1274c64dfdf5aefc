"""The status of a function, and what takes it."""

from __future__ import annotations

from sitegen.answers.cut_sets import ungrouped
from sitegen.answers.drop import drop
from sitegen.answers.function_status import function_status
from sitegen.terminal.drop_text import loss_text
from sitegen.terminal.function_text import function_text
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
    assert not any(failure.answer != "expected" for failure in takes)


def test_with_both_sides_it_takes_one_failure_of_each() -> None:
    net = network(TWO_RADIOS)
    found = function_status(net, "talk")
    assert found.condition == "flight"
    sets = ungrouped(net, found.sets)
    assert {len(s) for s in sets} == {2}
    assert len(sets) == 5 * 5
    assert function_status(net, "talk", "one-side").as_json(net)["sets_in"] == "one-side"
    assert function_status(net, "talk", "parked").sets == ()


def test_a_function_of_groups_is_worded_by_what_each_group_needs() -> None:
    net = network("""
    sources: {gen: 28}
    buses: [main]
    feeders: [gen > main]
    equipment: {left: main, right: main, spare: main}
    functions:
      both: {provided-by: [{all: [{any: [left, spare]}, right]}], need: 1}
      either: {provided-by: [left, right], need: 1}
      pair: {provided-by: [left, right], need: 2}
    """)
    text = {f: "\n".join(function_text(net, function_status(net, f))) for f in ("both", "either")}
    assert "Needed: (1 of left, spare) and right" in text["both"]
    # The left has one to spare: not all of it is needed.
    assert "flight: kept: left, spare, right" in text["both"]
    assert "Needed: 1 of left, right" in text["either"]
    pair = "\n".join(function_text(net, function_status(net, "pair")))
    assert "kept, all needed" in pair


def test_a_flag_comes_into_view_and_a_lamp_lights() -> None:
    net = network("""
    sources: {gen: 28}
    buses: [main]
    feeders: [gen > main]
    indications:
      off-flag: {kind: flag, lit-when: {dead: [main]}}
      off-lamp: {kind: lamp, lit-when: {dead: [main]}}
    """)
    normal, loss = drop(net, "flight", []), drop(net, "flight", [("main", "dead")])
    text = "\n".join(loss_text(net, loss, normal, None, after=False))
    assert "off-flag: in view (was out of view)" in text
    assert "off-lamp: lit (was unlit)" in text
