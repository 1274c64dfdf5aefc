"""Sentences of the semantics about figures and about the order of events: a test each.

More about each is in the file of its topic: loads in `test_loads.py`, endurance in
`test_battery_endurance.py`, meters in `test_healthy_meters.py`, voltage drop in
`test_voltage_drop.py` and `test_start_sag.py`, current bounds in `test_current_bounds.py`, overload
in `test_overload.py`, the order of events in `test_because_of_overload.py` and
`test_what_follows_a_fault.py`. What a failure does without figures is in
`tests/solver/test_sentences.py`.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from sitegen.answers.because import because
from sitegen.answers.drop import Loss, drop, fault
from sitegen.answers.endurance.battery_endurance import battery_endurances
from sitegen.answers.loads.carried import CurrentBounds
from sitegen.answers.loads.current_bounds import current_bounds
from sitegen.answers.loads.load_table import load_table
from sitegen.answers.loads.source_loads import Load, loads
from sitegen.answers.overload import what_is_overloaded_opens
from sitegen.answers.voltage_drop import voltage_drops
from sitegen.catalogue.model import Failure, Then
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from sitegen.terminal.load_text import load_text
from tests.nets import after, closed, network


def load(text: str, *failed: str) -> Load:
    """The amps of a net."""
    net = network(text)
    faults = tuple(fault(net, name) for name in failed)
    return loads(solve(net, scenarios_of([Scenario("flight", faults)])))[0]


def opening(text: str, *failed: str, then: Then | None = None) -> Loss:
    """Answer 3: what is overloaded opens."""
    net = network(text)
    return drop(net, "flight", [fault(net, name) for name in failed], then, overload=True)


# loads

HALF_A_VOLT = """
sources: {gen: {volts: 28.5, amps: 100}, other: {volts: %s, amps: 100}}
buses: [main]
devices: {d: {kind: diode, drop-volts: 0.5}}
feeders: [gen > d > main, other > main]
equipment: {heater: {supplies: [{bus: main}], amps: 40}}
"""


@pytest.mark.parametrize(
    ("volts", "amps"),
    [
        (28.5, {"gen": 20, "other": 20}),  # 28 V after the diode, beside 28.5 V
        (28.501, {"gen": 0, "other": 40}),
        (27.5, {"gen": 20, "other": 20}),
        (27.499, {"gen": 40, "other": 0}),
    ],
)
def test_sources_that_offer_a_bus_volts_within_half_a_volt_of_the_highest_share_its_load(
    volts: float, amps: dict[str, int]
) -> None:
    """Half a volt counts as within; volts are those at the bus, after the diode."""
    assert load(HALF_A_VOLT % volts).sources == amps


@pytest.mark.parametrize(
    ("ratings", "amps"), [(("30", "10"), {"a": 30, "b": 10}), (("30", "~"), {"a": 20, "b": 20})]
)
def test_sources_share_in_proportion_to_rated_amps_or_equally_if_one_has_no_rating(
    ratings: tuple[str, str], amps: dict[str, int]
) -> None:
    net = """
    sources: {a: {volts: 28, amps: %s}, b: {volts: 28, amps: %s}}
    buses: [main]
    feeders: [a > main, b > main]
    equipment: {heater: {supplies: [{bus: main}], amps: 40}}
    """
    assert load(net % ratings).sources == amps


def test_equipment_draws_equally_from_the_live_supplies_whose_bus_shows_the_highest_volts() -> None:
    """Half a volt less is not the highest: equipment has no part in what sources share."""
    net = """
    sources: {a: 28, b: 28, c: 27.9}
    buses: [bus-a, bus-b, bus-c]
    feeders: [a > bus-a, b > bus-b, c > bus-c]
    equipment: {fan: {supplies: [{bus: bus-a}, {bus: bus-b}, {bus: bus-c}], amps: 6}}
    """
    assert load(net).sources == {"a": 3, "b": 3, "c": 0}
    assert load(net, "a", "bus-b").sources == {"b": 0, "c": 6}


OWN_FIGURES = """
sources: {a: 28, b: 28, c: 28}
buses: [left, right, far]
feeders: [a > left, b > right, c > far]
equipment:
  control: far
  pump:
    needs: all
    supplies: [{bus: left, amps: 60}, {bus: right, amps: 10}]
    requires: [control]
