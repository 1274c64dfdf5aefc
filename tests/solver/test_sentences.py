"""Sentences of the semantics about what a failure does: a test each, on the smallest net.

What power reaches, and what kinds of components do, has its tests in `test_state_and_reach.py`;
closing conditions and chatter in `test_contactors.py`; the shorted part in `test_shorts.py`; the
words for equipment and functions in `test_equipment_and_functions.py`; invariants in
`test_invariants.py`. What is left of these is here. The sentences about figures, and about the
order of events, are in `tests/answers/test_sentences_of_figures.py`.
"""

from __future__ import annotations

import pytest

from sitegen.answers.because import because
from sitegen.answers.besides import besides
from sitegen.answers.drop import Loss, drop, fault, losses
from sitegen.catalogue.model import Catalogue, Then
from sitegen.solver.network import build
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from tests.nets import after, closed, expand, live, network, volts

# how components fail


def test_a_switch_stuck_closed_conducts_whatever_a_person_sets() -> None:
    """The crew's switch has no effect on it."""
    net = """
    sources: {gen: 28}
    buses: [main, spur]
    switches: {s: ["on", "off"]}
    devices: {sw: {kind: switch, closes-when: {switches: {s: "on"}}}}
    feeders: [gen > main, main > sw > spur]
    """
    off = Then(switches={"s": "off"})
    assert "spur" not in live(after(net, "gen", then=off))
    assert "spur" in live(after(net, "sw:stuck-closed", then=off))


def test_a_failed_component_is_not_reported_as_moving() -> None:
    """The contactor and the relay that follows it open together; only the relay is an event."""
    net = network("""
    sources: {gen: 28}
    buses: [main]
    devices:
      k: {kind: contactor, closes-when: {live: [gen]}}
      r: {kind: relay, closes-when: {closed: [k]}}
    feeders: [gen > k > main]
    equipment: {lamp: {supplies: [{bus: main, through: [r]}]}}
    """)
    rows = because(network=net, condition="flight", faults=[("k", "open")])
    assert {row.id for row in rows} == {"main", "r"}
    assert after(net, "k").opened == {}


def test_a_shorted_diode_is_tried_alone_and_not_in_pairs() -> None:
    net = network(
        "sources: {gen: 28}\nbuses: [a, b]\ndevices: {d: diode}\nfeeders: [gen > a, a > d > b]"
    )
    assert ("d", "shorted") in net.faults
    assert ("d", "shorted") not in net.combined_faults
    assert ("d", "open") in net.combined_faults


def test_a_shorted_source_does_not_produce_and_its_terminals_are_a_shorted_node() -> None:
    """The short at its terminals takes the bus beside them, and blows the link to the next."""
    loss = after(
        """
    sources: {g-1: 28, g-2: 28}
    buses: [left, right]
    devices: {fl: fuse-link}
    feeders: [g-1 > left, left > fl > right, g-2 > right]
    """,
        "g-1:shorted",
    )
    assert live(loss) == {"g-2", "right"}
    assert (loss.opened, loss.stalled) == ({"fl": "blown"}, ())


def test_a_shorted_diode_passes_both_ways_without_drop() -> None:
    net = """
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [front, back]
    devices: {d: diode}
    feeders: [front > d > back, %s > %s]
    """
    assert volts(after(net % ("gen", "front")), "front", "back") == (28, 27.3)
    assert volts(after(net % ("gen", "front"), "d:shorted"), "front", "back") == (28, 28)
    assert volts(after(net % ("gen", "back")), "front", "back") == (0, 28)
    assert volts(after(net % ("gen", "back"), "d:shorted"), "front", "back") == (28, 28)


PULLED = """
sources: {gen: 28}
buses: [main, spur]
devices: {cb: breaker}
feeders: [gen > main, main > cb > spur]
conditions: {flight: {sources: [gen]}, parked: {sources: [gen], pulled: [cb]}}
"""


def test_a_breaker_stuck_closed_conducts_whatever_pulls_or_trips_it() -> None:
    pull = Then(pulled=["cb"])
    assert "spur" not in live(after(PULLED, then=pull))
    assert "spur" in live(after(PULLED, "cb:stuck-closed", then=pull))
    onto_a_short = after(PULLED, "cb:stuck-closed", "spur:shorted")
    assert (onto_a_short.opened, onto_a_short.stalled) == ({}, ("gen",))


def test_a_breaker_that_was_pulled_when_its_contacts_stuck_stays_open() -> None:
    assert "spur" not in live(after(PULLED, "cb:stuck-closed", condition="parked"))


# volts


def test_volts_are_rounded_half_up_to_millivolts_before_anything_is_added() -> None:
    """28.0005 V are 28.001 V, and each drop of 0.0005 V is 0.001 V."""
    net = """
    sources: {gen: 28.0005}
    buses: [front, back]
    devices: {d-1: {kind: diode, drop-volts: 0.0005}, d-2: {kind: diode, drop-volts: 0.0005}}
    feeders: [gen > front, front > d-1 > d-2 > back]
    """
    assert volts(after(net), "front", "back") == (28.001, 27.999)


