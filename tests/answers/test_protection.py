"""The audit of protection: what breakers and fuses carry, which trips first, what suits a wire.

The rules that rest on the circular are held to it in tests/outside; the rest is common practice,
no source.
"""

from __future__ import annotations

import pytest

from sitegen.answers.loads.load_table import load_table
from tests.answers.audited import audited, strained, wired
from tests.nets import network
from tests.random_nets import Raw

# Breakers and what they carry

LAMPS = """
sources: {gen: {volts: 28, amps: 100}}
buses: [main]
devices: {cb: {kind: breaker, amps: 5}, s: {kind: switch, closes-when: {switches: {lamps: "on"}}}}
switches: {lamps: ["off", "on"]}
feeders: [gen > main]
equipment:
  left-lamp: {supplies: [{bus: main, breaker: cb, through: [s]}], amps: 3}
  right-lamp: {supplies: [{bus: main, breaker: cb, through: [s]}], amps: %s}
conditions:
  dark: {sources: [gen]}
  night: {sources: [gen], switches: {lamps: "on"}}
"""


def test_a_breaker_carries_all_that_it_feeds_at_once_in_the_worst_condition() -> None:
    assert audited(LAMPS % 2).loads == ()
    (found,) = audited(LAMPS % 2.5).loads
    assert (found.component, found.amps, found.limit) == ("cb", 5.5, 5)
    assert (found.condition, found.unknown) == ("night", ())


def test_what_is_nearest_to_its_rating_or_to_the_drop_allowed_comes_first() -> None:
    """12 A of 15 is 80 %, 9 of 20 is 45 %; what is over is a finding. 10 A over 60 ft of gauge 10
    drop 0.756 V of the 1 V allowed, over 20 ft a third of that.
    """
    net = """
    sources: {gen: {volts: 28, amps: 100}}
    buses: [main]
    devices: {cb-a: {kind: breaker, amps: 20}, cb-b: {kind: breaker, amps: 15},
              cb-c: {kind: breaker, amps: 5}, cb-d: {kind: breaker}}
    feeders: [gen > main]
    equipment:
      a: {supplies: [{bus: main, breaker: cb-a}], amps: 9}
      b: {supplies: [{bus: main, breaker: cb-b}], amps: 12}
      c: {supplies: [{bus: main, breaker: cb-c}], amps: 6}
      d: {supplies: [{bus: main, breaker: cb-d}], amps: 6}
      near: {amps: 10, supplies: [{bus: main, wire: 10, length: {feet: 20}}]}
      far: {amps: 10, supplies: [{bus: main, wire: 10, length: {feet: 60}}]}
      over: {amps: 10, supplies: [{bus: main, wire: 10, length: {feet: 90}}]}
    """
    found = audited(net)
    assert [o.component for o in found.loads] == ["cb-c"]
    assert [(o.component, o.percent) for o in found.nearest_loads] == [("cb-b", 80), ("cb-a", 45)]
    assert [w.item for w in found.long_wires] == ["over"]
    assert [(w.item, float(w.percent)) for w in found.nearest_drops] == [
        ("far", 75.6),
        ("near", 25.2),
    ]


def test_equipment_without_amps_is_named_and_the_sum_is_the_least() -> None:
    net = LAMPS % 3 + "load-columns: {}\n"
    net = net.replace(
        "equipment:", "equipment:\n  tail-lamp: {supplies: [{bus: main, breaker: cb}]}"
    )
    (found,) = audited(net).loads
    assert (found.amps, found.unknown) == (6, ("tail-lamp",))


def test_equipment_without_amps_that_is_fed_from_elsewhere_is_not_named() -> None:
    net = """
    sources: {gen: {volts: 28, amps: 10}, other: 24}
    buses: [main, side]
    devices: {s: {kind: switch, closes-when: {switches: {lamp: "on"}}}}
    switches: {lamp: [%s]}
    feeders: [gen > main, other > side]
    equipment:
      heater: {supplies: [{bus: main}], amps: 9}
      lamp: {supplies: [{bus: main, through: [s]}, {bus: side}]}
    """
    assert [g.unknown for g in audited(net % '"off", "on"').generators] == [()]
    assert [g.unknown for g in audited(net % '"on", "off"').generators] == [("lamp",)]


