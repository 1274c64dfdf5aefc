"""What works, what is lost, reduced or kept, what is on battery, and what functions have left."""

from __future__ import annotations

import pytest

from sitegen.catalogue.model import Then
from sitegen.solver.outcome import after_the_crew, solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from tests.nets import after, network

TWO_SIDES = """
sources: {left: 28, right: 28}
buses: [l, r]
feeders: [left > l, right > r]
equipment:
  either: {supplies: [{bus: l}, {bus: r}]}
  both: {supplies: [{bus: l}, {bus: r}], needs: all}
  left-only: l
"""

# Equipment


def test_any_live_supply_will_do() -> None:
    assert "either" not in after(TWO_SIDES, "l").lost
    assert "either" not in after(TWO_SIDES, "r").lost
    assert "either" in after(TWO_SIDES, "l", "r").lost


def test_with_needs_all_every_supply_must_be_live() -> None:
    assert after(TWO_SIDES).lost == ()
    assert "both" in after(TWO_SIDES, "l").lost
    assert "both" in after(TWO_SIDES, "r").lost


def test_equipment_on_a_dead_bus_is_lost() -> None:
    assert after(TWO_SIDES, "l").lost == ("both", "left-only")


def test_equipment_whose_own_breaker_is_open_is_lost_and_nothing_else_is() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    feeders: [gen > main]
    equipment:
      radio: {supplies: [{bus: main, breaker: {name: COM, amps: 5}}]}
      horizon: {supplies: [{bus: main, fuse: {name: ATT, amps: 3}}]}
      clock: {supplies: [{bus: main}]}
    """
    assert after(net, "radio.breaker").lost == ("radio",)
    assert after(net, "horizon.fuse").lost == ("horizon",)


def test_equipment_without_what_it_requires_does_not_work() -> None:
    net = """
    sources: {gen: 28}
    buses: [a, b, c]
    feeders: [gen > a, gen > b, gen > c]
    equipment:
      gyro: a
      horizon: {supplies: [{bus: b}], requires: [gyro]}
      autopilot: {supplies: [{bus: c}], requires: [horizon]}
    """
    assert after(net, "a").lost == ("autopilot", "gyro", "horizon")
    assert after(net, "b").lost == ("autopilot", "horizon")
    assert after(net, "c").lost == ("autopilot",)


REQUIRES_ANY = """
sources: {gen: 28}
buses: [a, b, c]
feeders: [gen > a, gen > b, gen > c]
equipment:
  left-gyro: a
  right-gyro: b
  autopilot: {supplies: [{bus: c}], requires: [{any: [left-gyro, right-gyro]}]}
"""


def test_one_working_alternative_of_a_requirement_is_enough() -> None:
    assert "autopilot" not in after(REQUIRES_ANY, "a").lost
    assert "autopilot" in after(REQUIRES_ANY, "a", "b").lost


def test_reduced_is_what_works_with_a_supply_that_it_had_gone() -> None:
    loss = after(TWO_SIDES, "l")
    assert loss.reduced == ("either",)
    assert loss.kept == ()


def test_reduced_is_what_works_with_a_required_alternative_gone() -> None:
    loss = after(REQUIRES_ANY, "a")
    assert loss.reduced == ("autopilot",)
    assert loss.lost == ("left-gyro",)
    assert loss.kept == ("right-gyro",)


def test_an_alternative_that_was_not_there_before_is_not_counted_as_gone() -> None:
    net = (
        REQUIRES_ANY
        + """
conditions: {flight: {sources: [gen]}, gyro-pulled: {sources: [gen], pulled: [cb]}}
devices: {cb: breaker}
"""
    ).replace("left-gyro: a", "left-gyro: {supplies: [{bus: a, breaker: cb}]}")
    assert after(net, "a", condition="flight").reduced == ("autopilot",)
    assert after(net, "a", condition="gyro-pulled").reduced == ()


def test_equipment_is_lost_or_reduced_or_kept_or_was_not_powered_and_never_two_of_them() -> None:
    net = network(
        TWO_SIDES
        + """
  idle: {supplies: [{bus: l, breaker: cb-off}]}