"""


def test_with_needs_all_each_live_supply_draws_its_own_figure() -> None:
    found = load(OWN_FIGURES)
    assert (found.sources["a"], found.sources["b"]) == (60, 10)


def test_what_has_the_supply_that_it_needs_draws_even_if_what_it_requires_is_gone() -> None:
    assert "pump" in after(OWN_FIGURES, "far").lost
    assert load(OWN_FIGURES, "far").sources["a"] == 60
    # Without one of the supplies that it needs it draws nothing from the other.
    assert load(OWN_FIGURES, "right").sources["a"] == 0


FOLLOWING = """
sources: {gen: 28, bat: {kind: battery, volts: 24}, alt: {volts: 100, current: ac}}
buses: {main: {}, ac: {current: ac}}
feeders: [gen > main, bat > main, alt > ac]
equipment:
  radar: {supplies: [{bus: main}], amps: 60, load: constant-power}
  heater: {supplies: [{bus: main}], amps: 60, load: resistive}
  lamp: {supplies: [{bus: main}], amps: 60}
  window: {supplies: [{bus: ac}], amps: 60, load: resistive}
"""


def test_amps_on_dc_buses_follow_the_load_and_those_on_ac_buses_are_as_written() -> None:
    """At 24 V, with figures taken at 28 V: 28/24 of constant power, 24/28 through a resistance."""
    found = load(FOLLOWING + "aircraft: {load-volts: 28}", "gen").drawn
    assert (found["radar"], found["lamp"]) == (70, 60)
    assert found["heater"] == Fraction(60 * 24, 28)
    assert found["window"] == 60


def test_without_load_volts_amps_are_those_of_whatever_volts_the_bus_has() -> None:
    found = load(FOLLOWING, "gen").drawn
    assert found == {"radar": 60, "heater": 60, "lamp": 60, "window": 60}


def test_what_is_not_known_is_no_number_and_never_no_load() -> None:
    """The meter of the generator that feeds an item without figures has no figure either."""
    net = """
    sources: {gen: {volts: 28, amps: 100}, idle: {volts: 28, amps: 100}}
    buses: [main, spare]
    feeders: [gen > main, idle > spare]
    equipment: {radio: main}
    indications: {meter: {kind: loadmeter, at: gen}, other: {kind: loadmeter, at: idle}}
    """
    found = load(net)
    assert found.unknown == ("radio",)
    assert found.short_sources == {"gen"}
    shown = after(net).readings
    assert (str(shown["meter"]), str(shown["other"])) == ("load", "0 %")


def test_a_converter_takes_output_volts_times_amps_over_efficiency_times_input_volts() -> None:
    net = """
    sources:
      gen: 28
      inv: {kind: converter, volts: 112, current: ac, efficiency: 0.8, fed-from: {bus: main}}
    buses: [main, ac]
    feeders: [gen > main, inv > ac]
    equipment: {gyro: {supplies: [{bus: ac}], amps: 2}}
    """
    assert load(net).sources == {"gen": 10, "inv": 2}


# current bounds


def test_a_feeder_may_carry_a_load_if_a_way_that_visits_no_node_twice_uses_it() -> None:
    """The spur's feeder is on no such way: it would be passed there and back."""
    net = network("""
    sources: {gen: 28}
    buses: [main, mid, spur, end]
    devices: {a: fuse-link, b: fuse-link, c: fuse-link, to-spur: fuse-link, last: fuse-link}
    feeders: [gen > main, main > a > mid, main > b > mid, mid > to-spur > spur,
      mid > last > end]
    equipment: {heater: {supplies: [{bus: end}], amps: 30}}
    """)
    [found] = loads(solve(net, scenarios_of([Scenario("flight")])))
    bounds = current_bounds(net, found.amps)
    assert bounds["a"] == bounds["b"] == CurrentBounds(0, 30)
    assert bounds["last"] == CurrentBounds(30, 30)
    assert bounds["to-spur"] == CurrentBounds(0, 0)


def test_amps_in_opposite_directions_subtract() -> None:
    """Of 60 A on the left and 20 A on the right each generator gives half; 20 A are left over."""
    net = network("""
    sources: {g-1: 28, g-2: 28}
    buses: [left, right]
    devices: {tie: fuse-link}
    feeders: [g-1 > left, g-2 > right, left > tie > right]
    equipment:
      heater: {supplies: [{bus: left}], amps: 60}
      pump: {supplies: [{bus: right}], amps: 20}
    """)
    [found] = loads(solve(net, scenarios_of([Scenario("flight")])))
    assert current_bounds(net, found.amps)["tie"] == CurrentBounds(20, 20)