def test_a_node_shows_the_highest_over_all_ways_of_source_volts_less_the_drops() -> None:
    """The battery's 27.8 V beat the generator's 28.5 V less 1 V; without it these show."""
    net = """
    sources: {gen: 28.5, bat: {kind: battery, volts: 27.8}}
    buses: [main, ess]
    devices: {d-1: {kind: diode, drop-volts: 1}, d-2: {kind: diode, drop-volts: 2}}
    feeders: [gen > main, main > d-1 > ess, main > d-2 > ess, bat > ess]
    """
    assert volts(after(net), "main", "ess", "bat") == (28.5, 27.8, 27.8)
    assert volts(after(net, "bat"), "ess", "bat") == (27.5, 27.5)


def test_a_node_never_shows_less_than_0_volts_and_without_power_0() -> None:
    """A cell of 1 V before a diode that drops more: the bus is live and shows 0 V."""
    net = """
    sources: {cell: {kind: battery, volts: 1}}
    buses: [low, spare]
    devices: {d: {kind: diode, drop-volts: 1.5}}
    feeders: [cell > d > low]
    """
    loss = after(net)
    assert live(loss) == {"cell", "low"}
    assert volts(loss, "low", "spare") == (0, 0)


# closing conditions by voltage

STANDBY = """
sources: {gen: 28, bat: {kind: battery, volts: 24}}
buses: [main, by-source, by-bus]
devices:
  k-source: {kind: contactor, closes-when: {%s: {bat: 25}}}
  k-bus: {kind: contactor, closes-when: {%s: {main: 25}}}
feeders: [gen > main, bat > main, main > k-source > by-source, main > k-bus > by-bus]
"""


def test_a_term_by_voltage_takes_a_source_at_its_own_volts_and_a_bus_at_what_it_shows() -> None:
    """The battery's terminals are at 28 V from the generator, but its own volts are 24."""
    healthy = after(STANDBY % ("volts-above", "volts-above"), "by-source")
    assert healthy.nodes["bat"].volts == 28
    assert closed(healthy) == {"k-bus"}


def test_a_source_that_does_not_produce_is_at_0_volts_in_a_term_though_its_terminals_are_live() -> (
    None
):
    lost = after(STANDBY.replace("bat: 25", "gen: 25") % ("volts-below", "volts-below"), "gen")
    assert "gen" in live(lost)
    assert closed(lost) == {"k-source", "k-bus"}


def test_a_dead_bus_is_at_0_volts_in_a_term() -> None:
    loss = after(STANDBY % ("volts-below", "volts-below"), "main")
    assert "k-bus" in closed(loss)


def test_a_term_by_voltage_is_strict_at_0_volts_too() -> None:
    """A dead bus is at 0 V: neither above 0 nor below it."""
    for word in ("volts-above", "volts-below"):
        loss = after((STANDBY % (word, word)).replace("main: 25", "main: 0"), "main")
        assert "k-bus" not in closed(loss)


# faults


@pytest.mark.parametrize(
    ("device", "word"),
    [
        ("breaker", "tripped"),
        ("fuse", "blown"),
        ("fuse-link", "blown"),
        ("{kind: contactor, protective: true, closes-when: {live: [gen]}}", "tripped"),
        ("{kind: relay, protective: true, closes-when: {live: [gen]}}", "tripped"),
    ],
)
def test_a_breaker_or_protective_contactor_trips_and_a_fuse_or_link_blows(
    device: str, word: str
) -> None:
    net = f"""
    sources: {{gen: 28}}
    buses: [main, spur]
    devices: {{d: {device}}}
    feeders: [gen > main, main > d > spur]
    """
    assert after(net, "spur:shorted").opened == {"d": word}


@pytest.mark.parametrize(("feeder", "opened"), [("d > cb", set()), ("e > cb", {"cb"})])
def test_a_breaker_does_not_open_where_a_diode_points_away_from_the_short(
    feeder: str, opened: set[str]
) -> None:
    """The battery can feed the short back through a shunt, but not through the diode."""
    net = f"""
    sources: {{gen: 28, bat: {{kind: battery, volts: 24}}}}
    buses: [main, ess]
    devices: {{d: diode, e: shunt, cb: breaker}}
    feeders: [gen > main, main > {feeder} > ess, bat > ess]
    """
    assert set(after(net, "main:shorted").opened) == opened


def test_the_protective_device_nearest_the_short_opens_and_no_other() -> None:
    """Of two in one feeder, and of those in the feeders before it."""
    net = """
    sources: {gen: 28}
    buses: [main, mid, end]
    devices: {fl-1: fuse-link, fl-2: fuse-link, cb: breaker}
    feeders: [gen > main, main > fl-1 > mid, mid > fl-2 > cb > end]
    """
    assert after(net, "end:shorted").opened == {"cb": "tripped"}
    assert after(net.replace("fl-2 > cb", "cb > fl-2"), "end:shorted").opened == {"fl-2": "blown"}


def test_a_protective_device_that_is_stuck_closed_leaves_it_to_the_next_one() -> None:
    net = """
    sources: {gen: 28}
    buses: [main, end]
    devices: {fl: fuse-link, cb: breaker}
    feeders: [gen > main, main > fl > cb > end]
    """
    assert after(net, "end:shorted", "cb:stuck-closed").opened == {"fl": "blown"}


