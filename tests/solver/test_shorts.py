"""What a shorted bus pulls down, and what keeps it from pulling down more."""

from __future__ import annotations

import pytest

from sitegen.catalogue.model import Then
from tests.nets import after, closed, live, network

TWO_BUSES = """
sources: {gen: 28, other: 28}
buses: [near, far]
devices: {d: %s}
switches: {s: [set, clear]}
feeders: [gen > near, near > d > far, other > far]
equipment: {radio: far}
"""
BY_HAND = "{kind: %s, closes-when: {switches: {s: set}}%s}"


def down(net: str, *failed: str) -> set[str]:
    """What has failed itself, or is pulled down."""
    return {node for node, state in after(net, *failed).nodes.items() if state.down}


def test_a_shorted_bus_is_dead_itself() -> None:
    assert "near" not in live(after(TWO_BUSES % "breaker", "near:shorted"))


@pytest.mark.parametrize("kind", ["breaker", "fuse", "fuse-link"])
def test_a_protective_device_parts_the_short_from_the_rest(kind: str) -> None:
    net = TWO_BUSES % kind
    assert down(net, "near:shorted") == {"near", "gen"}
    assert down(net, "far:shorted") == {"far", "other"}


@pytest.mark.parametrize(
    "kind", ["shunt", *(BY_HAND % (k, "") for k in ("contactor", "relay", "switch"))]
)
def test_a_short_pulls_down_what_it_reaches_through_anything_else(kind: str) -> None:
    net = TWO_BUSES % kind
    assert down(net, "near:shorted") == {"near", "far", "gen", "other"}
    assert down(net, "far:shorted") == {"near", "far", "gen", "other"}
    assert live(after(net, "near:shorted")) == set()
    assert after(net, "near:shorted").lost == ("radio",)


@pytest.mark.parametrize("kind", ["contactor", "relay"])
def test_a_contactor_with_its_own_fault_sensing_is_protective(kind: str) -> None:
    assert down(TWO_BUSES % (BY_HAND % (kind, ", protective: true")), "near:shorted") == {
        "near",
        "gen",
    }


def test_one_protective_device_in_a_run_is_enough() -> None:
    net = "sources: {gen: 28}\nbuses: [a, b]\ndevices: {s: shunt, f: fuse, t: shunt}\n"
    assert down(net + "feeders: [gen > a, a > s > f > t > b]", "b:shorted") == {"b"}


def test_an_open_contactor_keeps_a_short_from_passing() -> None:
    net = """
    sources: {gen: 28, other: 28}
    buses: [near, far]
    devices: {k: {kind: contactor, closes-when: {switches: {s: set}}}}
    switches: {s: ["off", set]}
    feeders: [gen > near, near > k > far, other > far]
    """
    assert down(net, "near:shorted") == {"near", "gen"}
    assert down(net, "near:shorted", "k:stuck-closed") == {"near", "far", "gen", "other"}


def test_a_short_passes_a_diode_that_points_at_it_and_not_one_that_points_away() -> None:
    net = TWO_BUSES % "diode"  # near > d > far
    assert down(net, "far:shorted") == {"near", "far", "gen", "other"}
    assert down(net, "near:shorted") == {"near", "gen"}


def test_an_open_diode_keeps_a_short_from_passing() -> None:
    assert down(TWO_BUSES % "diode", "far:shorted", "d:open") == {"far", "other"}


def test_a_short_between_two_diodes_pulls_down_what_feeds_it_and_not_what_it_feeds() -> None:
    net = """
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [first, middle, last]
    devices: {d-in: diode, d-out: diode}
    feeders: [gen > first, first > d-in > middle, middle > d-out > last, bat > last]
    """
    assert down(net, "middle:shorted") == {"gen", "first", "middle"}
    assert live(after(net, "middle:shorted")) == {"bat", "last"}