# overload

TIE = """
sources: {g-1: 28, g-2: 28}
buses: [left, right]
devices: {tie: {kind: %s, amps: 10%s}}
feeders: [g-1 > left, left > tie > right, g-2 > right]
equipment:
  heater: {supplies: [{bus: right}], amps: %s}
"""
"""With nothing failed half of the amps pass the tie; with one generator lost, all."""


@pytest.mark.parametrize(
    ("amps", "word"),
    # Of 10 A: it may from 11.5 A, and must from 13.8 A; compared to a hundredth of an ampere.
    [(11.494, None), (11.495, "may"), (13.794, "may"), (13.795, "must")],
)
def test_a_breaker_may_open_from_1_15_and_must_from_1_38_of_its_rating(
    amps: float, word: str | None
) -> None:
    loss = after(TIE % ("breaker", "", amps), "g-2")
    assert loss.overloaded.get("tie") == word
    opened = {"tie": "tripped"} if word == "must" else {}
    assert opening(TIE % ("breaker", "", amps), "g-2").opened == opened


@pytest.mark.parametrize("kind", ["fuse", "fuse-link", "contactor", "relay"])
def test_what_is_no_breaker_opens_by_overload_only_with_its_own_opens_at(kind: str) -> None:
    """A contactor or relay need not be protective for it."""
    coil = ", closes-when: {live: [g-1]}" if kind in ("contactor", "relay") else ""
    own = ", opens-at: {may: 1, must: 1.5}"
    assert after(TIE % (kind, coil, 20), "g-2").overloaded == {}
    assert opening(TIE % (kind, coil, 20), "g-2").opened == {}
    assert after(TIE % (kind, coil + own, 14.9), "g-2").overloaded == {"tie": "may"}
    assert opening(TIE % (kind, coil + own, 15), "g-2").opened.keys() == {"tie"}


def test_what_is_stuck_closed_does_not_open_by_overload_and_is_not_overloaded() -> None:
    net = TIE % ("breaker", "", 20)
    assert opening(net, "g-2").opened == {"tie": "tripped"}
    assert after(net, "g-2", "tie:stuck-closed").overloaded == {}
    assert opening(net, "g-2", "tie:stuck-closed").opened == {}


IN_SERIES = """
sources: {g-1: 28, g-2: 28}
buses: [left, mid, right]
devices: {first: {kind: breaker, amps: %s}, second: {kind: breaker, amps: %s}}
feeders: [g-1 > left, left > first > mid, mid > second > right, g-2 > right]
equipment: {heater: {supplies: [{bus: right}], amps: 100}}
"""


@pytest.mark.parametrize(
    ("ratings", "opened"),
    [
        ((50, 40), {"second"}),
        ((40, 50), {"first"}),
        ((50, 50.04), {"first", "second"}),  # within 0.1 % of the worst ratio
        ((50, 50.06), {"first"}),
    ],
)
def test_the_one_furthest_over_its_limit_opens_and_those_within_a_thousandth_with_it(
    ratings: tuple[float, float], opened: set[str]
) -> None:
    assert after(IN_SERIES % ratings, "g-2").overloaded == {"first": "must", "second": "must"}
    assert opening(IN_SERIES % ratings, "g-2").opened.keys() == opened


def test_a_device_in_several_feeders_counts_at_its_worst() -> None:
    """A relay of two poles: one carries 5 A, the other 20 A, and it may open from 16 A."""
    net = """
    sources: {g-1: 28, g-2: 28}
    buses: [main, light, heavy]
    devices:
      k: {kind: relay, amps: 10, opens-at: {may: 1.6, must: 2.1}, closes-when: {live: [g-1]}}
    feeders: [g-1 > main, main > k > light, main > k > heavy, g-2 > heavy]
    equipment:
      lamp: {supplies: [{bus: light}], amps: 5}
      heater: {supplies: [{bus: heavy}], amps: 20}
    """
    assert after(net, "g-2").overloaded == {"k": "may"}


