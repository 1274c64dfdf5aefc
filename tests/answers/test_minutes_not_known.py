"""Minutes where amps are not known, and where batteries go flat one after the other.

Of the amp-hours three quarters count, and an ampere-hour is 60 A-min: 20 Ah are 900 A-min. By hand,
from the rule.
"""

from __future__ import annotations

import pytest

from sitegen.answers.endurance.battery_endurance import battery_endurances
from sitegen.answers.endurance.every_failure import endurances_by_scenario
from sitegen.answers.endurance.results import Endurance
from sitegen.answers.loads.source_loads import loads
from sitegen.solver.outcome import condition_states, solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from sitegen.terminal.changes_text import minutes_text
from sitegen.terminal.endurance_text import endurance_text
from tests.answers.test_battery_endurance import endurances, named
from tests.nets import network

CONFLICT = """
sources:
  gen: {volts: 28, amps: 100}
  bat: {kind: battery, volts: 24, amp-hours: 20}
  ia: {kind: converter, volts: 115, current: ac, amps: 10, fed-from: {bus: g}}
  ib: {kind: converter, volts: 115, current: ac, amps: 10, fed-from: {bus: b}}
  tru: {kind: converter, volts: 28, fed-from: {bus: acb}}
buses: {g: {}, b: {}, far: {}, aca: {current: ac}, acb: {current: ac}}
devices: {k: {kind: relay, closes-when: {dead: [ia]}}}
feeders: [gen > g, bat > b, ia > aca, ib > acb, tru > far, aca > k > acb]
equipment:
  xa: {supplies: [{bus: aca}], amps: 4}
  xb: {supplies: [{bus: acb}], amps: 4}
  lamp: {supplies: [{bus: far}], amps: 1}
  radio: {supplies: [{bus: b}], amps: 4}
"""
"""With the relay stuck closed, two inverters that are not synchronised meet."""

MEET_IDLE = """
sources:
  gen: {volts: 28, amps: 100}
  bat: {kind: battery, volts: 24, amp-hours: 20}
  ia: {kind: converter, volts: 115, current: ac, amps: 10, fed-from: {bus: g}}
  ib: {kind: converter, volts: 110, current: ac, amps: 10, fed-from: {bus: b}}
buses: {g: {}, b: {}, aca: {current: ac}, acb: {current: ac}}
devices: {k: {kind: relay, closes-when: {dead: [g], live: [b]}}}
feeders: [gen > g, bat > b, ia > aca, ib > acb, aca > k > acb]
equipment:
  xa: {supplies: [{bus: aca}], amps: 4}
  radio: {supplies: [{bus: b}], amps: 4}
"""
"""They meet where the inverter of the battery feeds nothing, and has fewer volts."""

AC_BATTERY = """
sources:
  gen: {volts: 28, current: ac}
  bat: {kind: battery, volts: 24, current: ac, amp-hours: 20}
  tru: {kind: converter, volts: 28, fed-from: {bus: m}}
buses: {m: {current: ac}, far: {}, spare: {}}
feeders: [gen > m, bat > m, tru > far]
equipment: {lamp: {supplies: [{bus: far}], amps: 1}}
"""

CIRCLE = """
sources:
  gen: 28
  bat: {kind: battery, volts: 24, amp-hours: 20}
  inv: {kind: converter, volts: 115, current: ac, amps: 10, fed-from: {bus: main}}
  tru: {kind: converter, volts: %s, amps: 40, fed-from: {bus: ac}}
buses: {main: {}, ac: {current: ac}}
devices: {line: {kind: contactor, closes-when: {live: [gen]}}}
feeders: [gen > line > main, bat > main, inv > ac, tru > main]
equipment:
  radio: {supplies: [{bus: main}], amps: 30}
  horizon: {supplies: [{bus: ac}], amps: 1}
"""
"""The inverter feeds itself, through the transformer-rectifier."""

