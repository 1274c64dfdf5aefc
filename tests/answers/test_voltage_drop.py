"""What drops along conductors, and what is left at a bus and at a piece of equipment."""

from __future__ import annotations

from fractions import Fraction

import pytest

from sitegen.answers.loads.drawn import draws
from sitegen.answers.protection.protection_audit import protection
from sitegen.answers.voltage_drop import voltage_drops
from sitegen.answers.voltage_drop_records import VoltageDrops, VoltsUnderLoad
from sitegen.catalogue.wire_chart import wire_rows
from sitegen.solver.outcome import condition_states
from tests.nets import network

# 1,000 ft of gauge 10 have 1.26 ohms, of gauge 4 0.28, of gauge 2 0.18 (AC 43.13-1B, Table 11-9).


def drops(net: str, condition: int = 0) -> VoltageDrops:
    """What drops in one condition of a net."""
    drawn = draws(condition_states(network(net)))
    return voltage_drops(drawn.states[drawn.number[condition]])


RADIAL = """
sources: {gen: 28}
buses: [main, aft]
feeders:
  - {path: gen > main, wire: 2, length: {feet: 100}}
  - {path: main > aft, wire: 4, length: {feet: 50}}
equipment:
  heater: {amps: 30, supplies: [{bus: aft, wire: 10, length: {feet: 20}}]}
  radio: {amps: 10, supplies: [{bus: main, wire: 10, length: {feet: 10}}]}
"""


def test_a_feeder_drops_by_all_that_is_drawn_through_it() -> None:
    found = drops(RADIAL)
    assert found.feeders[0].volts == 40 * Fraction("0.018")
    assert found.feeders[1].volts == 30 * Fraction("0.014")


def test_the_volts_at_an_item_are_those_of_the_source_less_every_drop_on_the_way() -> None:
    found = drops(RADIAL)
    expected = 28 - 40 * Fraction("0.018") - 30 * Fraction("0.014") - 30 * Fraction("0.0252")
    assert found.supplies["heater", 0].at_item == VoltsUnderLoad(expected, False, False)


def test_a_battery_sags_by_its_amps_times_its_ohms() -> None:
    found = drops(
        RADIAL.replace("{gen: 28}", "{gen: {kind: battery, volts: 24, internal-ohms: 0.01}}")
    )
    assert found.sags == {"gen": Fraction("0.4")}
    assert found.nodes["main"].volts == 24 - Fraction("0.4") - 40 * Fraction("0.018")


def test_without_a_length_there_is_no_figure_and_the_volts_are_at_most() -> None:
    found = drops(RADIAL.replace("wire: 4, length: {feet: 50}", "wire: 4"))
    assert 1 not in found.feeders
    assert found.nodes["aft"].at_most
    assert not found.nodes["main"].at_most
    without = drops(RADIAL.replace("wire: 10, length: {feet: 20}", "wire: 10"))
    assert without.supplies["heater", 0].continuous is None
    assert without.supplies["heater", 0].at_item.at_most


def test_without_amps_there_is_no_figure_and_never_nought() -> None:
    found = drops(RADIAL.replace("heater: {amps: 30, ", "heater: {"))
    assert found.supplies["heater", 0].continuous is None
    # What is known drops at least so many volts; where nothing is known there is no figure.
    assert all(drop.amps and drop.at_least and not drop.at_most for drop in found.feeders.values())
    assert found.nodes["main"].at_most
    known, whole = found.feeders[0], drops(RADIAL).feeders[0]
    assert known.volts < whole.volts
    assert found.nodes["main"].volts > drops(RADIAL).nodes["main"].volts


def test_a_gauge_that_the_table_does_not_have_gives_no_figure() -> None:
    assert 1 not in drops(RADIAL.replace("wire: 4,", "wire: 3,")).feeders


TWO_PATHS = """
sources: {gen: 28}
buses: [main, aft]
devices: {cb-a: breaker, cb-b: breaker}
feeders:
  - {path: gen > main}
  - {path: main > cb-a > aft, wire: 10, length: {feet: 10}}
  - {path: main > cb-b > aft, wire: 10, length: {feet: 30}}
equipment: {heater: {amps: 20, supplies: [{bus: aft}]}}
"""


def test_a_feeder_that_may_carry_all_or_nothing_drops_at_most_what_all_would() -> None:
    found = drops(TWO_PATHS)
    # Whatever each carries, the drop along both is the same: no more than along the shorter one.
    assert [found.feeders[n].volts for n in (1, 2)] == [Fraction("0.252"), Fraction("0.252")]
    assert found.feeders[1].at_most
    assert found.nodes["aft"].volts == 28 - Fraction("0.252")
    assert found.nodes["aft"].at_least