def test_what_is_in_supplies_or_feeds_a_converter_does_not_open_by_overload() -> None:
    """Only feeders are judged: the supply's breaker carries 50 A, the inverter's 20 A."""
    net = """
    sources:
      g-1: 28
      g-2: 28
      inv: {kind: converter, volts: 112, current: ac, efficiency: 1,
        fed-from: [{bus: main, through: [cb-inv]}]}
    buses: [main, ac]
    devices:
      cb-inv: {kind: breaker, amps: 5}
      cb-heater: {kind: breaker, amps: 5}
      auto: {kind: relay, closes-when: {dead: [g-2]}}
      heat: {kind: relay, closes-when: {dead: [g-2]}}
    feeders: [g-1 > main, inv > ac]
    equipment:
      gyro: {supplies: [{bus: ac, through: [auto]}], amps: 5}
      heater: {supplies: [{bus: main, through: [cb-heater, heat]}], amps: 50}
    """
    loss = opening(net, "g-2")
    assert (loss.comes_on, loss.overloaded, loss.opened) == (("gyro", "heater"), {}, {})


@pytest.mark.parametrize(
    ("known", "words"), [(13, {"tie": "may"}), (14, {"tie": "must"}), (11, {})]
)
def test_unknown_amps_count_0_in_the_least_and_make_the_most_not_known(
    known: int, words: dict[str, str]
) -> None:
    """What is not known could be anything: only what is known counts for `may` and `must`."""
    net = (TIE % ("breaker", "", known)) + "  radio: {supplies: [{bus: right}]}\n"
    assert after(net, "g-2").overloaded == words


def test_where_the_most_is_not_known_a_device_may_open_only_by_its_least() -> None:
    """Of two ways neither must carry anything; with a figure missing the most has no number."""
    net = """
    sources: {g-1: 28, g-2: 28}
    buses: [left, right]
    devices: {cb-1: {kind: breaker, amps: 10}, cb-2: {kind: breaker, amps: 10}}
    feeders: [g-1 > left, left > cb-1 > right, left > cb-2 > right, g-2 > right]
    equipment:
      heater: {supplies: [{bus: right}], amps: 20}
    """
    assert after(net, "g-2").overloaded == {"cb-1": "may", "cb-2": "may"}
    with_unknown = net + "  radio: {supplies: [{bus: right}]}\n"
    assert after(with_unknown, "g-2").overloaded == {}


def test_what_is_over_its_limit_with_nothing_failed_is_left_out_unless_it_gets_worse() -> None:
    """13 A through a breaker of 10 A: it may open; with more, it must."""
    net = """
    sources: {g-1: 28, g-2: 28}
    buses: [left, right, other]
    devices: {tie: {kind: breaker, amps: 10}, more: {kind: relay, closes-when: {dead: [g-2]}}}
    feeders: [g-1 > left, left > tie > right, g-2 > other]
    equipment:
      heater: {supplies: [{bus: right}], amps: 13}
      pump: {supplies: [{bus: right, through: [more]}], amps: %s}
    """
    assert after(net % 1).overloaded == {}
    assert after(net % 0.1, "g-2").overloaded == {}
    assert after(net % 1, "g-2").overloaded == {"tie": "must"}


def test_in_answer_3_the_crews_stage_starts_from_the_failures_answer_3() -> None:
    """The tie has opened; turning the heater off afterwards does not close it."""
    net = TIE % ("breaker", "", 20)
    off = Then(shed=["heater"])
    assert after(net, "g-2", then=off).opened == {}
    assert opening(net, "g-2", then=off).opened == {"tie": "tripped"}


def test_in_answer_3_overload_is_judged_once_after_the_resets() -> None:
    """Before the reset one generator feeds the heater, through the breaker; after it both do."""
    net = """
    sources: {g-1: 28, g-2: 28}
    buses: [left, main, spur]
    switches: {s: ["on", "off"]}
    devices:
      cb: {kind: breaker, amps: 60}
      sw: {kind: switch, closes-when: {switches: {s: "on"}}}
      k: {kind: contactor, closes-when: {switches: {s: "off"}}}
      heat: {kind: relay, closes-when: {switches: {s: "off"}}}
    feeders: [g-1 > left, left > cb > main, g-2 > sw > spur, g-2 > k > main]
    equipment: {heater: {supplies: [{bus: main, through: [heat]}], amps: 100}}
    """
    made = network(net)
    at_once = solve(made, scenarios_of([Scenario("flight", (("spur", "shorted"),))]))

    def opened(*reset: str) -> set[str]:
        crew = Then.model_validate({"switches": {"s": "off"}, "reset": list(reset)})
        found = what_is_overloaded_opens(at_once, crew).after.steady.opened
        return {device for device, mask in found.items() if mask}

    assert opened("g-2") == set()
    assert opened() == {"cb"}