def test_what_feeds_a_short_from_several_sides_opens_all_together() -> None:
    """In one step, not one after the other."""
    net = network("""
    sources: {g-1: 28, g-2: 28}
    buses: [left, right, spur]
    devices: {cb: breaker, fl: fuse-link}
    feeders: [g-1 > left, g-2 > right, left > cb > spur, right > fl > spur]
    """)
    rows = because(net, "flight", [("spur", "shorted")])
    assert [(e.step, e.id, e.change) for e in rows] == [(1, "cb", "tripped"), (1, "fl", "blown")]


@pytest.mark.parametrize(("failed", "opened"), [((), {"fl": "blown"}), (("g-2",), {})])
def test_the_terminals_of_a_source_count_as_live_when_power_reaches_them(
    failed: tuple[str, ...], opened: dict[str, str]
) -> None:
    """The first generator is lost; its terminals feed the short while the second one does."""
    net = """
    sources: {g-1: 28, g-2: 28}
    buses: [left, right]
    devices: {fl: fuse-link}
    feeders: [g-1 > fl > left, g-1 > right, g-2 > right]
    """
    assert after(net, "g-1", "left:shorted", *failed).opened == opened


def test_a_source_that_is_not_on_line_or_has_failed_does_not_stall() -> None:
    net = """
    sources: {gen: 28, ext: {kind: external-power, volts: 28}}
    buses: [main]
    feeders: [gen > main, ext > main]
    conditions: {flight: {sources: [gen]}}
    """
    assert after(net, "main:shorted").stalled == ("gen",)
    assert after(net, "main:shorted", "gen").stalled == ()


LATCHED = """
sources: {gen: 28, standby: 28}
buses: [spur, main, radio-bus]
devices:
  k: {kind: contactor, closes-when: {live: [gen]}}
  k-standby: {kind: contactor, closes-when: {open: [k]}}
  latch: {kind: relay, closes-when: [{closed: [k]}, {open: [k-standby]}, {live: [main]}]}
feeders: [gen > spur, spur > k > main, standby > k-standby > main, main > latch > radio-bus]
"""
"""The stalled generator's contactor opens, then the standby one closes; the latch needs volts."""


def test_the_shorted_part_has_no_volts_until_the_pass_ends_whatever_moves_in_it() -> None:
    """A latch on a bus that is apart from the short by now, and fed, lets go all the same."""
    net = LATCHED.replace("{live: [main]}", "{closed: [latch], live: [main]}")
    loss = after(net, "spur:shorted")
    assert closed(loss) == {"k-standby"}
    assert "main" in live(loss)


def test_a_bus_is_down_only_while_it_is_connected_to_the_short_at_the_start_of_a_pass() -> None:
    loss = after(LATCHED, "spur:shorted")
    assert loss.stalled == ("gen",)
    assert {"main", "radio-bus"} <= live(loss)


def test_nothing_stalls_on_a_contactor_that_touches_the_short_within_a_pass_only() -> None:
    """It closes in the first round, as the other bus is dead, and lets go in the second."""
    net = """
    sources: {gen: 28}
    buses: [main, spur, other]
    devices:
      k: {kind: relay, closes-when: {dead: [other], open: [r]}}
      r: {kind: relay, closes-when: {dead: [other]}}
    feeders: [gen > main, gen > other, main > k > spur]
    """
    loss = after(net, "other", "spur:shorted")
    assert (closed(loss), loss.stalled) == ({"r"}, ())


def test_a_protective_contactor_without_coil_volts_is_open_and_has_not_tripped() -> None:
    """Its bus is in the shorted part, but no current of the short passes it."""
    net = """
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [main, hot, avionics]
    devices: {k: {kind: contactor, protective: true, closes-when: {live: [main]}}}
    feeders: [gen > main, bat > hot, hot > k > avionics]
    """
    loss = after(net, "main:shorted")
    assert (closed(loss), loss.opened, loss.stalled) == (set(), {}, ("gen",))


@pytest.mark.parametrize(("failed", "stalled"), [((), ("inv",)), (("main",), ())])
def test_a_converter_stalls_on_a_short_only_while_its_input_is_live(
    failed: tuple[str, ...], stalled: tuple[str, ...]
) -> None:
    net = """
    sources: {gen: 28, inv: {kind: converter, volts: 115, current: ac, fed-from: {bus: main}}}
    buses: [main, ac]
    feeders: [gen > main, inv > ac]
    """
    assert after(net, "ac:shorted", *failed).stalled == stalled


def test_an_opened_device_is_open_in_every_feeder_and_supply_that_it_is_in() -> None:
    """The contactor trips on one of its poles; the pump and the other bus are on its others."""
    net = """
    sources: {gen: 28}
    buses: [main, faulty, sound]
    devices: {k: {kind: contactor, protective: true, closes-when: {live: [gen]}}}
    feeders: [gen > main, main > k > faulty, main > k > sound]
    equipment: {pump: {supplies: [{bus: main, through: [k]}]}, radio: main}
    """
    loss = after(net, "faulty:shorted")
    assert loss.opened == {"k": "tripped"}
    assert live(loss) == {"gen", "main"}
    assert loss.lost == ("pump",)