def test_a_source_pulled_down_produces_nothing() -> None:
    net = TWO_BUSES % "breaker" + "indications: {v: {kind: voltmeter, at: gen}}\n"
    loss = after(net, "near:shorted")
    assert not loss.nodes["gen"].live
    assert str(loss.readings["v"]) == "0 V"


def test_a_contactor_that_a_pulled_down_source_held_drops_out() -> None:
    net = """
    sources: {gen: 28, other: 28}
    buses: [main]
    devices: {k: {kind: relay, closes-when: {live: [gen]}}, cb: breaker}
    feeders: [gen > main, other > cb > k > main]
    """
    assert "k" in closed(after(net))
    assert "k" not in closed(after(net, "main:shorted"))


def test_a_stalled_generator_stays_off_line_when_its_own_contactor_drops_out() -> None:
    net = """
    sources: {gen: 28}
    buses: [main, side]
    devices: {k-gen: {kind: contactor, closes-when: {live: [gen]}}, cb: breaker}
    feeders: [gen > k-gen > main, gen > cb > side]
    """
    loss = after(net, "main:shorted")
    assert "k-gen" not in closed(loss)
    assert live(loss) == set()
    assert loss.stalled == ("gen",)


def test_no_switching_device_moves_before_protection_has_opened() -> None:
    # The tie opens because `near` is dead, but the short has passed it by then.
    net = """
    sources: {gen: 28, other: 28}
    buses: [near, far]
    devices: {tie: {kind: contactor, closes-when: {live: [near]}}, cb: breaker}
    feeders: [gen > cb > near, near > tie > far, other > far]
    equipment: {radio: far}
    """
    loss = after(net, "near:shorted")
    assert "tie" not in closed(loss)
    assert live(loss) == {"gen"}
    assert (loss.opened, loss.stalled) == ({"cb": "tripped"}, ("other",))
    assert loss.lost == ("radio",)


def test_a_tie_that_closes_on_the_dead_bus_lets_the_short_through() -> None:
    net = """
    sources: {gen: 28, other: 28}
    buses: [near, far]
    devices: {tie: {kind: contactor, closes-when: {dead: [near]}}, cb: breaker}
    feeders: [gen > cb > near, near > tie > far, other > far]
    equipment: {radio: far}
    """
    assert after(net).lost == ()
    assert live(after(net, "near:dead")) == {"gen", "other", "far"}
    loss = after(net, "near:shorted")
    assert loss.lost == ("radio",)
    assert live(loss) == {"gen"}


def test_a_short_goes_on_until_it_reaches_no_more() -> None:
    # Each bus that goes down closes the tie to the next one.
    net = """
    sources: {a: 28, b: 28, c: 28, e: 28}
    buses: [b1, b2, b3, b4]
    devices:
      cb-1: breaker
      cb-2: breaker
      cb-3: breaker
      cb-4: breaker
      t1: {kind: contactor, closes-when: {dead: [b1]}}
      t2: {kind: contactor, closes-when: {dead: [b2]}}
      t3: {kind: contactor, closes-when: {dead: [b3], live: [a]}}
    feeders:
      - a > cb-1 > b1
      - b > cb-2 > b2
      - c > cb-3 > b3
      - e > cb-4 > b4
      - b1 > t1 > b2
      - b2 > t2 > b3
      - b3 > t3 > b4
    """
    assert down(net, "b1:shorted") == {"b1", "b2", "b3", "b4"}
    assert down(net, "b1:shorted", "t2:open") == {"b1", "b2"}
    assert down(net, "b1:shorted", "a") == {"b1", "b2", "b3"}


def test_two_shorts_each_pull_down_their_own_side() -> None:
    net = """
    sources: {left: 28, right: 28, bat: {kind: battery, volts: 24}}
    buses: [l, m, r]
    devices: {fl-left: fuse-link, fl-right: fuse-link}
    feeders: [left > l, l > fl-left > m, bat > m, m > fl-right > r, right > r]
    """
    assert down(net, "l:shorted", "r:shorted") == {"left", "l", "right", "r"}
    assert live(after(net, "l:shorted", "r:shorted")) == {"bat", "m"}
    assert down(net, "l:shorted", "m:shorted", "r:shorted") == {
        "left",
        "l",
        "right",
        "r",
        "bat",
        "m",
    }