def test_a_source_above_its_rating_is_told_and_does_not_open() -> None:
    net = """
    sources: {g-1: {volts: 28, amps: 50, amps-5min: 70}, g-2: {volts: 28, amps: 50}}
    buses: [main]
    feeders: [g-1 > main, g-2 > main]
    equipment: {heater: {supplies: [{bus: main}], amps: 65}}
    """
    loss = after(net, "g-2")
    assert loss.over_rating["g-1"].percent == 130
    assert loss.over_rating["g-1"].allowed_for == "5 minutes"
    assert (opening(net, "g-2").opened, opening(net, "g-2").lost) == ({}, ())


# endurance

SAGGING = """
sources: {bat: {kind: battery, volts: 24, amp-hours: 20, usable: 1, volts-range: [20, 25]}}
buses: [main]
devices: {k: {kind: relay, closes-when: {volts-above: {main: 22}}}}
feeders: [bat > main]
equipment: {radio: {supplies: [{bus: main%s}], amps: 10, load: %s}}
aircraft: {load-volts: 25}
"""


@pytest.mark.parametrize(
    ("load", "total", "up_to"), [("constant-power", 96, 120), ("resistive", 120, 150)]
)
def test_with_a_volts_range_the_time_is_a_range_judged_by_its_lower_end(
    load: str, total: int, up_to: int
) -> None:
    """1,200 A-min: 10 A at the top; at the bottom 12.5 A of constant power, or 8 A."""
    [endurance] = battery_endurances(network(SAGGING % ("", load)), "flight", ())
    assert (endurance.total, endurance.up_to) == (total, up_to)


def test_at_the_ends_of_a_volts_range_no_switching_device_moves() -> None:
    """At 20 V the relay would open, and the battery last without limit."""
    [endurance] = battery_endurances(
        network(SAGGING % (", through: [k]", "constant-power")), "flight", ()
    )
    assert (endurance.total, endurance.up_to) == (96, 120)


def test_what_has_opened_stays_open_when_a_battery_is_flat() -> None:
    """The crew has parted the short, but the breaker that tripped on it carries nothing."""
    net = """
    sources:
      small: {kind: battery, volts: 24, amp-hours: 1, usable: 1}
      large: {kind: battery, volts: 24, amp-hours: 20, usable: 1}
    buses: [one, two, spur, end]
    switches: {s: ["on", "off"]}
    devices:
      cb: breaker
      k: {kind: relay, closes-when: {dead: [small]}}
      sw: {kind: switch, closes-when: {switches: {s: "on"}}}
    feeders: [small > one, large > two, two > cb > spur, spur > k > one, spur > sw > end]
    equipment: {lamp: {supplies: [{bus: one}], amps: 6}, radio: {supplies: [{bus: two}], amps: 6}}
    """

    def flat_before_the_large_one(*reset: str) -> list[str]:
        crew = {"switches": {"s": "off"}, "reset": list(reset)}
        written = {"id": "short", "name": "Short", "failed": ["end:shorted"], "then": crew}
        failure = Failure.model_validate(written)
        found = battery_endurances(network(net), "flight", (("end", "shorted"),), failure)
        return [flat.battery for e in found if e.battery == "large" for flat in e.flat_before]

    assert flat_before_the_large_one() == []
    assert flat_before_the_large_one("cb") == ["small"]


def test_what_chatters_stays_open_when_a_battery_is_flat() -> None:
    """The relay that chatters while both are up would close for good when one is flat."""
    net = """
    sources:
      small: {kind: battery, volts: 24, amp-hours: 1, usable: 1}
      large: {kind: battery, volts: 24, amp-hours: 20, usable: 1}
    buses: [one, two, three]
    devices:
      cb: breaker
      k: {kind: relay, closes-when: [{dead: [three]}, {dead: [one]}]}
    feeders: [small > one, large > two, two > k > three, two > cb > three]
    equipment:
      lamp: {supplies: [{bus: one}], amps: 6}
      radio: {supplies: [{bus: two}], amps: 6}
      fan: {supplies: [{bus: three}], amps: 6}
    """
    assert after(net, "cb").chatter == ("k",)
    found = {e.battery: e for e in battery_endurances(network(net), "flight", (("cb", "open"),))}
    assert found["large"].total == Fraction(1200, 6)