def test_a_blown_fuse_is_not_reset_even_when_the_short_is_gone() -> None:
    """The crew opens the switch to the short and resets the breaker and the fuse before it."""
    net = """
    sources: {gen: 28, other: 28}
    buses: [left, right, spur]
    switches: {s: ["on", "off"]}
    devices:
      f: fuse
      cb: breaker
      sw-left: {kind: switch, closes-when: {switches: {s: "on"}}}
      sw-right: {kind: switch, closes-when: {switches: {s: "on"}}}
    feeders: [gen > f > left, other > cb > right, left > sw-left > spur, right > sw-right > spur]
    """
    crew = Then.model_validate({"switches": {"s": "off"}, "reset": ["f", "cb"]})
    assert after(net, "spur:shorted").opened == {"f": "blown", "cb": "tripped"}
    then = after(net, "spur:shorted", then=crew)
    assert then.opened == {"f": "blown"}
    assert "right" in live(then)
    assert "left" not in live(then)


def test_a_reset_of_one_source_leaves_the_other_stalled() -> None:
    net = """
    sources: {gen: 28, other: 28}
    buses: [left, right, spur]
    switches: {s: ["on", "off"]}
    devices:
      sw-left: {kind: switch, closes-when: {switches: {s: "on"}}}
      sw-right: {kind: switch, closes-when: {switches: {s: "on"}}}
    feeders: [gen > left, other > right, left > sw-left > spur, right > sw-right > spur]
    """
    crew = Then.model_validate({"switches": {"s": "off"}, "reset": ["other"]})
    assert after(net, "spur:shorted").stalled == ("gen", "other")
    then = after(net, "spur:shorted", then=crew)
    assert then.stalled == ("gen",)
    assert "right" in live(then)
    assert "left" not in live(then)


def test_what_is_pulled_is_not_reset() -> None:
    """The crew pulls the tripped breaker and resets all that it can: the spur stays dead."""
    net = """
    sources: {gen: 28}
    buses: [main, spur, end]
    switches: {s: ["on", "off"]}
    devices: {cb: breaker, sw: {kind: switch, closes-when: {switches: {s: "on"}}}}
    feeders: [gen > main, main > cb > spur, spur > sw > end]
    """
    crew = {"switches": {"s": "off"}, "reset": ["cb"]}
    assert "spur" in live(after(net, "end:shorted", then=Then.model_validate(crew)))
    pulled = Then.model_validate({**crew, "pulled": ["cb"]})
    loss = after(net, "end:shorted", then=pulled)
    assert "spur" not in live(loss)
    assert loss.opened == {"cb": "tripped"}


def test_a_reset_contactor_starts_open_and_obeys_its_closing_condition() -> None:
    """Both have tripped; the one that holds itself in needs its button again."""
    net = """
    sources: {gen: 28}
    buses: [main, one, two, end]
    switches: {s: ["on", "off"]}
    devices:
      k: {kind: contactor, protective: true, closes-when: {live: [main]}}
      latch: {kind: contactor, protective: true, closes-when: {live: [main], closed: [latch]}}
      sw-one: {kind: switch, closes-when: {switches: {s: "on"}}}
      sw-two: {kind: switch, closes-when: {switches: {s: "on"}}}
    feeders:
      [gen > main, main > k > one, main > latch > two, one > sw-one > end, two > sw-two > end]
    conditions: {flight: {sources: [gen], held-closed: [latch]}}
    """
    assert after(net, "end:shorted").opened == {"k": "tripped", "latch": "tripped"}
    crew = Then.model_validate({"switches": {"s": "off"}, "reset": ["k", "latch"]})
    then = after(net, "end:shorted", then=crew)
    assert (then.opened, closed(then)) == ({}, {"k"})


def test_switches_and_pulls_apply_first_and_the_resets_onto_what_they_leave() -> None:
    """Reset with the switch still closed, the breaker would trip and the generator stall again."""
    net = """
    sources: {g-1: 28, g-2: 28}
    buses: [left, right, end, spur]
    switches: {s: ["on", "off"]}
    devices: {cb: breaker, cb-spur: breaker, sw: {kind: switch, closes-when: {switches: {s: "on"}}}}
    feeders: [g-1 > left, left > cb > right, g-2 > right, right > sw > end, right > cb-spur > spur]
    """
    crew = Then.model_validate({"switches": {"s": "off"}, "reset": ["cb", "g-2"]})
    loss = after(net, "end:shorted", then=crew)
    assert (loss.opened, loss.stalled, loss.failed_resets) == ({}, (), ())
    # Without the switch the short is still there.
    loss = after(net, "end:shorted", then=Then(reset=["cb", "g-2"]))
    assert (loss.opened, loss.stalled) == ({"cb": "tripped"}, ("g-2",))
    assert loss.failed_resets == ("cb", "g-2")


# chatter


def test_what_chatters_after_a_failure_stays_open_when_the_crew_acts() -> None:
    """The switch alone would close the contactor for good, but it has chattered."""
    net = """
    sources: {gen: 28, other: 28}
    buses: [main, standby]
    switches: {s: ["off", "on"]}
    devices:
      cb: breaker
      k: {kind: contactor, closes-when: [{dead: [standby]}, {switches: {s: "on"}}]}
    feeders: [gen > main, main > k > standby, other > cb > standby]
    """
    on = Then(switches={"s": "on"})
    assert closed(after(net, then=on)) == {"cb", "k"}
    loss = after(net, "cb", then=on)
    assert (loss.chatter, closed(loss)) == (("k",), set())