def test_a_short_does_not_act_beyond_a_bus_that_has_failed_dead() -> None:
    net = """
    sources: {gen: 28}
    buses: [a, b, c]
    devices: {sh: shunt}
    feeders: [a > b, b > c, gen > c]
    """
    assert down(net, "a:shorted") == {"a", "b", "c", "gen"}
    assert down(net, "a:shorted", "b:dead") == {"a", "b"}


def test_a_short_passes_the_terminals_of_a_lost_battery() -> None:
    net = """
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [main, hot]
    feeders: [gen > main, main > bat, bat > hot]
    """
    assert down(net, "hot:shorted", "bat") == {"hot", "bat", "main", "gen"}


def test_a_short_on_a_converters_bus_pulls_down_the_converter_and_not_what_feeds_it() -> None:
    net = """
    sources: {gen: 28, inv: {kind: converter, volts: 115, fed-from: {bus: dc}}}
    buses: [dc, ac, other]
    devices: {cb: breaker}
    feeders: [gen > dc, inv > ac, inv > cb > other]
    """
    assert down(net, "ac:shorted") == {"ac", "inv"}
    assert live(after(net, "ac:shorted")) == {"gen", "dc"}


def test_a_converter_pulled_down_produces_nothing() -> None:
    net = """
    sources: {gen: 28, inv: {kind: converter, volts: 115, fed-from: {bus: dc}}}
    buses: [dc, ac]
    devices: {k: {kind: relay, closes-when: {live: [inv]}}}
    feeders: [gen > dc, inv > ac]
    """
    assert closed(after(net)) == {"k"}
    assert closed(after(net, "ac:shorted")) == set()


def test_a_short_on_a_converters_input_stops_it_and_leaves_its_terminals_to_others() -> None:
    net = """
    sources: {gen: 28, shore: 115, inv: {kind: converter, volts: 115, fed-from: {bus: dc}}}
    buses: [dc, ac]
    feeders: [gen > dc, inv > ac, shore > ac]
    """
    assert down(net, "dc:shorted") == {"dc", "gen"}
    assert live(after(net, "dc:shorted")) == {"shore", "ac", "inv"}


def test_a_chattering_contactor_counts_as_open_to_a_short() -> None:
    net = """
    sources: {gen: 28, other: 28}
    buses: [near, far]
    devices: {k: {kind: contactor, closes-when: {dead: [near], open: [k]}}, cb: breaker}
    feeders: [gen > cb > near, near > k > far, other > far]
    """
    loss = after(net, "near:shorted")
    assert loss.chatter == ("k",)
    assert "far" in live(loss)


def test_a_crew_that_opens_the_tie_and_resets_the_stalled_source_gives_back_its_bus() -> None:
    net = """
    sources: {gen: 28, other: 28}
    buses: [near, far]
    devices: {cb: breaker, tie: {kind: contactor, closes-when: {switches: {tie-switch: normal}}}}
    switches: {tie-switch: [normal, open]}
    feeders: [gen > cb > near, near > tie > far, other > far]
    equipment: {radio: far}
    """
    assert after(net, "near:shorted").lost == ("radio",)
    opened = Then(switches={"tie-switch": "open"})
    assert after(net, "near:shorted", then=opened).lost == ("radio",)
    reset = opened.model_copy(update={"reset": ["other"]})
    assert after(net, "near:shorted", then=reset).lost == ()


def test_a_bus_failed_dead_pulls_nothing_down() -> None:
    assert down(TWO_BUSES % "shunt", "near:dead") == {"near"}
    assert network(TWO_BUSES % "shunt").components["near"].modes == ("dead", "shorted")