def test_what_is_open_drops_nothing() -> None:
    pulled = "conditions: {flight: {sources: [gen], pulled: [cb-b]}}"
    found = drops(TWO_PATHS + pulled)
    assert 2 not in found.feeders
    assert not found.feeders[1].at_most


def test_of_two_supplies_either_may_be_the_one_that_is_left() -> None:
    found = drops("""
    sources: {gen: 28}
    buses: [main, aft]
    feeders: [gen > main, gen > aft]
    equipment:
      radio:
        amps: 10
        supplies:
          - {bus: main, wire: 10, length: {feet: 10}}
          - {bus: aft, wire: 10, length: {feet: 20}}
    """)
    drops_of = [found.supplies["radio", i].continuous for i in (0, 1)]
    assert [d and (d.volts, d.at_most) for d in drops_of] == [
        (Fraction("0.126"), True),
        (Fraction("0.252"), True),
    ]
    # It draws nothing on the one if it draws all on the other.
    assert [found.supplies["radio", i].at_item.most for i in (0, 1)] == [28, 28]


def test_where_all_supplies_are_needed_each_drops_by_its_own_amps() -> None:
    found = drops("""
    sources: {gen: 28}
    buses: [main, aft]
    feeders: [gen > main, gen > aft]
    equipment:
      pump:
        needs: all
        supplies:
          - {bus: main, amps: 4, wire: 10, length: {feet: 10}}
          - {bus: aft, amps: 16, wire: 10, length: {feet: 10}}
      lamp:
        needs: all
        amps: 6
        supplies:
          - {bus: main, wire: 10, length: {feet: 10}}
          - {bus: main, wire: 10, length: {feet: 10}}
          - {bus: aft, wire: 10, length: {feet: 10}}
    """)
    amps = {key: s.continuous and s.continuous.amps for key, s in found.supplies.items()}
    assert amps == {("pump", 0): 4, ("pump", 1): 16, **{("lamp", i): 2 for i in range(3)}}


def test_short_time_amps_are_judged_by_the_higher_limit() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    feeders: [gen > main]
    equipment:
      motor: {amps: 10, peak-amps: PEAK, supplies: [{bus: main, wire: 10, length: {feet: 70}}]}
    """
    # 10 A drop 0.88 V of 1 V; 22 A would drop 1.94 V of 2 V, and 23 A 2.03 V.
    assert drops(net.replace("PEAK", "22")).supplies["motor", 0].excess < 1
    assert drops(net.replace("PEAK", "23")).supplies["motor", 0].excess > 1


def audited(net: str) -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
    """The conductors with too much drop, and the items with too few volts, with the condition."""
    found = protection(network(net), wire_rows())
    return (
        [(w.item or str(w.branch), w.condition) for w in found.long_wires],
        [(low.item, low.condition) for low in found.low_volts],
    )


@pytest.mark.parametrize(("feet", "over"), [(79, []), (80, [("heater", "flight")])])
def test_the_audit_finds_a_supply_that_drops_more_than_a_volt_at_28(
    feet: int, over: list[tuple[str, str]]
) -> None:
    # 10 A over 79 ft of gauge 10 drop 0.995 V, over 80 ft 1.008 V.
    found, _ = audited(f"""
    sources: {{gen: 28}}
    buses: [main]
    feeders: [gen > main]
    equipment:
      heater: {{amps: 10, supplies: [{{bus: main, wire: 10, length: {{feet: {feet}}}}}]}}
    """)
    assert found == over


def test_the_audit_finds_a_feeder_that_drops_too_much_where_it_does() -> None:
    found, _ = audited("""
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [main, aft]
    devices: {k: {kind: relay, closes-when: {live: [gen]}}}
    feeders: [gen > main, bat > main, {path: main > aft, wire: 10, length: {feet: 40}}]
    equipment:
      lamp: {amps: 10, supplies: [{bus: aft}]}
      heater: {amps: 15, supplies: [{bus: aft, through: [k]}]}
    conditions: {ground: {sources: [bat]}, flight: {sources: [gen, bat]}}
    """)
    # 25 A over 40 ft of gauge 10 drop 1.26 V; without the heater 0.5 V.
    assert found == [("2", "flight")]


def test_the_audit_names_the_condition_in_which_most_drops() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    switches: {heat: ["off", low, high]}
    devices:
      k-1: {kind: relay, closes-when: [{switches: {heat: low}}, {switches: {heat: high}}]}
      k-2: {kind: relay, closes-when: {switches: {heat: high}}}
    feeders: [{path: gen > main, wire: 10, length: {feet: 100}}]
    equipment:
      heater-1: {amps: 10, supplies: [{bus: main, through: [k-1]}]}
      heater-2: {amps: 10, supplies: [{bus: main, through: [k-2]}]}
    conditions:
      cool: {sources: [gen], switches: {heat: low}}
      cold: {sources: [gen], switches: {heat: high}}
      warm: {sources: [gen]}
    """
    # 1.26 V, 2.52 V and nothing.
    assert audited(net)[0] == [("0", "cold")]