NO_FIGURE = """
aircraft: {load-volts: 24}
sources:
  one: {kind: battery, volts: 24, amp-hours: 20}
  two: {kind: battery, volts: 24, amp-hours: 20}
  three: {kind: battery, volts: 24, amp-hours: 20, volts-range: [20, 25]}
buses: [a, b, c]
feeders: [one > a, two > b, three > c]
equipment:
  ua: {supplies: [{bus: a}]}
  ub: {supplies: [{bus: b}]}
  kb: {supplies: [{bus: b}], amps: 1}
  uc: {supplies: [{bus: c}]}
  kc: {supplies: [{bus: c}], amps: 4, load: resistive}
"""

HANDED_ON = """
sources:
  ba: {kind: battery, volts: 24, amp-hours: 8}
  bb: {kind: battery, volts: 24, amp-hours: 16}
  bc: {kind: battery, volts: 24, amp-hours: 20}
  bd: {kind: battery, volts: 24, amp-hours: 60}
buses: [z, c]
load-columns: [cruise, landing]
battery-time: {landing-column: landing}
conditions: {flight: {sources: [ba, bb, bc, bd], loads: cruise}}
devices:
  ca: {kind: breaker, amps: 20}
  cb: {kind: breaker, amps: 20}
  cd: {kind: breaker, amps: 20}
  kx: {kind: relay, closes-when: {dead: [bb]}}
feeders: [ba > ca > z, bb > cb > z, bd > cd > z, bc > c]
equipment:
  heater: {supplies: [{bus: z}], amps: {cruise: %s, landing: 30}}
  radio: {supplies: [{bus: c}], amps: 5}
  fan: {supplies: [{bus: c, through: [kx]}], amps: 5}
"""
"""Three share a heater, each through 20 A that must open at 27.6 A. The second changes what `bc`
gives when it is flat, the first does not."""

LATCH = """
sources:
  ba: {kind: battery, volts: 24, amp-hours: 10}
  bb: {kind: battery, volts: 24, amp-hours: %s}
  bc: {kind: battery, volts: 24, amp-hours: 20}
buses: [a, b, c, d]
devices:
  latch: {kind: relay, closes-when: [{dead: [a], live: [b]}, {closed: [latch], live: [c]}]}
feeders: [ba > a, bb > b, bc > c, c > latch > d]
equipment:
  xa: {supplies: [{bus: a}], amps: 20}
  xb: {supplies: [{bus: b}], amps: 20}
  xc: {supplies: [{bus: c}], amps: 1}
  xd: {supplies: [{bus: d}], amps: 20}
"""

BLOWN = """
sources:
  ba: {kind: battery, volts: 24, amp-hours: 10}
  bb: {kind: battery, volts: 24, amp-hours: 20}
  bc: {kind: battery, volts: 24, amp-hours: 40}
buses: [a, b, c, y, z]
devices:
  link: {kind: fuse-link, amps: 100}
  k: {kind: relay, closes-when: {dead: [a], live: [b]}}
feeders: [ba > a, bb > b, bc > c, c > link > y, y > k > z]
equipment:
  xa: {supplies: [{bus: a}], amps: 20}
  xb: {supplies: [{bus: b}], amps: 20}
  xc: {supplies: [{bus: c}], amps: 10}
  xy: {supplies: [{bus: y}], amps: 20}
"""

NETS = {
    "inverters meet": CONFLICT,
    "inverters meet where one is idle": MEET_IDLE,
    "a battery meets a generator": AC_BATTERY,
    "a circle at the battery's volts": CIRCLE % 24,
    "a circle above them": CIRCLE % 28,
    "no figure": NO_FIGURE,
    "overloaded later": HANDED_ON % 30,
    "overloaded in a later landing": HANDED_ON % 20,
    "a latch": LATCH % 20,
    "two at the same minute": LATCH % 10,
    "a blown link": BLOWN,
}
"""Compared with the browser's figures too."""


