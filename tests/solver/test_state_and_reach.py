"""What fails how, where power gets to, and the volts that it shows."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.solver.graph import infeeds, outfeeds
from tests.nets import after, closed, live, network, volts

ONE_RUN = """
sources: {gen: 28}
buses: [main]
devices: {d: %s}
switches: {s: [set, clear]}
feeders: [gen > d > main]
equipment: {radio: main}
"""
BY_HAND = "{kind: %s, closes-when: {switches: {s: set}}}"

# State


def test_a_lost_source_produces_nothing() -> None:
    net = ONE_RUN % "breaker"
    assert live(after(net)) == {"gen", "main"}
    assert live(after(net, "gen:lost")) == set()


def test_a_bus_fails_dead_unless_said_otherwise() -> None:
    assert after(ONE_RUN % "breaker", "main").failed == (("main", "dead"),)


@pytest.mark.parametrize("kind", ["breaker", "fuse", "fuse-link", "diode", "shunt"])
def test_an_open_device_parts_its_feeder(kind: str) -> None:
    net = ONE_RUN % kind
    assert after(net).lost == ()
    assert after(net, "d:open").lost == ("radio",)


@pytest.mark.parametrize("kind", ["contactor", "relay", "switch"])
def test_a_contactor_relay_or_switch_fails_open_unless_said_otherwise(kind: str) -> None:
    net = ONE_RUN % (BY_HAND % kind)
    assert after(net).lost == ()
    loss = after(net, "d")
    assert loss.failed == (("d", "open"),)
    assert loss.lost == ("radio",)


@pytest.mark.parametrize("kind", ["contactor", "relay"])
def test_a_stuck_contactor_conducts_with_nothing_to_close_it(kind: str) -> None:
    net = ONE_RUN % (BY_HAND % kind).replace("set", "clear")
    assert live(after(net)) == {"gen"}
    assert live(after(net, "d:stuck-closed")) == {"gen", "main"}


@pytest.mark.parametrize("kind", ["breaker", "switch"])
def test_a_breaker_or_switch_that_is_stuck_closed_is_tried_alone_and_not_in_twos(kind: str) -> None:
    written = BY_HAND % kind if kind == "switch" else kind
    net = network(ONE_RUN % written)
    assert net.components["d"].modes == ("open", "stuck-closed")
    assert ("d", "stuck-closed") in net.faults
    assert ("d", "stuck-closed") not in net.combined_faults


def test_a_condition_names_breakers_that_are_pulled() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    devices: {cb-main: breaker}
    feeders: [gen > cb-main > main]
    equipment: {radio: main, horizon: {supplies: [{bus: gen, breaker: {name: H, amps: 5}}]}}
    conditions:
      normal: {sources: [gen]}
      main-off: {sources: [gen], pulled: [cb-main]}
      horizon-off: {sources: [gen], pulled: [horizon.breaker]}
    """
    assert after(net, condition="normal").not_powered == ()
    assert after(net, condition="main-off").not_powered == ("radio",)
    assert after(net, condition="horizon-off").not_powered == ("horizon",)


# Reach


def test_power_passes_a_feeder_both_ways() -> None:
    net = """
    sources: {left: 28, right: 28}
    buses: [a, b]
    devices: {cb: breaker}
    feeders: [left > a, a > cb > b, right > b]
    """
    assert "b" in live(after(net, "right"))
    assert "a" in live(after(net, "left"))


def test_power_passes_a_diode_one_way_only() -> None:
    net = """
    sources: {left: 28, right: 28}
    buses: [a, b]
    devices: {cb: breaker, d: diode}
    feeders: [left > a, a > cb > d > b, right > b]
    """
    assert "b" in live(after(net, "right"))
    assert "a" not in live(after(net, "left"))


def test_one_open_device_among_several_in_series_parts_the_feeder() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    devices: {link: fuse-link, d: diode, cb: breaker}
    feeders: [gen > link > d > cb > main]
    """
    assert "main" in live(after(net))
    for device in ("link", "d", "cb"):
        assert "main" not in live(after(net, device)), device


HOT_BUS = """
sources: {gen: 28, bat: {kind: battery, volts: 24}}
buses: [main, hot]
devices:
  k-bat: {kind: relay, closes-when: {switches: {master: "on"}}}