devices: {cb-off: breaker}
conditions: {flight: {sources: [left, right], pulled: [cb-off]}}
"""
    )
    for failed in ([], ["l"], ["r"], ["l", "r"]):
        loss = after(net, *failed)
        reported = [*loss.lost, *loss.reduced, *loss.kept, *loss.not_powered]
        assert sorted(reported) == sorted(net.equipment), failed


def test_what_the_condition_does_not_power_is_said_and_never_counted_as_lost() -> None:
    net = TWO_SIDES + "conditions: {flight: {sources: [right]}}"
    assert after(net).not_powered == ("both", "left-only")
    loss = after(net, "right")
    assert loss.not_powered == ("both", "left-only")
    assert loss.lost == ("either",)


STANDBY = """
sources: {gen: 28, bat: {kind: battery, volts: 24}}
buses: [main, standby]
devices: {k: {kind: relay, closes-when: {dead: [main]}}}
feeders: [gen > main, bat > k > standby]
equipment: {horizon: main, standby-horizon: standby}
functions: {attitude: {provided-by: [horizon, standby-horizon]}}
"""


def test_what_a_failure_makes_work_comes_on() -> None:
    assert after(STANDBY).not_powered == ("standby-horizon",)
    loss = after(STANDBY, "main")
    assert loss.lost == ("horizon",)
    assert (loss.kept, loss.comes_on) == ((), ("standby-horizon",))
    assert loss.not_powered == ()
    assert loss.on_battery == ("standby-horizon",)
    assert loss.functions == {"attitude": "one-left"}


def test_what_comes_on_is_not_reduced_even_if_a_supply_of_it_is_gone() -> None:
    net = STANDBY.replace(
        "standby-horizon: standby",
        "gyro: standby, standby-horizon: "
        "{supplies: [{bus: main}, {bus: standby}], requires: [gyro]}",
    )
    assert after(net).not_powered == ("gyro", "standby-horizon")
    loss = after(net, "main")
    assert (loss.reduced, loss.kept) == ((), ())
    assert loss.comes_on == ("gyro", "standby-horizon")


def test_a_supply_that_comes_to_life_makes_up_for_none_that_is_gone() -> None:
    net = STANDBY.replace("horizon: main,", "horizon: {supplies: [{bus: main}, {bus: standby}]},")
    loss = after(net, "main")
    assert loss.reduced == ("horizon",)
    assert loss.on_battery == ("horizon", "standby-horizon")


# On battery

BATTERY = """
sources:
  gen: 28
  bat: {kind: battery, volts: 24}
  shore: {kind: external-power, volts: 28}
  inv: {kind: converter, volts: 115, fed-from: {bus: main}}