# meters


def test_a_sharing_loadmeter_a_battery_and_its_charge_have_the_bands_of_a_healthy_aircraft() -> (
    None
):
    net = """
    sources:
      g-1: {volts: 28, amps: 200}
      g-2: {volts: 28, amps: 200}
      bat: {kind: battery, volts: 24, volts-range: [22, 25.2], charge-amps: [0, 60]}
    buses: [main]
    devices: {shunt: shunt}
    feeders: [g-1 > main, g-2 > main, bat > shunt > main]
    equipment: {heater: {supplies: [{bus: main}], amps: 200}}
    indications:
      load: {kind: loadmeter, at: g-1}
      bat-volts: {kind: voltmeter, at: bat}
      bat-amps: {kind: ammeter, at: shunt}
    conditions: {flight: {sources: [g-1, g-2, bat]}, battery: {sources: [bat]}}
    """
    shown = after(net).readings
    # A half each is 50 %, give or take 10 % of the rating, and up to 30 A more of charge.
    assert str(shown["load"]) == "40 to 75 %"
    assert str(shown["bat-amps"]) == "charging, 0 to 60 A"
    assert str(after(net, condition="battery").readings["bat-volts"]) == "22 to 25.2 V"


# voltage drop


def test_voltage_drop_is_told_and_changes_no_state() -> None:
    """100 ft of gauge 2 have 0.018 ohms (AC 43.13-1B, Table 11-9): 0.9 V are lost at 50 A."""
    net = network("""
    sources: {gen: 28}
    buses: [main]
    devices: {k: {kind: relay, closes-when: {volts-above: {main: 27.9}}}}
    feeders: [{path: gen > main, wire: 2, length: {feet: 100}}]
    equipment:
      heater: {supplies: [{bus: main}], amps: 50}
      radio: {amps: 0, min-volts: 28, supplies: [{bus: main, through: [k]}]}
    """)
    [found] = loads(solve(net, scenarios_of([Scenario("flight")])))
    assert voltage_drops(found.amps).feeders[0].volts == Fraction("0.9")
    loss = after(net)
    assert (closed(loss), loss.nodes["main"].volts) == ({"k"}, 28)
    assert loss.kept == ("heater", "radio")


# how it comes about

Row = tuple[int, str, str, str, tuple[str, ...]]


def rows(text: str, *failed: str, then: Then | None = None, dip: bool = False) -> list[Row]:
    net = network(text)
    faults = [fault(net, name) for name in failed]
    events = because(net, "flight", faults, then, dip)
    return [(e.step, e.kind, e.id, e.change, e.causes) for e in events]


CHAIN = """
sources:
  gen: 28
  standby: 28
  inv: {kind: converter, volts: 115, current: ac, fed-from: {bus: main}}
buses: [main, aft, ac]
devices:
  b-cb: breaker
  a-cb: breaker
  k: {kind: contactor, closes-when: {live: [gen]}}
  k-standby: {kind: relay, closes-when: [{open: [k]}]}
feeders: [gen > k > main, standby > k-standby > aft, main > a-cb > b-cb > aft, inv > ac]
"""


def test_a_row_is_what_is_in_another_state_at_the_end_at_the_last_step_that_changed_it() -> None:
    """Two buses and the inverter go dead and come back: no row."""
    assert rows(CHAIN, "gen") == [
        (1, "contactor", "k", "open", ("gen",)),
        (2, "relay", "k-standby", "closed", ("k",)),
    ]


def test_rows_of_one_step_have_one_number_and_are_sorted_by_kind_and_then_by_id() -> None:
    found = rows(CHAIN.replace("open: [k]", "dead: [gen], live: [gen]"), "gen")
    assert [(step, kind, name) for step, kind, name, _, _ in found] == [
        (1, "bus", "ac"),
        (1, "bus", "aft"),
        (1, "bus", "main"),
        (1, "converter", "inv"),
        (2, "contactor", "k"),
    ]