def test_two_ways_behind_one_breaker_to_the_same_lamp_count_once() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    devices:
      cb: {kind: breaker, amps: 5}
      s-bright: {kind: switch, closes-when: {switches: {lamp: bright}}}
      s-dim: {kind: switch, closes-when: {switches: {lamp: dim}}}
    switches: {lamp: ["off", bright, dim]}
    feeders: [gen > main]
    equipment:
      lamp:
        amps: %s
        supplies:
          - {bus: main, breaker: cb, through: [s-bright]}
          - {bus: main, breaker: cb, through: [s-dim]}
    conditions: {night: {sources: [gen], switches: {lamp: bright}}}
    """
    assert audited(net % 5).loads == ()
    assert strained(audited(net % 6).loads) == [("cb", 6, 5)]


def test_equipment_with_two_supplies_counts_whole_behind_each_for_it_may_be_the_last() -> None:
    net = """
    sources: {gen: 28}
    buses: [left, right]
    feeders: [gen > left, gen > right]
    equipment:
      radio:
        %s
        amps: 6
        supplies:
          - {bus: left, breaker: {id: cb-left, name: LEFT, amps: 5}}
          - {bus: right, fuse: {id: f-right, name: RIGHT, amps: 7.5}}
    """
    assert strained(audited(net % "needs: any").loads) == [("cb-left", 6, 5)]
    # With both needed, each carries its part.
    assert audited(net % "needs: all").loads == ()


def test_equipment_that_needs_both_supplies_draws_nothing_while_it_has_one() -> None:
    net = """
    sources: {gen: 28, other: 28}
    buses: [left, right]
    feeders: [gen > left, other > right]
    equipment:
      heater:
        needs: all
        amps: 20
        supplies: [{bus: left, breaker: {name: L, amps: 5}}, {bus: right}]
    conditions: {flight: {sources: [%s]}}
    """
    assert strained(audited(net % "gen, other").loads) == [("heater.breaker-1", 10, 5)]
    assert audited(net % "gen").loads == ()


def test_a_supply_with_its_own_figure_draws_that() -> None:
    net = """
    sources: {gen: 28}
    buses: [left, right]
    feeders: [gen > left, gen > right]
    equipment:
      heater:
        needs: all
        supplies:
          - {bus: left, amps: 12, breaker: {id: cb-left, name: L, amps: 10}}
          - {bus: right, amps: 4, breaker: {id: cb-right, name: R, amps: 5}}
    """
    assert strained(audited(net).loads) == [("cb-left", 12, 10)]


def test_a_breaker_carries_what_follows_from_the_volts_of_its_bus() -> None:
    net = """
    aircraft: {name: Test, load-volts: 28}
    sources: {bat: {kind: battery, volts: 24}}
    buses: [main]
    feeders: [bat > main]
    equipment:
      inverter:
        amps: 9
        load: constant-power
        supplies: [{bus: main, breaker: {id: cb, name: INV, amps: 10}}]
    """
    # 9 A at 28 V are 10.5 A at 24 V.
    assert strained(audited(net).loads) == [("cb", 10.5, 10)]


def test_the_breaker_of_an_only_feeder_carries_its_bus_and_all_below() -> None:
    net = """
    sources: {gen: {volts: 28, amps: 100}}
    buses: [main, side, end]
    devices: {cb-side: {kind: breaker, amps: %s}, cb-end: {kind: breaker, amps: 15}}
    feeders: [gen > main, main > cb-side > side, side > cb-end > end]
    equipment:
      a: {supplies: [{bus: main}], amps: 50}
      b: {supplies: [{bus: side}], amps: 10}
      c: {supplies: [{bus: end}], amps: 12}
    """
    assert audited(net % 22).loads == ()
    assert strained(audited(net % 21).loads) == [("cb-side", 22, 21)]


def test_a_feeder_is_as_strong_as_the_weakest_device_in_it() -> None:
    net = """
    sources: {gen: 28}
    buses: [main, side]
    devices:
      fl: {kind: fuse-link, amps: 100}
      k: {kind: contactor, amps: 20, closes-when: {live: [gen]}}
    feeders: [gen > main, main > fl > k > side]
    equipment: {heater: {supplies: [{bus: side}], amps: 25}}
    """
    assert strained(audited(net).loads) == [("k", 25, 20)]


def test_what_a_bus_holds_by_a_coil_is_not_fed_through_its_fuse_link() -> None:
    # The relay drops out with the hot bus, and the mains with it; their load is none of the link's.
    net = """
    sources: {battery: {kind: battery, volts: 24}}
    buses: [hot, main]
    devices:
      fl-hot: {kind: fuse-link, amps: 20}
      k: {kind: relay, closes-when: {live: [hot]}}
    feeders: [battery > fl-hot > hot, battery > k > main]
    equipment: {clock: {supplies: [{bus: hot}], amps: 1}, pump: {supplies: [{bus: main}], amps: 90}}
    """
    assert audited(net).loads == ()


def test_a_converters_breaker_carries_what_the_converter_takes() -> None:
    net = """
    sources:
      gen: 28
      inv:
        {kind: converter, volts: 115, efficiency: 0.8, fed-from: {bus: main, through: [cb-inv]}}
    buses: [main]
    devices: {cb-inv: {kind: breaker, amps: %s}}
    feeders: [gen > main]
    equipment: {gyro: {supplies: [{bus: inv}], amps: 2}, compass: {supplies: [{bus: inv}]}}
    """
    amps = 115 * 2 / (0.8 * 28)
    (found,) = audited(net % 10).loads
    assert (found.component, found.unknown) == ("cb-inv", ("compass",))
    assert found.amps == pytest.approx(amps)
    assert audited(net % 10.5).loads == ()


def test_each_of_two_inputs_carries_all_that_the_converter_takes() -> None:
    net = """
    sources:
      gen: 28
      inv:
        kind: converter
        volts: 28
        efficiency: 1
        fed-from: [{bus: main, through: [cb-1]}, {bus: main, through: [k, cb-2]}]
    buses: [main]
    devices:
      cb-1: {kind: breaker, amps: 10}
      cb-2: {kind: breaker, amps: 5}
      k: {kind: relay, closes-when: {open: [cb-1]}}
    feeders: [gen > main]
    equipment: {gyro: {supplies: [{bus: inv}], amps: 8}}
    """
    assert strained(audited(net).loads) == [("cb-2", 8, 5)]


def test_what_an_inverter_gives_counts_at_its_input_and_not_again_behind_it() -> None:
    net = """
    sources:
      gen: 28
      inv: {kind: converter, volts: 112, efficiency: 1, fed-from: {bus: side}}
    buses: [main, side, ac]
    devices: {cb: {kind: breaker, amps: %s}}
    feeders: [gen > main, main > cb > side, inv > ac]
    equipment: {gyro: {supplies: [{bus: ac}], amps: 2}, compass: ac}
    """
    assert audited(net % 8).loads == ()
    (found,) = audited(net % 7).loads
    # What has no figure there makes the sum the least all the same.
    assert (found.amps, found.unknown) == (8, ("compass",))


def test_what_a_battery_would_hold_at_fewer_volts_is_still_carried_by_the_feeder() -> None:
    net = """
    sources: {gen: 28, battery: {kind: battery, volts: 24}}
    buses: [essential, standby]
    devices: {cb: {kind: breaker, amps: 5}, d: diode}
    feeders: [gen > cb > essential, essential > d > standby, battery > standby]
    equipment: {instrument: {supplies: [{bus: standby}], amps: 6}}
    """
    assert strained(audited(net).loads) == [("cb", 6, 5)]


def test_of_equal_ratings_the_one_that_opens_is_named() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    devices: {sh: {kind: shunt, amps: 50}, fl: {kind: fuse-link, amps: 50}}
    feeders: [gen > sh > fl > main]
    equipment: {heater: {supplies: [{bus: main}], amps: 60}}
    """
    assert strained(audited(net).loads) == [("fl", 60, 50)]