buses: [main, hot, ac]
devices: {d: diode}
feeders: [gen > main, shore > main, bat > hot, hot > d > main, inv > ac]
equipment: {radio: main, clock: hot, gyro: ac, horizon: {supplies: [{bus: main}, {bus: hot}]}}
conditions: {flight: {sources: [gen, bat]}, ground: {sources: [shore, bat]}}
"""


def test_on_battery_is_what_only_batteries_feed() -> None:
    assert after(BATTERY).on_battery == ("clock",)
    assert after(BATTERY, condition="ground").on_battery == ("clock",)
    assert after(BATTERY, "gen").on_battery == ("clock", "gyro", "horizon", "radio")


def test_a_converter_fed_from_a_battery_is_battery_power() -> None:
    assert "gyro" in after(BATTERY, "gen").on_battery


def test_what_does_not_work_is_not_on_battery() -> None:
    assert after(BATTERY, "gen", "inv").on_battery == ("clock", "horizon", "radio")


def test_a_generator_that_feeds_one_of_two_live_supplies_is_enough_not_to_be_on_battery() -> None:
    assert "horizon" not in after(BATTERY).on_battery
    assert "horizon" in after(BATTERY, "main").on_battery


def test_a_generator_at_a_supply_whose_breaker_is_open_does_not_count() -> None:
    net = BATTERY.replace("[{bus: main}, {bus: hot}]", "[{bus: main, breaker: cb}, {bus: hot}]")
    net = net.replace("{d: diode}", "{d: diode, cb: breaker}")
    assert "horizon" not in after(net).on_battery
    assert "horizon" in after(net, "cb").on_battery


def test_a_generator_that_feeds_through_a_battery_s_terminals_counts() -> None:
    net = """
    sources: {gen: 24, bat: {kind: battery, volts: 28}}
    buses: [main, hot]
    feeders: [gen > main, main > bat, bat > hot]
    equipment: {clock: hot}
    """
    assert after(net).on_battery == ()
    assert after(net, "gen").on_battery == ("clock",)


def test_a_generator_that_feeds_through_a_chain_of_converters_counts() -> None:
    net = """
    sources:
      gen: 28
      bat: {kind: battery, volts: 24}
      inv: {kind: converter, volts: 115, fed-from: {bus: main}}
      tru: {kind: converter, volts: 28, fed-from: {bus: inv}}
    buses: [main, dc]
    feeders: [gen > main, bat > main, tru > dc]
    equipment: {gyro: dc}
    """
    assert after(net).on_battery == ()
    assert after(net, "gen").on_battery == ("gyro",)


def test_a_lost_converter_feeds_nothing() -> None:
    net = """
    sources:
      gen: 115
      bat: {kind: battery, volts: 24}
      tru: {kind: converter, volts: 28, fed-from: {bus: gen}}
    buses: [dc]
    feeders: [bat > dc, tru > dc]
    equipment: {radio: dc}
    """
    assert after(net).on_battery == ()
    assert after(net, "tru").on_battery == ("radio",)


# Functions


@pytest.mark.parametrize(
    ("need", "working", "state"),
    [
        (1, 3, "kept"),
        (1, 2, "kept"),
        (1, 1, "one-left"),
        (1, 0, "lost"),
        (2, 3, "kept"),
        (2, 2, "one-left"),
        (2, 1, "lost"),
        (3, 3, "one-left"),
        (3, 2, "lost"),
    ],
)
def test_a_function_is_lost_below_its_need_and_one_left_at_it(
    need: int, working: int, state: str
) -> None:
    net = f"""
    sources: {{gen: 28}}
    buses: [a, b, c]
    feeders: [gen > a, gen > b, gen > c]
    equipment: {{x: a, y: b, z: c}}
    functions: {{attitude: {{provided-by: [x, y, z], need: {need}}}}}
    """
    assert after(net, *["a", "b", "c"][working:]).functions == {"attitude": state}


def test_a_reduced_provider_still_provides() -> None:
    net = TWO_SIDES + "functions: {attitude: {provided-by: [either]}}"
    assert after(net, "l").functions == {"attitude": "one-left"}


# Devices


def test_a_breaker_that_several_supplies_share_takes_all_of_them() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    devices: {cb-strobe: breaker}
    feeders: [gen > main]
    equipment:
      left-strobe: {supplies: [{bus: main, breaker: cb-strobe}]}
      right-strobe: {supplies: [{bus: main, breaker: cb-strobe}]}
      radio: main
    conditions: {flight: {sources: [gen]}, pulled: {sources: [gen], pulled: [cb-strobe]}}
    """
    assert after(net, "cb-strobe").lost == ("left-strobe", "right-strobe")
    assert after(net, condition="pulled").not_powered == ("left-strobe", "right-strobe")


def test_a_breaker_written_in_place_is_a_component_that_can_fail() -> None:
    net = network(
        """
    sources: {gen: 28}
    equipment:
      one: {supplies: [{bus: gen, breaker: {name: ONE, amps: 5}}]}
      two:
        supplies: [{bus: gen, breaker: {name: A, amps: 5}}, {bus: gen, fuse: {name: B, amps: 3}}]
      named: {supplies: [{bus: gen, breaker: {id: cb-named, name: NAMED, amps: 5}}]}
    """
    )
    written = ["one.breaker", "two.breaker-1", "two.fuse-2", "cb-named"]
    assert [c for c in net.components if c != "gen"] == written
    assert {(c, "open") for c in written} < set(net.faults)
    assert net.components["two.fuse-2"].kind == "fuse"
    assert after(net, "two.breaker-1").reduced == ("two",)