def said(text: str, *failed: str, battery: str = "bat") -> str:
    """What the command says of a battery."""
    net = network(text)
    return "\n".join(endurance_text(net, endurances(net, *failed)[battery]))


def test_what_draws_where_ac_sources_conflict_is_not_known() -> None:
    """900 A-min at the radio's 4 A are 225 min, with nothing of what the inverters divide."""
    found = endurances(network(CONFLICT), "k:stuck-closed")["bat"]
    assert (found.total, found.cruise.amps) == (225, 4)
    assert found.unknown == ("ib", "lamp", "xa", "xb")
    assert found.verdict == "not-known"
    text = said(CONFLICT, "k:stuck-closed")
    assert "bat: at most 225 min" in text
    assert "4.0 A or more" in text
    assert minutes_text(found) == "at most 225 min"
    # Each inverter by itself carries what is known.
    assert not endurances(network(CONFLICT))["bat"].unknown


def test_a_battery_may_carry_where_it_conflicts_with_what_has_more_volts() -> None:
    assert endurances(network(AC_BATTERY))["bat"].unknown == ("lamp",)


def test_what_feeds_itself_leaves_the_battery_not_known_as_in_its_load() -> None:
    for volts in (24, 28):
        text = CIRCLE % volts
        found = endurances(network(text), "gen")["bat"]
        assert (found.total, found.reaches) == (None, "not-known")
        assert {"inv", "radio"} <= {*found.unknown}
        words = said(text, "gen")
        assert "bat: time not known; what draws from it is not known" in words
        assert "amps not known" in words
        assert "catalogue has no amp-hours" not in words
        assert minutes_text(found) == "not known"
        # A generator on the bus carries it.
        assert endurances(network(text)) == {}


@pytest.mark.parametrize("text", NETS.values(), ids=NETS)
def test_the_amps_of_a_battery_are_those_of_the_loads(text: str) -> None:
    net = network(text)
    scenarios = [Scenario("flight", (fault,)) for fault in net.faults]
    found = loads(solve(net, scenarios_of(scenarios)))
    for scenario, load in zip(scenarios, found, strict=True):
        for one in battery_endurances(net, "flight", scenario.faults):
            if one.at_volts is None:
                assert one.recognition.amps == load.sources.get(one.battery, 0)
            assert bool(one.recognition.unknown) == (one.battery in load.short_sources)


@pytest.mark.parametrize("text", NETS.values(), ids=NETS)
def test_every_failure_is_as_by_itself(text: str) -> None:
    net = network(text)
    every = endurances_by_scenario(net, net.faults, condition_states(net))
    for fault in net.faults:
        alone = battery_endurances(net, "flight", [fault])
        assert every.get(Scenario("flight", (fault,)), ()) == tuple(alone)


def test_a_shorted_diode_may_let_a_converter_feed_itself() -> None:
    text = (CIRCLE % 28).replace("devices: {", "devices: {d: diode, ")
    text = text.replace("bat > main", "bat > hot, hot > d > main").replace(
        "{main:", "{hot: {}, main:"
    )
    text = text.replace("fed-from: {bus: main}", "fed-from: {bus: hot}")
    assert not endurances(network(text), "gen")["bat"].unknown
    assert "inv" in endurances(network(text), "gen", "d:shorted")["bat"].unknown


def test_no_limit_and_hours_are_not_told_where_something_has_no_figure() -> None:
    """At 1 A the second lasts 900 min; the third, at 4 A x 25/24, 216, and 270 at 20 V."""
    net = network(NO_FIGURE)
    found = endurances(net)
    for battery in ("one", "two", "three"):
        assert not found[battery].is_known
        assert f"{battery}: time not known" in said(NO_FIGURE, battery=battery)
    assert found["one"].reaches == "not-known"
    sized = endurances(network(NO_FIGURE.replace("}]}\n", "}], amps: 0}\n")))
    assert "one" not in sized
    assert all(one.is_known for one in sized.values())
    assert "two: more than 4 hours" in "\n".join(endurance_text(net, sized["two"]))