def test_steps_that_end_in_no_row_have_no_number() -> None:
    """The bus is dead, is fed by the standby for a moment, and is dead again once that locks out.

    The first of these five steps is no row's last one, nor is the third.
    """
    net = """
    sources: {gen: 28, standby: 28}
    buses: [main]
    devices:
      k: {kind: contactor, closes-when: {live: [gen]}}
      k-standby: {kind: contactor, closes-when: {open: [k, lockout]}}
      lockout: {kind: relay, closes-when: [{closed: [k-standby]}, {closed: [lockout]}]}
    feeders: [gen > k > main, standby > k-standby > main]
    conditions: {flight: {sources: [gen, standby], held-closed: [k]}}
    """
    assert [row[:4] for row in rows(net, "gen")] == [
        (1, "contactor", "k", "open"),
        (2, "relay", "lockout", "closed"),
        (3, "bus", "main", "dead"),
    ]


def test_the_cause_of_a_device_is_what_its_changed_terms_name_sorted_by_id() -> None:
    """Of two terms that become true both are named; the one that held already is not."""
    net = """
    sources: {gen: 28, hot: {kind: battery, volts: 24}}
    buses: [zulu, alpha]
    devices: {k: {kind: relay, closes-when: {dead: [zulu, alpha], live: [hot]}}}
    feeders: [gen > zulu, gen > alpha]
    """
    assert rows(net, "gen")[-1] == (2, "relay", "k", "closed", ("alpha", "zulu"))


def test_the_cause_of_what_opened_and_of_a_stalled_source_are_the_shorted_nodes() -> None:
    net = """
    sources: {gen: 28, other: 28}
    buses: [left, right, spur]
    devices: {cb: breaker}
    feeders: [gen > left, left > cb > spur, other > right]
    """
    assert rows(net, "spur:shorted", "right:shorted") == [
        (1, "breaker", "cb", "tripped", ("right", "spur")),
        (1, "generator", "other", "stalled", ("right", "spur")),
    ]


def test_the_causes_of_a_dead_bus_are_what_was_on_a_way_to_it_and_of_a_live_one_what_is_now() -> (
    None
):
    """The third breaker fed another bus. The crew's tie is the way back."""
    net = """
    sources: {gen: 28, standby: 28}
    buses: [main, aft, other]
    switches: {s: ["off", "on"]}
    devices:
      cb-1: breaker
      cb-2: breaker
      cb-3: breaker
      tie: {kind: relay, closes-when: {switches: {s: "on"}}}
    feeders: [gen > main, main > cb-1 > aft, main > cb-2 > aft, main > cb-3 > other,
      standby > tie > aft]
    """
    failed = ("cb-1", "cb-2", "cb-3")
    assert rows(net, *failed) == [
        (1, "bus", "aft", "dead", ("cb-1", "cb-2")),
        (1, "bus", "other", "dead", ("cb-3",)),
    ]
    assert rows(net, *failed, then=Then(switches={"s": "on"})) == [
        (1, "bus", "aft", "live", ("tie",)),
        (1, "relay", "tie", "closed", ("s",)),
    ]


def test_a_dip_begins_with_its_zone_then_its_rounds_and_then_what_step_1_opens() -> None:
    net = """
    sources: {gen: 28}
    buses: [main, spur, far, end]
    devices:
      fl: fuse-link
      k: {kind: contactor, closes-when: {closed: [k], live: [main]}}
      r: {kind: relay, closes-when: {closed: [k]}}
    feeders: [gen > main, main > fl > spur, main > k > far, main > r > end]
    conditions: {flight: {sources: [gen], held-closed: [k]}}
    """
    assert [row[:4] for row in rows(net, "spur:shorted", dip=True)] == [
        (1, "bus", "end", "dead"),
        (1, "bus", "far", "dead"),
        (2, "contactor", "k", "open"),
        (3, "relay", "r", "open"),
        (4, "fuse-link", "fl", "blown"),
    ]


def test_short_time_loads_together_are_no_least_of_what_is_drawn() -> None:
    """The starts of 250 and 300 A need not come together, and the lamp has no figure."""
    text = """
    sources: {bat: {kind: battery, volts: 24, amp-hours: 20}}
    buses: [main]
    feeders: [bat > main]
    equipment:
      pump: {supplies: [{bus: main}], amps: 5, peak-amps: 250}
      motor: {supplies: [{bus: main}], amps: 5, peak-amps: 300}
    """

    def said(net: str) -> str:
        return "\n".join(load_text(network(net), load_table(network(net), "flight"), ""))

    assert "short-time load up to 550.0 A" in said(text)
    lamp = text.rstrip() + "\n      lamp: {supplies: [{bus: main}]}\n"
    assert "short-time load 550.0 A with all that has a figure at once" in said(lamp)