def test_the_audit_finds_an_item_with_fewer_volts_than_it_needs() -> None:
    net = """
    sources: {bat: {kind: battery, volts: 24, internal-ohms: 0.05}}
    buses: [main]
    feeders: [{path: bat > main, wire: 2, length: {feet: 10}}]
    equipment:
      motor: {amps: 19.5, supplies: [{bus: main}]}
      radio: {amps: 0.5, min-volts: MIN, supplies: [{bus: main}]}
    """
    # 20 A: the battery sags by 1 V, the feeder drops 0.036 V; 22.964 V are left.
    assert audited(net.replace("MIN", "22.96")) == ([], [])
    assert audited(net.replace("MIN", "22.97")) == ([], [("radio", "flight")])


def test_one_good_supply_of_two_is_enough_unless_both_are_needed() -> None:
    net = """
    sources: {bat: {kind: battery, volts: 24}}
    buses: [main, aft]
    feeders: [bat > main, {path: bat > aft, wire: 20, length: {feet: 100}}]
    equipment:
      heater: {amps: 5, supplies: [{bus: aft}]}
      radio: {amps: 0, min-volts: 22, supplies: [{bus: main}, {bus: aft}]}
    """
    # The aft bus has 24 - 5 x 0.988 = 19.06 V.
    assert audited(net)[1] == []
    assert audited(net.replace("amps: 0,", "amps: 0, needs: all,"))[1] == [("radio", "flight")]


