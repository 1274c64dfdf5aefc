"""Sentences of the semantics that no hand-worked case covers: a test each, on the smallest net."""

from __future__ import annotations

import pytest

from sitegen.answers.because import because
from sitegen.answers.drop import Loss, drop, fault, losses
from sitegen.catalogue.model import Then
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from tests.nets import after, closed, live, network

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


# chatter

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


# what works


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