switches: {master: ["off", "on"]}
feeders: [gen > main, main > k-bat > bat, bat > hot]
equipment: {clock: hot}
conditions:
  flight: {sources: [gen, bat], switches: {master: "on"}}
  bat-off-line: {sources: [gen], switches: {master: "on"}}
  relay-open: {sources: [gen, bat]}
"""


def test_a_hot_bus_is_fed_through_the_terminals_of_a_lost_battery() -> None:
    loss = after(HOT_BUS, "bat")
    assert loss.lost == ()
    assert volts(loss, "hot") == (28,)
    assert loss.nodes["hot"].sources == ("gen",)
    assert loss.nodes["bat"].live


def test_a_hot_bus_dies_with_the_battery_while_the_battery_relay_is_open() -> None:
    assert volts(after(HOT_BUS, condition="relay-open"), "hot") == (24,)
    assert after(HOT_BUS, "bat", condition="relay-open").lost == ("clock",)


def test_power_passes_the_terminals_of_a_source_that_is_not_on_line() -> None:
    assert volts(after(HOT_BUS, condition="bat-off-line"), "hot", "bat") == (28, 28)
    assert live(after(HOT_BUS, "gen", condition="bat-off-line")) == set()


def test_a_dead_bus_passes_nothing() -> None:
    net = """
    sources: {gen: 28}
    buses: [first, middle, last]
    feeders: [gen > first, first > middle, middle > last]
    """
    loss = after(net, "middle")
    assert live(loss) == {"gen", "first"}
    assert volts(loss, "first", "middle", "last") == (28, 0, 0)


def test_a_dual_fed_bus_survives_the_loss_of_either_feeder() -> None:
    net = """
    sources: {left: 28, right: 28}
    buses: [essential]
    devices: {cb-left: breaker, cb-right: breaker}
    feeders: [left > cb-left > essential, right > cb-right > essential]
    equipment: {radio: essential}
    """
    assert after(net, "cb-left").lost == after(net, "cb-right").lost == ()
    assert after(net, "cb-left", "cb-right").lost == ("radio",)


INVERTER = """
sources:
  gen: 28
  shore: {kind: external-power, volts: 115}
  inverter: {kind: converter, volts: 115, fed-from: {bus: main, through: [cb-inv]}}
