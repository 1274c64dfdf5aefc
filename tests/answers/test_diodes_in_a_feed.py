"""A converter has at its input what the sound diodes in its feed leave."""

from __future__ import annotations

import pytest

from sitegen.answers.loads.carried import CurrentBounds
from sitegen.answers.loads.converter_loops import converter_loops
from sitegen.answers.loads.possible_amps import possible_amps
from sitegen.answers.loads.state_amps import NO_AMPS
from sitegen.answers.overload_screen import may_have_to_open
from sitegen.quantities import Fraction
from sitegen.solver.outcome import condition_states, solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from tests import nets
from tests.answers.test_battery_endurance import endurances
from tests.answers.test_current_bounds import amps
from tests.answers.test_endurance_every_failure import agree
from tests.answers.test_healthy_meters import shows
from tests.answers.test_loads import load
from tests.answers.test_voltage_drop import drops

FED = """
sources:
  gen: 28
  bat: {kind: battery, volts: 24, amp-hours: 20, usable: 0.75}
  inv: {kind: converter, volts: 115, current: ac, efficiency: 0.8,
    fed-from: {bus: ess, through: [d-1, d-2]}}
buses: {main: {}, ess: {}, ac: {current: ac}}
devices: {link: {kind: fuse-link, amps: 25, opens-at: {may: 1, must: 1.01}}, d-1: diode, d-2: diode}
feeders: [gen > main, bat > main, main > link > ess, inv > ac]
equipment: {gyro: {supplies: [{bus: ac}], amps: 4}}
"""
IN_THE_FEEDER = FED.replace("through: [d-1, d-2]", "through: []").replace(
    "link > ess", "link > d-1 > d-2 > ess"
)


@pytest.mark.parametrize("net", [FED, IN_THE_FEEDER])
def test_diodes_in_a_converters_feed_count_as_those_in_a_feeder_do(net: str) -> None:
    """460 VA / (0.8 x 22.6 V) = 25.44 A: the link must open at 25.25 A, and the battery lasts 15 Ah
    x 60 / 25.44 A = 35.4 min. Without the drops it would be 23.96 A, and 37.6 min.
    """
    taken = 460 / (Fraction("0.8") * Fraction("22.6"))
    assert load(net, "gen").sources["bat"] == taken
    assert nets.after(net, "gen").overloaded == {"link": "must"}
    assert endurances(nets.network(net), "gen")["bat"].total == 900 / taken


def test_what_leaves_scenarios_out_knows_the_diodes_of_a_feed() -> None:
    """On the battery 25.44 A pass the link and leave the battery, and not 23.96 A."""
    net = nets.network(FED)
    outcome = solve(net, scenarios_of([Scenario("flight", (("gen", "lost"),))]))
    assert may_have_to_open(outcome, {"link": Fraction("25.25")}) == 1
    assert possible_amps(outcome.after, "bat", Fraction(25), Fraction(26)) == 1


def test_a_converter_may_feed_itself_only_where_a_diode_has_shorted() -> None:
    """28.2 V less 0.7 V are less than the other 28 V; without the drop they are more."""
    net = nets.network("""
    sources:
      gen: 28
      up: {kind: converter, volts: 28.2, fed-from: [{bus: main, through: [d]}, {bus: other}]}
    buses: [main, other]
    devices: {d: diode}
    feeders: [gen > other, up > main]
    """)
    loops = converter_loops(net, condition_states(net))
    assert [(loop.converter, loop.failed) for loop in loops] == [("up", (("d", "shorted"),))]


def test_a_shorted_diode_in_a_feed_drops_nothing() -> None:
    """460 VA / (0.8 x 23.3 V) = 24.68 A, 36.5 min; of all failures at once the same."""
    net = nets.network(FED)
    taken = 460 / (Fraction("0.8") * Fraction("23.3"))
    assert load(FED, "gen", "d-1:shorted").sources["bat"] == taken
    assert endurances(net, "gen", "d-1:shorted")["bat"].total == 900 / taken
    on_battery = nets.network(FED + "conditions: {flight: {sources: [bat]}}")
    assert agree(on_battery, [("gen", "lost"), ("d-1", "shorted")]) == 2


TWO_INPUTS = """
sources:
  left-gen: {volts: 28, amps: 100%s}
  right-gen: {volts: 27.6, amps: 100%s}
  inv: {kind: converter, volts: 112, current: ac, efficiency: 0.8,
    fed-from: [{bus: left, through: [d, sh-left]}, {bus: right, through: [sh-right]}]}
buses: {left: {}, right: {}, ac: {current: ac}}
devices: {d: {kind: diode, drop-volts: %s}, sh-left: shunt, sh-right: shunt}
feeders: [left-gen > left, right-gen > right, inv > ac]
equipment: {gyro: {supplies: [{bus: ac}], amps: 1}}
indications: {left-amps: {kind: ammeter, at: sh-left}, right-amps: {kind: ammeter, at: sh-right}}
"""


HIGHER = TWO_INPUTS.replace("volts: 28,", "volts: 28.2,") % ("%s", "", 1.2)


@pytest.mark.parametrize(("drop", "part"), [(0.3, 1), (0.4, Fraction(1, 2)), (0.7, 0)])
def test_a_converter_takes_its_input_where_most_is_left_after_the_diodes(
    drop: float, part: Fraction
) -> None:
    """28 V less the diode's drop, or 27.6 V: 112 VA / (0.8 x 27.7 V) = 5.05 A from the left where
    it drops 0.3 V, 2.54 A from each where both leave 27.6 V, else 5.07 A from the right.
    """
    found = load(TWO_INPUTS % ("", "", drop)).sources
    assert found["left-gen"] == part * 140 / Fraction(str(28 - drop)).limit_denominator(10)
    assert found["right-gen"] == (1 - part) * 140 / Fraction("27.6")