@pytest.mark.parametrize(
    ("meter", "at", "names"),
    [
        ("ammeter", "gen", []),
        ("ammeter", "shunt", []),
        ("ammeter", "lower-shunt", ["gen"]),
        ("voltmeter", "gen", ["gen"]),
    ],
)
def test_a_generator_whose_amps_a_meter_shows_may_give_more_than_four_fifths(
    meter: str, at: str, names: list[str]
) -> None:
    """A meter of the generator, or of a shunt in its own feeder; not one further down."""
    net = f"""
    sources: {{gen: {{volts: 28, amps: 50}}}}
    buses: [main, lower]
    devices: {{shunt: shunt, lower-shunt: shunt}}
    feeders: [gen > shunt > main, main > lower-shunt > lower]
    equipment: {{heater: {{supplies: [{{bus: main}}], amps: 45}}}}
    indications: {{meter: {{kind: {meter}, at: {at}}}}}
    """
    assert [o.component for o in audited(net).generators] == names


def test_a_breaker_over_its_rating_with_nothing_failed_is_reported() -> None:
    net = """
    sources: {gen: {volts: 28, amps: 100}}
    buses: [main]
    devices: {cb: {kind: breaker, amps: 50}}
    feeders: [gen > cb > main]
    equipment: {heater: {supplies: [{bus: main}], amps: %s}}
    """
    # It is too small for the one bus that it feeds; that is said once.
    assert strained(audited(net % 60).loads) == [("cb", 60, 50)]
    assert audited(net % 60).ratings == ()
    beyond = net.replace("buses: [main]", "buses: [bar, main]").replace(
        "gen > cb > main", "gen > bar, bar > main, bar > cb > main"
    )
    # Two ways: as much as all of it may go by the breaker.
    [(component, condition, over)] = audited(beyond % 60).ratings
    assert (component, condition, over.amps, over.bound) == ("cb", "flight", 60, "up to ")
    assert audited(beyond % 50).ratings == ()