def test_what_must_open_goes_by_all_that_are_flat() -> None:
    """The first and the second flat, `bd` carries 30 A, which opens its breaker: `bc`, on a bus of
    its own, is said to last only if it holds. With the second alone flat, `ba` would carry half.
    """
    found = endurances(network(HANDED_ON % 30))["bc"]
    assert [flat.battery for flat in found.flat_before] == ["bb"]
    assert found.all_flat_before == ("ba", "bb")
    assert found.opens_when_flat == (("cd", "bb", "must"),)
    # 20 A hold, and 30 A in the landing do not.
    landing = endurances(network(HANDED_ON % 20))["bc"]
    assert [flat.battery for flat in landing.flat_before] == ["bb"]
    assert (landing.opens_when_flat, landing.opens_in_landing) == ((), ("cd",))


def test_a_flat_battery_leaves_relays_as_the_one_before_it_left_them() -> None:
    """`bc` gives 1 A for 22.5 min, until `ba` is flat. Then the relay closes, and holds itself when
    `bb` is flat: 877.5 A-min at 21 A are 41.8 min.
    """
    found = endurances(network(LATCH % 20))["bc"]
    assert float(found.total or 0) == pytest.approx(22.5 + 877.5 / 21)
    assert found.all_flat_before == ("ba", "bb")


def test_those_that_end_at_the_same_minute_go_together() -> None:
    """The relay closes with the one flat and the other not: never."""
    found = endurances(network(LATCH % 10))["bc"]
    assert (found.total, found.flat_before) == (900, ())
    assert found.flat_together == ((22.5, ("ba", "bb")),)


def test_a_link_that_has_blown_stays_so_when_another_battery_is_flat() -> None:
    """30 A for 22.5 min; then the relay puts the link on the short: the rest of 1800 A-min lasts
    112.5 min at 10 A, though the relay opens when `bb` is flat.
    """
    assert endurances(network(BLOWN), "z:shorted")["bc"].total == 135


SAME_AMPS = """
sources: {gen: 28, bat: {kind: battery, volts: 24, amp-hours: 20}}
buses: [g, d]
devices:
  k: {kind: relay, closes-when: {dead: [g]}}
  s: {kind: switch, closes-when: {switches: {pump: "on"}}}
feeders: [gen > g, bat > d]
switches: {pump: ["off", "on"]}
equipment:
  heater: {supplies: [{bus: d}], amps: 10}
  radio: {supplies: [{bus: d, through: [k]}]}
  fuel: {supplies: [{bus: d, through: [s]}], amps: 2}
"""


def test_it_does_not_last_the_same_where_more_is_not_known() -> None:
    net = network(SAME_AMPS)
    before, now = endurances(net)["bat"], endurances(net, "gen")["bat"]
    assert (before.total, now.total) == (90, 90)
    assert before.lasts_the_same(before)
    assert now.lasts_the_same(now)
    assert not now.lasts_the_same(before)


def shed(*items: str, pump: str = "off") -> Endurance:
    """With what the crew sheds, and how it sets the pump."""
    net = network(SAME_AMPS)
    failure = named("gen", then={"shed": list(items), "switches": {"pump": pump}})
    [found] = battery_endurances(net, "flight", [("gen", "lost")], failure)
    return found


def test_shedding_what_has_no_figure_changes_something() -> None:
    found = shed("radio")
    assert found.recognition.amps == found.cruise.amps == 10
    assert not found.acts_change_nothing
    text = "\n".join(endurance_text(network(SAME_AMPS), found))
    assert "5 min before shedding at 10.0 A or more" in text
    assert "75 min after shedding at 10.0 A\n" in text
    assert shed().acts_change_nothing
    # What is turned on does not hide that something is shed.
    assert shed(pump="on").acts_add_load
    assert not shed("radio", pump="on").acts_add_load