TOGGLING = """
sources: {gen: 28}
buses: [main, by-p, other]
devices:
  p: {kind: relay, closes-when: [{open: [p, f]}, {closed: [r]}]}
  q: {kind: relay, closes-when: {closed: [p]}}
  f: {kind: relay, closes-when: [{open: [p, q]}, {closed: [f, r]}]}
  r: {kind: relay, closes-when: {closed: [f]}}
feeders: [gen > main, main > p > by-p, gen > other]
equipment: {lamp: by-p, radio: main}
"""
"""From rest p and q take turns, so that f, which needs both open, never stays closed. With both
counted as open f closes, then r, and from there p could close for good."""


def test_where_nothing_fails_what_chatters_in_the_condition_stays_open() -> None:
    """Nothing has begun: no item may come on by a failure of nothing."""
    for dip in (False, True):
        nothing = drop(network(TOGGLING), "flight", [], dip=dip)
        assert nothing.chatter == ("p", "q")
        assert closed(nothing) == {"f", "r"}
        assert (nothing.comes_on, nothing.not_powered) == ((), ("lamp",))
    assert because(network(TOGGLING), "flight", []) == ()


def test_a_failure_judges_anew_what_chatters_in_its_condition() -> None:
    """Even the failure of a bus that has nothing to do with it."""
    loss = after(TOGGLING, "other")
    assert loss.chatter == ()
    assert loss.comes_on == ("lamp",)
    both = scenarios_of([Scenario("flight"), Scenario("flight", (("other", "dead"),))])
    assert [found.comes_on for found in losses(solve(network(TOGGLING), both))] == [(), ("lamp",)]


def test_what_chatters_where_nothing_failed_stays_open_when_the_crew_acts() -> None:
    assert after(TOGGLING, then=Then(pulled=[])).chatter == ("p", "q")


# the dip

DROPS_OUT = """
sources: {gen: 28}
buses: [main, spur]
devices:
  cb: breaker
  k: {kind: contactor, closes-when: {closed: [k], live: [main]}}
feeders: [gen > main, main > %s > spur]
equipment: {fan: spur, radio: main}
conditions: {flight: {sources: [gen], held-closed: [k]}}
"""


def dip(text: str, *failed: str) -> Loss:
    """Answer 2: contactors drop out while the short holds their coils down."""
    net = network(text)
    return drop(net, "flight", [fault(net, name) for name in failed], dip=True)


@pytest.mark.parametrize("through", ["k > cb", "cb > k"])
def test_what_was_to_open_opens_though_a_contactor_drops_out_in_the_dip(through: str) -> None:
    """The latched contactor lets go of the short, too late for the breaker."""
    loss = dip(DROPS_OUT % through, "spur:shorted")
    assert loss.opened == {"cb": "tripped"}
    assert closed(loss) == set()


def test_a_contactor_that_rides_through_keeps_its_state_in_the_dip() -> None:
    net = (DROPS_OUT % "k > cb").replace(
        "kind: contactor,", "kind: contactor, rides-through: true,"
    )
    assert closed(dip(net, "spur:shorted")) == {"k"}


def test_everything_else_in_the_dip_zone_returns_when_the_short_is_cleared() -> None:
    """A contactor that follows its bus drops out and closes again; the bus is live."""
    loss = dip((DROPS_OUT % "k > cb").replace("closed: [k], ", ""), "spur:shorted")
    assert (closed(loss), live(loss)) == ({"k"}, {"gen", "main"})


FAR_LATCH = """
sources: {gen: 28, bat: {kind: battery, volts: 24}}
buses: [main, ess, end]
devices:
  cb: breaker
  d: diode
  latch: {kind: relay, closes-when: {closed: [latch], live: [%s]}}
feeders: [gen > cb > main, %s, bat > ess, ess > latch > end]
conditions: {flight: {sources: [gen, bat], held-closed: [latch]}}
"""


@pytest.mark.parametrize(
    ("feeder", "holds"), [("main > d > ess", {"latch", "d"}), ("ess > d > cb > main", {"d"})]
)
def test_the_dip_passes_a_sound_diode_only_against_its_flow(feeder: str, holds: set[str]) -> None:
    """A diode that points away from the shorted bus keeps the next bus up, one at it does not."""
    loss = dip(FAR_LATCH % ("ess", feeder), "main:shorted")
    assert closed(loss) == holds


def test_a_source_in_the_dip_zone_does_not_produce() -> None:
    """The relay follows the generator itself, which is behind the breaker that trips."""
    loss = dip(FAR_LATCH % ("gen", "main > d > ess"), "main:shorted")
    assert (closed(loss), loss.stalled) == ({"d"}, ())
    assert "gen" in live(loss)


def test_the_dip_zone_is_that_of_the_positions_at_the_start_of_the_pass() -> None:
    """A tie drops out in the dip; the bus beyond it has no volts even so until the dip is over."""
    net = """
    sources: {g-1: 28, g-2: 28}
    buses: [spur, near, far, end]
    devices:
      cb: breaker
      tie: {kind: contactor, closes-when: {closed: [tie], live: [near]}}
      latch: {kind: relay, closes-when: [{closed: [tie]}, {closed: [latch], live: [far]}]}
    feeders: [g-1 > near, near > cb > spur, near > tie > far, g-2 > far, far > latch > end]
    conditions: {flight: {sources: [g-1, g-2], held-closed: [tie]}}
    """
    assert closed(dip(net, "spur:shorted")) == set()