def test_the_poles_of_a_contactor_open_and_close_together() -> None:
    net = """
    sources: {gen: 28}
    buses: [a, b]
    devices: {k: {kind: contactor, closes-when: {live: [gen]}}}
    feeders: [gen > k > a, gen > k > b]
    equipment: {x: a, y: b, z: {supplies: [{bus: gen, through: [k]}]}, w: gen}
    """
    assert after(net).lost == ()
    assert after(net, "k").lost == ("x", "y", "z")


# What the crew does


def test_what_the_crew_turns_off_is_shed_and_not_lost() -> None:
    loss = after(REQUIRES_ANY, "a", then=Then(shed=["right-gyro"]))
    # The autopilot still worked when the failure had come: what the crew turned off has stopped it.
    assert loss.shed == ("autopilot", "right-gyro")
    assert loss.lost == ("left-gyro",)
    assert "right-gyro" not in (*loss.kept, *loss.reduced, *loss.not_powered, *loss.on_battery)


def test_what_never_worked_is_not_powered_and_cannot_be_shed() -> None:
    net = TWO_SIDES + "conditions: {flight: {sources: [right]}}"
    loss = after(net, then=Then(shed=["left-only"]))
    assert loss.shed == ()
    assert loss.not_powered == ("both", "left-only")


def test_the_crew_sets_switches_and_pulls_breakers() -> None:
    net = """
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [main, essential]
    devices:
      cb: breaker
      tie: {kind: contactor, closes-when: {switches: {transfer: emergency}}}
    switches: {transfer: [normal, emergency]}
    feeders: [gen > cb > main, main > essential, bat > tie > essential]
    equipment: {radio: essential}
    """
    assert after(net, "gen").lost == ("radio",)
    loss = after(net, "gen", then=Then(switches={"transfer": "emergency"}))
    assert loss.lost == ()
    assert loss.on_battery == ("radio",)
    loss = after(net, then=Then(pulled=["cb"]))
    assert (loss.lost, loss.shed) == ((), ("radio",))


def test_what_a_failure_has_taken_stays_lost_though_the_crew_turns_it_off_too() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    devices: {cb: breaker, s: {kind: switch, closes-when: {switches: {fan-switch: "on"}}}}
    switches: {fan-switch: ["on", "off"]}
    feeders: [gen > cb > main]
    equipment: {radio: main, fan: {supplies: [{bus: gen, through: [s]}]}}
    """
    loss = after(net, "cb", then=Then(switches={"fan-switch": "off"}, shed=["radio"]))
    assert (loss.lost, loss.shed) == (("radio",), ("fan",))


def test_what_the_crew_s_transfer_would_bring_back_but_for_its_own_switch_is_turned_off() -> None:
    net = """
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [main]
    devices: {tie: {kind: contactor, closes-when: {switches: {transfer: emergency}}}}
    switches: {transfer: [normal, emergency]}
    feeders: [gen > main, bat > tie > main]
    equipment: {radio: main, oven: main}
    """
    loss = after(net, "gen", then=Then(switches={"transfer": "emergency"}, shed=["oven"]))
    assert (loss.lost, loss.shed, loss.kept) == ((), ("oven",), ("radio",))


def test_of_several_crews_each_has_turned_on_what_its_own_acts_turn_on() -> None:
    net = network(
        """
        sources: {gen: 28}
        buses: [main]
        devices: {relay: {kind: relay, closes-when: {switches: {fan-switch: "on"}}}}
        switches: {fan-switch: ["off", "on"]}
        feeders: [gen > main]
        equipment: {fan: {supplies: [{bus: main, through: [relay]}]}}
        """
    )
    scenarios = scenarios_of([Scenario("flight"), Scenario("flight", (("relay", "stuck-closed"),))])
    crews = [Then(switches={"fan-switch": "on"}), Then()]
    outcome = after_the_crew(solve(net, scenarios), crews)
    assert outcome.after.works["fan"] == 0b11
    # In the second the relay that failed has done it.
    assert outcome.turned_on["fan"] == 0b01