@pytest.mark.parametrize(("drop", "left"), [(0.7, "0 to 5 A"), (0.9, "0 to 5 A"), (0.901, "0 A")])
def test_inputs_within_half_a_volt_after_the_diodes_may_each_feed_all(
    drop: float, left: str
) -> None:
    """27.1 V is half a volt below 27.6 V: up to there the left may feed all, 140 W / 27.1 V."""
    net = nets.network(TWO_INPUTS % ("", "", drop))
    assert shows(net, "left-amps") == left
    assert shows(net, "right-amps") == ("5 A" if left == "0 A" else "0 to 5 A")


def test_the_volts_of_a_range_decide_which_input_feeds_after_the_diodes() -> None:
    """With a drop of 1.1 V the left leaves 27.1 V at its best, half a volt below the 27.6 V of the
    right at its worst: it may feed all. With another millivolt it never feeds anything. At the
    terminals it may always have the most: 28.2 V leave 27 V after 1.2 V, but 30 V leave 28.8 V.
    """
    ranges = ", volts-range: [28, 28.2]", ", volts-range: [27.6, 27.7]"
    for drop, left in ((1.1, "0 to 5 A"), (1.101, "0 A")):
        net = nets.network(TWO_INPUTS % (*ranges, drop))
        assert shows(net, "left-amps") == left
    assert shows(nets.network(HIGHER % ""), "left-amps") == "0 A"
    assert shows(nets.network(HIGHER % ", volts-range: [28.2, 30]"), "left-amps") == "0 to 5 A"


FROM_ONE_BUS = """
sources:
  gen: 28
  inv: {kind: converter, volts: 112, current: ac, efficiency: 0.8,
    fed-from: [{bus: main, through: [cb-1]}, {bus: main, through: [cb-2, d]}]}
buses: {main: {}, ac: {current: ac}}
devices: {cb-1: {kind: breaker, amps: 9}, cb-2: {kind: breaker, amps: 9},
  d: {kind: diode, drop-volts: %s}}
feeders: [gen > main, inv > ac]
equipment: {gyro: {supplies: [{bus: ac}], amps: 1}}
"""


def test_of_two_feeds_from_one_bus_one_behind_a_diode_carries_nothing() -> None:
    """140 W / 28 V = 5 A; a diode of more than half a volt is closed while the other conducts."""
    found = amps(FROM_ONE_BUS % 0.501)
    assert found["cb-1"] == CurrentBounds(Fraction(5), Fraction(5))
    assert found["cb-2"] == CurrentBounds(NO_AMPS, NO_AMPS)
    for device in ("cb-1", "cb-2"):
        assert amps(FROM_ONE_BUS % 0.5)[device] == CurrentBounds(NO_AMPS, Fraction(5))
    assert load(FROM_ONE_BUS % 0.7, "cb-1").sources["gen"] == 140 / Fraction("27.3")


def test_what_a_converter_takes_is_not_known_where_the_diodes_leave_no_volts() -> None:
    found = load(FROM_ONE_BUS % 28, "cb-1")
    assert found.unknown == ("inv",)
    assert load(FROM_ONE_BUS % 29, "cb-1").unknown == ("inv",)
    assert load(FROM_ONE_BUS % 27.9, "cb-1").sources["gen"] == 1400


TWO_BATTERIES = """
sources:
  fore: {kind: battery, volts: 24, volts-range: [22, 25.2], amp-hours: 40}
  aft: {kind: battery, volts: 24, volts-range: [22, 25.2], amp-hours: 40}
  inv: {kind: converter, volts: 112, current: ac,
    fed-from: [{bus: fore, through: [d]}, {bus: aft}]}
buses: {ac: {current: ac}}
devices: {d: {kind: diode, drop-volts: %s}}
feeders: [inv > ac]
equipment: {gyro: {supplies: [{bus: ac}], amps: 1}}
"""


def test_batteries_that_feed_one_converter_are_compared_after_the_diodes() -> None:
    """The fore battery is at 25.2 V at the most, the aft one at 22: up to a drop of 3.2 V it is the
    one from which the converter may draw, else it never is.
    """
    for drop, others in ((3.2, ("fore",)), (3.201, ())):
        assert endurances(nets.network(TWO_BATTERIES % drop))["aft"].equally_charged == others


def test_voltage_drop_begins_after_the_diodes_of_a_feed() -> None:
    """1,250 W: V x V - (24 V - 0.7 V) x V + 0.0626 ohm x 1250 W = 0, 19.23 V at the input."""
    found = drops("""
    sources:
      bat: {kind: battery, volts: 24, internal-ohms: 0.05}
      inv:
        {kind: converter, volts: 100, current: ac, efficiency: 0.8,
        fed-from: {bus: main, through: [d], wire: 10, length: {feet: 10}}}
    buses: {main: {}, side: {current: ac}}
    devices: {d: diode}
    feeders: [bat > main, inv > side]
    equipment: {pump: {amps: 10, supplies: [{bus: side}]}}
    """)
    assert float(found.amps.sources["bat"]) == pytest.approx(1250 / 19.231, abs=0.02)