# what works


def test_a_lost_generator_is_driven_through_its_own_contactor_if_that_sticks_closed() -> None:
    net = """
    sources: {g-1: 28, g-2: 28}
    buses: [main]
    devices: {k: {kind: contactor, closes-when: {live: [g-1]}}}
    feeders: [g-1 > k > main, g-2 > main]
    """
    assert after(net, "g-1").driven == ()
    assert after(net, "g-1", "k:stuck-closed").driven == ("g-1",)


AC_SOURCES = """
sources:
  ac-1: {kind: generator, volts: 115, current: ac, synchronised: one}
  ac-2: {kind: generator, volts: 115, current: ac, synchronised: one}
  ac-3: {kind: generator, volts: 115, current: ac%s}
  rect-1: {kind: converter, volts: 28, fed-from: {bus: left}}
  rect-2: {kind: converter, volts: 28, fed-from: {bus: right}}
buses: [left, right, dc]
devices: {tie: {kind: relay, closes-when: {dead: [ac-1]}}, cb: breaker}
feeders:
  [ac-1 > left, ac-2 > left, ac-3 > right, left > tie > right, rect-1 > dc, rect-2 > cb > dc]
equipment:
  lamp: left
  fan: {supplies: [{bus: left}, {bus: dc, through: [cb]}]}
  heater: {supplies: [{bus: left}, {bus: right, through: [cb]}]}
  gyro: {needs: all, supplies: [{bus: left}, {bus: dc}]}
"""


def test_ac_sources_conflict_unless_all_of_them_carry_the_same_name() -> None:
    meeting = after(AC_SOURCES % "", "tie:stuck-closed")
    every = ("ac-1", "ac-2", "ac-3")
    assert meeting.conflicts == {"left": every, "right": every}
    assert after(AC_SOURCES % ", synchronised: one", "tie:stuck-closed").conflicts == {}
    nameless = (AC_SOURCES % "").replace(", synchronised: one", "")
    assert after(nameless, "tie:stuck-closed").conflicts == {"left": every, "right": every}


def test_sources_whose_power_meets_through_converters_only_do_not_conflict() -> None:
    """Both rectifiers feed one DC bus."""
    assert after(AC_SOURCES % "").conflicts == {}


def test_what_has_only_buses_in_conflict_is_not_known_instead_of_kept_or_reduced() -> None:
    """The lamp has lost nothing, the heater one of its supplies; the fan has a DC bus as well. So
    has the gyro, which needs both.
    """
    loss = after(AC_SOURCES % "", "tie:stuck-closed")
    assert (loss.not_known, loss.kept, loss.reduced) == (("gyro", "heater", "lamp"), ("fan",), ())
    without = after(AC_SOURCES % "", "tie:stuck-closed", "cb")
    assert (without.not_known, without.kept) == (("fan", "gyro", "heater", "lamp"), ())
    assert without.reduced == ()


@pytest.mark.parametrize(
    ("failed", "words"), [((), ("kept", "kept")), (("gen",), ("lost", "lost"))]
)
def test_a_supply_counts_as_live_only_at_the_least_volts_of_its_item(
    failed: tuple[str, ...], words: tuple[str, str]
) -> None:
    """On the battery's 24 V what needs 24 V works; what needs a millivolt more does not."""
    net = """
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [main]
    feeders: [gen > main, bat > main]
    equipment:
      radio: {min-volts: 24, supplies: [{bus: main}]}
      pump: {min-volts: 24.001, supplies: [{bus: main}]}
      fan: {min-volts: 24.001, needs: all, supplies: [{bus: main}]}
    """
    loss = after(net, *failed)
    assert "radio" in loss.kept
    assert tuple("kept" if i in loss.kept else "lost" for i in ("pump", "fan")) == words
    assert tuple(i for i in ("fan", "pump") if i in loss.lost) == loss.lost


def test_equipment_without_any_supply_does_not_work_even_if_it_needs_all() -> None:
    written = expand("""
    sources: {gen: 28}
    buses: [main]
    feeders: [gen > main]
    equipment: {radio: {needs: all, supplies: [{bus: main, fitted-to: [one]}]}}
    """)
    airframes = [{"id": "one", "name": "One"}, {"id": "two", "name": "Two"}]
    catalogue = Catalogue.model_validate({**written, "airframes": airframes})
    assert after(build(catalogue, "one")).kept == ("radio",)
    assert after(build(catalogue, "two")).not_powered == ("radio",)


def test_in_the_crews_stage_only_what_the_same_acts_turn_on_with_nothing_failed_is_turned_on() -> (
    None
):
    """The switch runs the pump in any case; the flood light needs the failure besides."""
    net = """
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [main, hot]
    switches: {s: ["off", "on"]}
    devices:
      k: {kind: relay, closes-when: {switches: {s: "on"}}}
      auto: {kind: relay, closes-when: {switches: {s: "on"}, dead: [main]}}
    feeders: [gen > main, bat > hot]
    equipment:
      radio: main
      pump: {supplies: [{bus: hot, through: [k]}]}
      flood: {supplies: [{bus: hot, through: [auto]}]}
    """
    loss = after(net, "gen", then=Then(switches={"s": "on"}))
    assert (loss.turned_on, loss.comes_on, loss.lost) == (("pump",), ("flood",), ("radio",))