def test_a_diode_beside_a_contactor_does_not_hold_the_bus_at_the_volts_of_the_source() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    devices: {k: {kind: contactor, closes-when: {live: [gen]}}, d: diode}
    feeders:
      - {path: gen > k > main, wire: 10, length: {feet: 20}}
      - {path: gen > d > main, wire: 2, length: {feet: 1}}
    equipment: {heater: {amps: 20, supplies: [{bus: main}]}}
    """
    through_the_contactor = VoltsUnderLoad(28 - 20 * Fraction("0.0252"), False, False)
    assert drops(net).nodes["main"] == through_the_contactor
    # With 40 A the contactor's conductor would drop 1 V: the diode conducts before that.
    at_least = VoltsUnderLoad(28 - 40 * Fraction("0.0252"), True, False)
    assert drops(net.replace("amps: 20", "amps: 40")).nodes["main"] == at_least
    # Where no path has all its lengths, the bus may be at the volts of the source.
    unknown = net.replace("wire: 10, length: {feet: 20}", "wire: 10").replace(
        "wire: 2, length: {feet: 1}", "wire: 2"
    )
    assert drops(unknown).nodes["main"] == VoltsUnderLoad(Fraction(28), False, True)
    # Nor does it matter that one path has more such conductors than the other.
    longer = """
    sources: {gen: 28}
    buses: [main, mid]
    devices: {k: {kind: contactor, closes-when: {live: [gen]}}, d: diode}
    feeders: [gen > mid, mid > k > main, gen > d > main]
    equipment: {heater: {amps: 20, supplies: [{bus: main}]}}
    """
    assert drops(longer).nodes["main"] == VoltsUnderLoad(Fraction(28), False, True)


def test_a_source_that_offers_more_than_is_left_keeps_the_volts_from_falling_so_far() -> None:
    """140 A through 0.01612 ohm would leave 25.74 V; behind its diode the other has 26.5 V."""
    net = """
    sources: {first: 28, second: OTHER}
    buses: [essential]
    devices: {d: diode}
    feeders:
      - {path: first > essential, wire: 6, length: {feet: 40}}
      - {path: second > d > essential, wire: 4, length: {feet: 6}}
    equipment: {pump: {amps: 140, supplies: [{bus: essential}]}}
    """
    left = drops(net.replace("OTHER", "27.2")).nodes["essential"]
    assert (left.at_least, left.at_most) == (True, False)
    assert not drops(net.replace("OTHER", "26")).nodes["essential"].at_least


def test_conductors_side_by_side_drop_the_same() -> None:
    """30 A through 0.0126 ohm are 0.378 V, and no more beside another conductor."""
    net = """
    sources: {gen: 28}
    buses: [main, essential]
    devices: {cb: breaker}
    feeders:
      - gen > main
      - {path: main > cb > essential, wire: 10, length: {feet: 10}}
      - {path: essential > main, wire: 10, length: {feet: 30}}
    equipment: {heater: {amps: 30, supplies: [{bus: essential}]}}
    """
    found = drops(net)
    volts = 30 * Fraction("0.0126")
    assert [d.volts for n, d in found.feeders.items() if n] == [volts, volts]
    assert [d.amps for n, d in found.feeders.items() if n] == [30, 10]
    assert found.nodes["essential"] == VoltsUnderLoad(28 - volts, True, True)
    # Without the length of one, each may carry it all.
    alone = drops(net.replace(", wire: 10, length: {feet: 30}", ""))
    assert [d.volts for n, d in alone.feeders.items() if n] == [30 * Fraction("0.0126")]


def test_of_two_sources_that_share_a_bus_the_lower_path_is_the_least_that_it_has() -> None:
    """They share by their ratings here, and by ohms in truth: 12.6 and 1.26 ohm per 1,000 ft of
    wire put the bus at (28/0.126 + 27.6/0.0126 - 40) / (1/0.126 + 1/0.0126) = 27.18 V.
    """
    net = """
    sources: {far: 28, near: 27.6}
    buses: [main]
    feeders:
      - {path: far > main, wire: 10, length: {feet: 100}}
      - {path: near > main, wire: 10, length: {feet: 10}}
    equipment: {heater: {amps: 40, supplies: [{bus: main}]}}
    """
    far = 28 - 20 * Fraction("0.126")
    assert drops(net).nodes["main"] == VoltsUnderLoad(far, True, False)
    alike = net.replace("feet: 10}", "feet: 100}").replace("27.6", "28")
    assert drops(alike).nodes["main"] == VoltsUnderLoad(far, False, False)


def test_at_an_item_that_may_draw_all_of_it_elsewhere_the_volts_are_about_those() -> None:
    """6 A are counted on each bus: with all 12 A drawn on one, more would drop ahead of it."""
    found = drops("""
    sources: {gen: {volts: 28}}
    buses: [main, a, b]
    feeders:
      - {path: gen > main}
      - {path: main > a, wire: 10, length: {feet: 28}}
      - {path: main > b, wire: 10, length: {feet: 28}}
    equipment:
      two: {supplies: [{bus: a, wire: 20, length: {feet: 1}}, {bus: b}], amps: 12}
      one: {supplies: [{bus: a, wire: 20, length: {feet: 1}}], amps: 2}
    """)
    assert found.supplies["two", 0].at_item.bound == "about "
    assert found.supplies["one", 0].at_item.bound == "at most "


def test_a_source_whose_conductor_has_no_length_may_hold_the_bus_up() -> None:
    """Through 50 ft of gauge 12, 0.101 ohm, 20 A drop 2.02 V; the other battery is on the bus."""
    net = """
    sources:
      far: {kind: battery, volts: 24, amps: 40}
      near: {kind: battery, volts: 24, amps: 40}
    buses: [main]
    feeders: [near > main, {path: far > main, wire: 12, length: {feet: 50}}]
    equipment:
      pump: {amps: 40, min-volts: 22.5, supplies: [{bus: main}]}
    """
    left = drops(net).nodes["main"]
    assert (left.volts, left.most, left.bound) == (24 - 20 * Fraction("0.101"), 24, "about ")
    hints = [one.left.most >= one.least for one in protection(network(net), wire_rows()).low_volts]
    assert hints == [True]


def test_what_flows_towards_a_source_is_a_rise_on_the_way_from_it() -> None:
    """40 A of the left source go to the right bus, over 0.0126 ohm: by the right source's 28 V
    the left bus would have 0.504 V more than the right.
    """
    net = """
    sources: {left: {volts: 28, internal-ohms: 0.05}, right: 28}
    buses: [one, two]
    feeders: [left > one, right > two, {path: one > two, wire: 10, length: {feet: 10}}]
    equipment:
      lamp: {amps: 10, supplies: [{bus: one}]}
      pump: {amps: 90, supplies: [{bus: two}]}
    """
    one = drops(net).nodes["one"]
    # By hand (Kirchhoff): (28 - V) / 0.05 + (28 - V) / 0.0126 = 10 A, and V = 27.8994 V.
    assert (one.volts, one.most) == (28 - Fraction("2.5"), 28 + Fraction("0.504"))


def test_a_diode_that_may_carry_nothing_need_not_drop_its_volts() -> None:
    """Each conductor would drop 0.605 V with all of the 40 A and drops 0.302 V with half of them,
    which is less than the 0.4 V of the diode.
    """
    net = """
    sources: {gen: 28}
    buses: [main]
    devices: {d: {kind: diode, drop-volts: 0.4}}
    feeders:
      - {path: gen > main, wire: 10, length: {feet: 12}}
      - {path: gen > main, wire: 10, length: {feet: 12}}
      - {path: gen > d > main, wire: 2, length: {feet: 1}}
    equipment: {pump: {amps: 40, supplies: [{bus: main}]}}
    """
    left = drops(net).nodes["main"]
    assert left.volts <= 28 - 20 * Fraction("0.01512") <= left.most


FOLLOWS = """
aircraft: {load-volts: 24}
sources: {bat: {kind: battery, volts: 24, internal-ohms: 0.05}}
buses: [main]
feeders: [{path: bat > main, wire: 10, length: {feet: 20}}]
equipment:
  pump: {amps: 40, load: KIND, supplies: [{bus: main, wire: 10, length: {feet: 10}}]}