def test_what_is_over_its_rating_is_the_same_for_the_audit_and_for_the_loads() -> None:
    net = """
    sources: {gen: {volts: 28, amps: 50, amps-5min: 70}}
    buses: [main]
    feeders: [gen > main]
    equipment: {heater: {amps: 60, supplies: [{bus: main}]}, radio: {supplies: [{bus: main}]}}
    """
    built = network(net)
    assert list(audited(net).ratings) == load_table(built, "flight").over_rating
    [(_, _, over)] = audited(net).ratings
    assert (over.bound, over.percent) == ("at least ", 120)


SELF_FED = """
sources:
  gen: 28
  inverter: {kind: converter, volts: 115, fed-from: [{bus: main}]}
  rectifier: {kind: converter, volts: 28, fed-from: [{bus: ac}]}
buses: [main, ac]
devices: {d: diode}
feeders: [gen > main, inverter > ac, rectifier > %s main]
equipment: {lamp: {supplies: [{bus: ac}], amps: 1}}
conditions: {flight: {sources: [gen]}}
"""


@pytest.mark.parametrize(("through", "failed"), [("", ()), ("d >", (("d", "shorted"),))])
def test_converters_that_feed_each_other_are_reported_with_the_failure_that_lets_them(
    through: str, failed: tuple[tuple[str, str], ...]
) -> None:
    """Through the sound diode the rectifier offers fewer volts than the generator: none flow."""
    loops = audited(SELF_FED % through).loops
    assert [(o.converter, o.failed) for o in loops] == [("inverter", failed), ("rectifier", failed)]


# Which trips first

CHAIN = """
sources: {gen: 28}
buses: [main, side]
devices: {cb-side: {kind: breaker, amps: 20}, cb-other: {kind: breaker, amps: 20}}
feeders: [gen > main, main > cb-side > side%s]
equipment: {radio: {supplies: [{bus: side, breaker: {id: cb-radio, name: RADIO, amps: %s}}]}}
"""


def test_a_breaker_no_smaller_than_the_only_one_upstream_need_not_trip_first() -> None:
    assert audited(CHAIN % ("", 15)).order == ()
    (found,) = audited(CHAIN % ("", 20)).order
    assert (found.component, found.upstream, found.bus) == ("cb-radio", "cb-side", "side")