def test_in_the_crews_stage_the_words_compare_with_the_condition() -> None:
    """What the failure took and the crew brings back is kept: it does not come on."""
    net = """
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [main, hot]
    switches: {s: ["off", "on"]}
    devices: {k: {kind: relay, closes-when: {switches: {s: "on"}}}}
    feeders: [gen > main, bat > hot, hot > k > main]
    equipment: {radio: main}
    """
    assert after(net, "gen").lost == ("radio",)
    loss = after(net, "gen", then=Then(switches={"s": "on"}))
    assert (loss.kept, loss.turned_on, loss.comes_on) == (("radio",), (), ())


def test_what_worked_until_a_reset_that_did_not_hold_is_lost_and_not_turned_off() -> None:
    """Reset, the generator closes its contactor onto the short and the tie with it."""
    net = """
    sources: {g-1: 28, g-2: 28}
    buses: [spur, main]
    switches: {s: ["off", "on"]}
    devices:
      k: {kind: contactor, closes-when: {live: [g-1]}}
      tie: {kind: contactor, closes-when: {closed: [k], switches: {s: "on"}}}
    feeders: [g-1 > k > spur, spur > tie > main, g-2 > main]
    equipment: {radio: main}
    """
    on = {"switches": {"s": "on"}}
    assert after(net, "spur:shorted", then=Then.model_validate(on)).kept == ("radio",)
    loss = after(net, "spur:shorted", then=Then.model_validate({**on, "reset": ["g-1"]}))
    assert loss.stalled == ("g-1", "g-2")
    assert (loss.lost, loss.shed) == (("radio",), ())


CLOSED_ONTO_A_SHORT = """
sources: {g-1: 28, g-2: 28, bat: {kind: battery, volts: 24}}
buses: [left, right, spur]
switches: {s: ["off", "on"]}
devices:
  k-1: {kind: contactor, closes-when: {live: [g-1]}}
  k-2: {kind: contactor, closes-when: {live: [g-2]}}
  tie: {kind: contactor, closes-when: {switches: {s: "on"}}}
  untied: {kind: relay, closes-when: {open: [tie]}}
  link: fuse-link
feeders: [g-1 > k-1 > left, g-2 > k-2 > right, bat > link > left, left > tie > right,
  left > untied > spur]
equipment:
  radio: right
  fan: left
  clock: {supplies: [{bus: left}], requires: [fan]}
  light: spur
  oven: left
functions: {air: {provided-by: [fan]}}
"""


def test_what_goes_because_the_crew_s_act_made_something_open_or_stall_is_lost() -> None:
    """The tie closes onto the shorted bus: generator 1 stalls, the battery's link blows.

    The fan goes with them, and the clock with the fan. The light is off by the tie's relay whatever
    opens: it is turned off. The crew has switched the oven off, but it could not be had back: its
    bus is dead.
    """
    then = Then(switches={"s": "on"}, shed=["oven"])
    loss = after(CLOSED_ONTO_A_SHORT, "right:shorted", then=then)
    assert (loss.stalled, loss.opened) == (("g-1", "g-2"), {"link": "blown"})
    assert (loss.lost, loss.shed) == (("clock", "fan", "oven", "radio"), ("light",))
    more = besides(network(CLOSED_ONTO_A_SHORT), loss, after(CLOSED_ONTO_A_SHORT))
    assert (more.functions_lost, more.functions_off) == (("air",), ())


def test_what_the_crew_sheds_elsewhere_is_turned_off_whatever_opens() -> None:
    """The kettle has a generator of its own: left on it would work, though another has stalled."""
    net = (
        CLOSED_ONTO_A_SHORT.replace("sources: {", "sources: {g-3: 28, ")
        .replace("buses: [", "buses: [far, ")
        .replace("feeders: [", "feeders: [g-3 > far, ")
        .replace("  oven: left", "  oven: left\n  kettle: far")
    )
    then = Then(switches={"s": "on"}, shed=["oven", "kettle"])
    loss = after(net, "right:shorted", then=then)
    assert ("oven" in loss.lost, "kettle" in loss.shed) == (True, True)


def test_what_the_crew_moves_onto_the_shorted_bus_is_turned_off_as_on_a_dead_one() -> None:
    """The act alone takes it: it would be off if the bus were dead, and nothing opened."""
    net = """
    sources: {g-1: 28, g-2: 28}
    buses: [left, right, radio-bus]
    switches: {s: [normal, alternate]}
    devices:
      normal: {kind: relay, closes-when: {switches: {s: normal}}}
      alternate: {kind: relay, closes-when: {switches: {s: alternate}}}
    feeders: [g-1 > left, g-2 > right, left > normal > radio-bus, right > alternate > radio-bus]
    equipment: {radio: radio-bus, fan: left}
    """
    for mode in ("dead", "shorted"):
        loss = after(net, f"right:{mode}", then=Then(switches={"s": "alternate"}))
        assert (loss.lost, loss.shed, loss.kept) == ((), ("radio",), ("fan",))


PROVIDERS = """
sources: {gen: 28}
buses: [left, right]
feeders: [gen > left, gen > right]
equipment: {a: left, b: right, c: right}
functions: {f: {%s}}
"""