"""


@pytest.mark.parametrize(
    ("kind", "volts"),
    # 0.05 + 0.0252 + 0.0126 = 0.0878 ohm. 960 W: V x V - 24 V + 0.0878 x 960 = 0. Of 0.6 ohm:
    # 24 x 0.6 / 0.6878.
    [("constant-power", 19.727), ("resistive", 20.936), ("constant-current", 20.488)],
)
def test_amps_that_follow_the_volts_follow_those_that_are_left(kind: str, volts: float) -> None:
    found = drops(FOLLOWS.replace("KIND", kind))
    left = found.supplies["pump", 0].at_item
    assert float(left.volts) == pytest.approx(volts, abs=0.002)
    assert left.bound == ""
    assert found.amps.drawn["pump"] * Fraction("0.0878") == 24 - left.volts


def test_a_converter_takes_more_of_the_volts_that_are_left() -> None:
    """1,000 VA at 80 % are 1,250 W: V x V - 24 V + 0.0626 x 1250 = 0, 20.10 V at its input."""
    found = drops("""
    sources:
      bat: {kind: battery, volts: 24, internal-ohms: 0.05}
      inv:
        {kind: converter, volts: 100, current: ac, efficiency: 0.8,
        fed-from: {bus: main, wire: 10, length: {feet: 10}}}
    buses: {main: {}, side: {current: ac}}
    feeders: [bat > main, inv > side]
    equipment: {pump: {amps: 10, supplies: [{bus: side}]}}
    """)
    amps = found.amps.sources["bat"]
    assert float(amps) == pytest.approx(1250 / 20.104, abs=0.02)
    assert float(found.nodes["main"].volts) == pytest.approx(24 - 0.05 * 1250 / 20.104, abs=0.002)


def test_where_the_volts_are_bounds_so_are_the_amps_that_follow_them() -> None:
    """Between 20.49 V, where the short feeder carries all, and what both leave together."""
    side_by_side = FOLLOWS.replace(
        "feeders: [", "feeders: [{path: bat > main, wire: 10, length: {feet: 20}}, "
    ).replace("KIND", "constant-power")
    found = drops(side_by_side)
    # By hand half the ohms of one feeder: 0.0752 ohm in all.
    true = (24 + (24**2 - 4 * 0.0752 * 960) ** 0.5) / 2
    left = found.supplies["pump", 0].at_item
    assert left.at_least
    assert float(left.volts) < true < float(left.most)
    assert float(found.supplies["pump", 0].continuous.volts) > 0.0126 * 960 / true
    assert found.supplies["pump", 0].continuous.at_most


def test_of_a_load_that_the_volts_cannot_carry_half_of_them_is_taken() -> None:
    """No volts give 9,600 W through 0.0878 ohm: at the most 24 x 24 / (4 x 0.0878) = 1,640 W."""
    found = drops(FOLLOWS.replace("KIND", "constant-power").replace("amps: 40", "amps: 400"))
    assert found.amps.drawn["pump"] == 800
    assert found.supplies["pump", 0].at_item.volts == 0