def test_on_a_bus_with_a_second_feeder_either_one_that_trips_leaves_the_bus_alive() -> None:
    assert audited(CHAIN % (", main > cb-other > side", 20)).order == ()


def test_a_bus_beyond_a_diode_is_no_second_way_in_though_it_has_its_own_source() -> None:
    net = CHAIN.replace("buses: [main, side]", "buses: [main, side, end]")
    net = net.replace("devices: {", "devices: {d: diode, ").replace("gen: 28", "gen: 28, other: 28")
    found = audited(net % (", side > d > end, other > end", 20)).order
    assert [f.component for f in found] == ["cb-radio"]


def test_a_converters_breaker_is_asked_and_a_fuse_link_is_not() -> None:
    net = CHAIN.replace("gen: 28", "gen: 28, inv: {kind: converter, volts: 115, fed-from: %s}")
    net = net.replace("devices: {", "devices: {fl: {kind: fuse-link, amps: 20}, ")
    net = net.replace("buses: [main, side]", "buses: [main, side, end]")
    found = audited(net % ("{bus: side, through: [cb-other]}", ", side > fl > end", 15)).order
    assert [f.component for f in found] == ["cb-other"]


def test_a_contactor_upstream_opens_on_no_overload_whatever_it_is_rated() -> None:
    net = CHAIN.replace("cb-side > side", "cb-side > k > side")
    net = net.replace(
        "devices: {", "devices: {k: {kind: relay, amps: 10, closes-when: {live: [gen]}}, "
    )
    assert audited(net % ("", 15)).order == ()


def test_a_feeder_that_leads_on_is_no_second_way_in() -> None:
    net = CHAIN.replace("buses: [main, side]", "buses: [main, side, end]")
    found = audited(net % (", side > cb-other > end", 15)).order
    assert [f.component for f in found] == ["cb-other"]


# Wires


def test_the_first_device_that_protects_the_wire_protects_what_is_downstream_of_it() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    devices: {cb-1: {kind: breaker, amps: %s}, f-2: {kind: fuse, amps: 30}}
    feeders: [gen > cb-1 > f-2 > main]
    equipment: {radio: main}
    """
    assert audited(wired(net % 15, ("main", 16))).wires == ()
    found = audited(wired(net % 20, ("main", 16))).wires
    assert [(w.component, w.allowed) for w in found] == [("cb-1", 15), ("f-2", 10)]


def test_a_fuse_link_is_not_in_the_table_but_protects_as_a_fuse_would() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    devices: {fl: {kind: fuse-link, amps: %s}, cb: {kind: breaker, amps: 60}}
    feeders: [gen > fl > cb > main]
    equipment: {radio: main}
    """
    assert audited(wired(net % 50, ("main", 8))).wires == ()
    found = audited(wired(net % 250, ("main", 8))).wires
    assert [(w.component, w.allowed) for w in found] == [("cb", 50)]