@pytest.mark.parametrize(
    ("provided", "failed", "state"),
    [
        # A group counts as one: b and c are one provider of two, and needed together.
        ("provided-by: [a, {all: [b, c]}]", "left", "one-left"),
        ("provided-by: [a, {any: [b, c]}]", "left", "one-left"),
        ("provided-by: [{any: [a, b, c], need: 3}, {all: [b, c]}]", "left", "one-left"),
        ("provided-by: [{any: [a, b, c], need: 2}, {all: [b, c]}]", "left", "kept"),
        # At the top `any` is the list, and its need is that of the function.
        ("provided-by: {any: [a, b, c], need: 2}", "left", "one-left"),
        ("provided-by: {any: [a, b, c], need: 2}, need: 1", "left", "one-left"),
        ("provided-by: {any: [a, b, c], need: 2}", "right", "lost"),
    ],
)
def test_a_group_counts_as_one_provider_and_the_need_of_the_list_overrides_the_functions(
    provided: str, failed: str, state: str
) -> None:
    assert after(PROVIDERS % provided, failed).functions == {"f": state}


def test_a_stalled_generator_that_others_drive_is_driven_and_a_lost_battery_is_not() -> None:
    """The crew parts the short from the generators' bus; the first one stays off line."""
    net = """
    sources: {g-1: 28, g-2: 28, bat: {kind: battery, volts: 24}}
    buses: [left, right]
    switches: {s: ["on", "off"]}
    devices:
      sw: {kind: switch, closes-when: {switches: {s: "on"}}}
      tie: {kind: relay, closes-when: {switches: {s: "off"}}}
    feeders: [g-1 > left, left > sw > right, g-2 > tie > left, bat > left]
    """
    loss = after(net, "right:shorted", "bat", then=Then(switches={"s": "off"}))
    assert loss.stalled == ("g-1",)
    assert {"g-1", "bat"} <= live(loss)
    assert loss.driven == ("g-1",)


def test_what_is_fed_from_a_bus_with_a_conflict_counts_as_working() -> None:
    """Two unlike AC sources meet at a bus; its lamp is not known, what its rectifier feeds is."""
    net = """
    sources:
      gen: 28
      inv-1: {kind: converter, volts: 115, current: ac, fed-from: {bus: main}}
      inv-2: {kind: converter, volts: 115, current: ac, fed-from: {bus: main}}
      rect: {kind: converter, volts: 28, fed-from: {bus: ac}}
    buses: [main, ac, dc]
    devices: {k: {kind: relay, closes-when: {closed: [k]}}}
    feeders: [gen > main, inv-1 > ac, inv-2 > k > ac, rect > dc]
    equipment: {lamp: ac, radio: dc}
    """
    loss = after(net, "k:stuck-closed")
    assert loss.not_known == ("lamp",)
    assert loss.kept == ("radio",)


# how it comes about


def test_what_failed_and_what_the_crew_pulled_or_reset_is_no_event() -> None:
    net = network("""
    sources: {gen: 28}
    buses: [main, spur, end, other]
    switches: {s: ["on", "off"]}
    devices:
      cb: breaker
      cb-other: breaker
      sw: {kind: switch, closes-when: {switches: {s: "on"}}}
    feeders: [gen > main, main > cb > spur, spur > sw > end, main > cb-other > other]
    """)
    failed = [("end", "shorted")]
    at_once = because(net, "flight", failed)
    assert [(e.kind, e.id, e.change) for e in at_once] == [
        ("breaker", "cb", "tripped"),
        ("bus", "spur", "dead"),
    ]
    crew = Then.model_validate({"switches": {"s": "off"}, "pulled": ["cb-other"], "reset": ["cb"]})
    acted = because(net, "flight", failed, crew)
    assert [(e.kind, e.id, e.change) for e in acted] == [
        ("bus", "other", "dead"),
        ("switch", "sw", "open"),
        ("bus", "spur", "live"),
    ]


def test_a_repeating_pass_ends_at_its_first_repetition_and_what_chatters_opens_there() -> None:
    """A relay swaps two buses on a shorted end; the third pass would only repeat the first.

    The first bus goes dead in the first pass, and is held down in the second.
    """
    net = network("""
    sources: {gen: 28, start-gen: 28}
    buses: [main, one, two, end, start]
    devices:
      r: {kind: relay, closes-when: [{live: [start]}, {live: [two]}, {closed: [r], dead: [one]}]}
      on-one: {kind: relay, closes-when: {closed: [r]}}
      off-one: {kind: relay, closes-when: {open: [r]}}
      on-two: {kind: relay, closes-when: {open: [r]}}
      off-two: {kind: relay, closes-when: {closed: [r]}}
    feeders: [gen > main, start-gen > start, main > on-one > one, one > off-one > end,
      main > on-two > two, two > off-two > end]
    conditions: {flight: {sources: [gen, start-gen], held-closed: [r, on-one, off-two]}}
    """)
    rows = because(net, "flight", [("start", "dead"), ("end", "shorted")])
    assert [(e.step, e.id, e.change) for e in rows] == [
        (1, "one", "dead"),
        (2, "off-two", "open"),
        (2, "on-one", "open"),
        (2, "r", "open"),
    ]