buses: [main, ac]
devices: {cb-inv: breaker, cb-ac: breaker}
feeders: [gen > main, inverter > cb-ac > ac, shore > ac]
conditions: {flight: {sources: [gen]}, ground: {sources: [shore]}}
"""


@pytest.mark.parametrize("failed", ["inverter", "gen", "main", "cb-inv", "cb-ac", "ac"])
def test_a_converter_feeds_its_bus_only_while_it_is_whole_and_its_input_live(failed: str) -> None:
    assert "ac" in live(after(INVERTER))
    assert "ac" not in live(after(INVERTER, failed))


def test_nothing_passes_from_a_converters_output_to_its_input() -> None:
    loss = after(INVERTER, condition="ground")
    assert live(loss) == {"shore", "ac", "inverter"}
    assert loss.nodes["inverter"].sources == ("shore",)


def test_a_lost_converters_terminals_still_pass_power() -> None:
    net = """
    sources: {gen: 28, apu: 26, tru: {kind: converter, volts: 28.5, fed-from: {bus: gen}}}
    buses: [main, other]
    feeders: [apu > main, main > tru, tru > other]
    """
    assert volts(after(net), "main", "other") == (28.5, 28.5)
    assert volts(after(net, "tru"), "main", "other") == (26, 26)


def test_a_converter_with_two_inputs_lives_on_either() -> None:
    net = """
    sources:
      left: 28
      right: 28
      inverter: {kind: converter, volts: 115, fed-from: [{bus: left}, {bus: right}]}
    buses: [ac]
    feeders: [inverter > ac]
    """
    for failed, is_live in ((["left"], True), (["right"], True), (["left", "right"], False)):
        assert ("ac" in live(after(net, *failed))) is is_live


def test_converters_in_a_loop_do_not_keep_each_other_alive() -> None:
    net = """
    sources:
      gen: 28
      inverter: {kind: converter, volts: 115, fed-from: {bus: dc}}
      tru: {kind: converter, volts: 28.5, fed-from: {bus: ac}}
    buses: [dc, ac]
    feeders: [gen > dc, inverter > ac, tru > dc]
    """
    assert volts(after(net), "dc", "ac") == (28.5, 115)
    assert live(after(net, "gen")) == set()


@pytest.mark.parametrize("length", [1, 7, 200])
def test_a_chain_of_converters_dies_from_the_failure_on(length: int) -> None:
    links = "\n".join(
        f"  c{i}: {{kind: converter, volts: {30 + i}, fed-from: {{bus: b{i}}}}}"
        for i in range(length)
    )
    net = network(
        f"sources:\n  gen: 28\n{links}\n"
        f"buses: [{', '.join(f'b{i}' for i in range(length + 1))}]\n"
        f"feeders: [gen > b0, {', '.join(f'c{i} > b{i + 1}' for i in range(length))}]"
    )
    assert volts(after(net), f"b{length}") == (29 + length,)
    middle = length // 2
    loss = after(net, f"c{middle}")
    assert {f"b{i}" for i in range(length + 1)} & live(loss) == {f"b{i}" for i in range(middle + 1)}


# Volts


def test_a_node_shows_the_highest_of_the_sources_that_reach_it() -> None:
    net = """
    sources: {gen: 28.5, apu: 28, bat: {kind: battery, volts: 24}}
    buses: [main]
    feeders: [bat > main, gen > main, apu > main]
    """
    assert volts(after(net), "main", "bat") == (28.5, 28.5)
    assert volts(after(net, "gen"), "main", "bat") == (28, 28)
    assert volts(after(net, "gen", "apu"), "main") == (24,)
    assert volts(after(net, "gen", "apu", "bat"), "main", "bat") == (0, 0)


def test_a_diode_lets_two_joined_buses_show_different_volts() -> None:
    net = """
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [main, essential]
    devices: {d: diode}
    feeders: [bat > main, main > d > essential, gen > essential]
    """
    assert volts(after(net), "main", "essential") == (24, 28)


def test_a_bus_fed_from_a_converter_shows_the_converters_volts_not_its_inputs() -> None:
    net = """
    sources: {gen: 115, tru: {kind: converter, volts: 28, fed-from: {bus: gen}}}
    buses: [dc]
    feeders: [tru > dc]
    """
    assert volts(after(net), "dc", "tru") == (28, 28)
    assert after(net).nodes["dc"].sources == ("tru",)


@given(st.permutations(["gen > a", "a > cb > b", "b > d > c", "bat > c", "c > e"]))
def test_the_order_of_the_feeders_changes_no_answer(order: list[str]) -> None:
    net = """
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [a, b, c, e]
    devices: {cb: breaker, d: diode}
    feeders: [%s]
    """
    loss = after(net % ", ".join(order), "gen")
    assert loss.nodes == after(net % ", ".join(sorted(order)), "gen").nodes
    assert live(loss) == {"bat", "c", "e"}
    assert closed(loss) == {"cb", "d"}


def test_a_link_without_a_diode_feeds_whichever_end_has_power_of_its_own_way() -> None:
    net = network("""
    sources: {gen: 28, battery: 24}
    buses: [left, centre, sub]
    devices: {fl-left: fuse-link, fl-sub: fuse-link}
    feeders: [gen > left, left > fl-left > centre, battery > centre, left > fl-sub > sub]
    """)
    ends = {n: {other for _, other in infeeds(net, n)} for n in ("left", "centre", "sub")}
    assert ends == {"left": {"gen", "centre"}, "centre": {"battery", "left"}, "sub": {"left"}}
    goes = {n: {other for _, other in outfeeds(net, n)} for n in ("left", "centre", "sub")}
    assert goes["left"] >= {"centre", "sub"}
    assert "left" in goes["centre"]
    assert goes["sub"] == set()