def test_a_breaker_shared_by_several_wires_must_suit_the_thinnest() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    devices: {cb: {kind: breaker, amps: 10}}
    feeders: [gen > main]
    equipment:
      a: {supplies: [{bus: main, breaker: cb, wire: 18}]}
      b: {supplies: [{bus: main, breaker: cb, wire: 22}]}
      c: {supplies: [{bus: main, breaker: cb, wire: 20}]}
    """
    (found,) = audited(net).wires
    assert (found.gauge, found.allowed) == (22, 5)


def test_a_gauge_that_the_table_leaves_out_is_allowed_no_more_than_the_next_thicker_one() -> None:
    net = """
    sources: {gen: 28}
    buses: [main]
    feeders: [gen > main]
    equipment: {a: {supplies: [{bus: main, breaker: {name: A, amps: %s}, wire: 24}]}}
    """
    assert audited(net % 5).wires == ()
    (found,) = audited(net % 7.5).wires
    assert (found.gauge, found.row.gauge, found.allowed) == (24, 22, 5)


# What there are figures for


def unjudged(net: str | Raw) -> list[tuple[int, tuple[str, ...]]]:
    """Of load, gauge and voltage drop: how many, and what is not judged."""
    tallies = audited(net).judged
    return [(len(t.every), t.without) for t in (tallies.load, tallies.gauge, tallies.drop)]


def test_nothing_is_judged_without_figures() -> None:
    net = """
    sources: {gen: {volts: 28}}
    buses: [main, side]
    devices: {link: fuse-link, cb: breaker, own: breaker, spare: breaker}
    feeders: [gen > link > main, main > cb > side]
    equipment:
      radio: {supplies: [{bus: side, breaker: own}]}
      light: {supplies: [{bus: side, breaker: spare}]}
    """
    devices, conductors = ("link", "cb", "own", "spare"), 4
    every, breakers, wires = unjudged(net)
    assert every == (4, devices)
    assert breakers == (3, devices[1:])
    assert (wires[0], len(wires[1])) == (conductors, conductors)


RATED = """
sources: {gen: {volts: 28, amps: 100}}
buses: [main, side]
devices:
  link: {kind: fuse-link, amps: 60}
  cb: {kind: breaker, amps: 20}
  own: {kind: breaker, amps: 5}
  shared: {kind: breaker, amps: 5}
  never: {kind: breaker, amps: 5}
  s: {kind: switch, closes-when: {switches: {lamp: "on"}}}
switches: {lamp: ["off", "on"]}
feeders:
  - {path: gen > link > main, wire: 4}
  - {path: main > cb > side, wire: 12, length: {feet: 9}}
equipment:
  radio: {supplies: [{bus: side, breaker: own, wire: 20, length: {feet: 9}}], amps: 3}
  light: {supplies: [{bus: main, breaker: shared, wire: 20}], amps: 1}
  fan: {supplies: [{bus: main, breaker: shared, wire: 20}], amps: 1}
  lamp: {supplies: [{bus: main, breaker: never, through: [s], wire: 20}], amps: 1}
"""


def test_what_is_judged_has_every_figure_that_its_rule_needs() -> None:
    net = RATED
    load, gauge, drop = unjudged(net)
    # It carries nothing in any condition, so its load is never seen.
    assert load == (5, ("never",))
    assert gauge == (4, ())
    assert (drop[0], len(drop[1])) == (6, 4)
    # Without a rating neither; a shared breaker needs the amps and the gauge of all that it feeds.
    load, gauge, _ = unjudged(net.replace("own: {kind: breaker, amps: 5}", "own: breaker"))
    assert (load[1], gauge[1]) == (("own", "never"), ("own",))
    load, _, _ = unjudged(net.replace("wire: 20}], amps: 1}\n  lamp", "wire: 20}]}\n  lamp"))
    assert load[1] == ("link", "shared", "never")
    _, gauge, _ = unjudged(net.replace("breaker: shared, wire: 20", "breaker: shared", 1))
    assert gauge[1] == ("shared",)


METERED = """
sources:
  gen: {kind: generator, volts: 28, amps: 200, internal-ohms: %s%s}
  bat: {kind: battery, volts: 24, amp-hours: 20}
buses: [main]
devices: {fl-bat: fuse-link}
feeders: [gen > main, bat > fl-bat > main]
equipment: {heater: {supplies: [{bus: main}], amps: 100}}
indications: {volts: {kind: voltmeter, at: main}}
conditions: {flight: {sources: [gen, bat]}, battery: {sources: [bat]}}
"""


@pytest.mark.parametrize(
    ("ohms", "span", "shown"),
    [
        # 28 V less 1.5 V, with which a voltmeter may be off, is 26.5 V.
        ("0.015", "", None),
        ("0.0151", "", 26.49),
        ("0.03", ", volts-range: [27, 29]", 25),
        ("0.03", ", volts-range: [26.5, 29]", None),
    ],
)
def test_a_voltmeter_that_sags_below_what_counts_as_healthy_is_advised(
    ohms: str, span: str, shown: float | None
) -> None:
    found = audited(METERED % (ohms, span)).low_meters
    assert [(m.source, m.meter, m.condition) for m in found] == (
        [("gen", "volts", "flight")] if shown else []
    )
    assert [float(m.left.volts) for m in found] == ([shown] if shown else [])
