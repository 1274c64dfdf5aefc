"""What falls below its volts while a heavy item draws from a battery."""

from __future__ import annotations

from fractions import Fraction

import pytest

from sitegen.answers.loads.drawn import draws
from sitegen.answers.loads.load_table import load_table
from sitegen.answers.start_sag import Sag, sags, start_sags
from sitegen.solver.outcome import condition_states
from sitegen.terminal.load_text import load_text
from tests.nets import network

# A battery of 24 V and 0.02 ohms: 100 A more are 2 V less.
STARTER = """
sources: {gen: 28, bat: {kind: battery, volts: 24, internal-ohms: 0.02}}
buses: [main]
switches: {start: ["off", "on"]}
devices:
  k-start: {kind: contactor, closes-when: {switches: {start: "on"}}}
  k-heat: {kind: relay, closes-when: {volts-above: {main: 18}}}
  k-reserve: {kind: relay, closes-when: {volts-below: {main: 12}}}
feeders: [gen > main, bat > main]
equipment:
  starter: {amps: 100, peak-amps: 300, supplies: [{bus: main, through: [k-start]}]}
  heater: {amps: 10, supplies: [{bus: main, through: [k-heat]}]}
  radio: {amps: 0, min-volts: 19, supplies: [{bus: main}]}
conditions:
  flight: {sources: [gen, bat]}
  ground: {sources: [bat]}
  starting: {sources: [bat], switches: {start: "on"}}
"""


def sagging(net: str, condition: str) -> list[Sag]:
    """With continuous amps, and in the heaviest start."""
    built = network(net)
    before = condition_states(built)
    number = [c.id for c in built.catalogue.conditions].index(condition)
    drawn = draws(before)
    return sags(before, drawn.states[drawn.number[number]], number)


def test_a_battery_that_carries_nothing_does_not_sag() -> None:
    assert sagging(STARTER, "flight") == []


def test_a_battery_sags_by_all_that_it_gives() -> None:
    [steady, start] = sagging(STARTER, "starting")
    assert steady.sources["bat"].volts == 24 - Fraction("0.02") * 110
    assert (start.item, start.item_amps) == ("starter", 300)
    assert start.sources["bat"].volts == 24 - Fraction("0.02") * 310


def test_where_a_battery_helps_in_the_start_the_volts_are_at_least_those() -> None:
    """By hand (Kirchhoff): the generator gives 96 A of the 260 A, and is at 23.2 V, not at 15 V."""
    net = """
    sources:
      gen: {volts: 28, amps: 100, internal-ohms: 0.05}
      bat: {kind: battery, volts: 24, internal-ohms: 0.005}
    buses: [main, side]
    devices: {k: {kind: contactor, closes-when: {volts-above: {gen: 20}}}}
    feeders: [gen > main, bat > main, main > k > side]
    equipment:
      starter: {supplies: [{bus: main}], amps: 10, peak-amps: 260}
      radio: {supplies: [{bus: side}], amps: 0}
    conditions: {flight: {sources: [gen, bat]}, alone: {sources: [gen]}}
    """
    [_, start] = sagging(net, "flight")
    assert (start.sources["gen"].volts, start.sources["gen"].at_least) == (15, True)
    assert (start.opens, start.may_open) == ((), ("k",))
    [_, alone] = sagging(net, "alone")
    assert not alone.sources["gen"].at_least
    assert (alone.opens, alone.may_open) == (("k",), ())


def test_a_relay_that_senses_the_bus_would_open_in_the_start_only() -> None:
    # 21.8 V with continuous amps, 17.8 V in the start.
    [steady, start] = sagging(STARTER, "starting")
    assert (steady.opens, start.opens) == ((), ("k-heat",))
    assert not start.closes


def test_a_relay_for_low_volts_would_close() -> None:
    [_, start] = sagging(STARTER.replace("{main: 12}", "{main: 17.9}"), "starting")
    assert start.closes == ("k-reserve",)


def test_what_needs_more_volts_than_are_left_is_named() -> None:
    [steady, start] = sagging(STARTER, "starting")
    assert (steady.too_low, start.too_low) == ((), ("radio",))


def test_a_contactor_that_needs_the_volts_it_takes_would_open_itself() -> None:
    own = STARTER.replace('{start: "on"}}}', '{start: "on"}, volts-above: {main: 18}}}', 1)
    assert "k-start" in sagging(own, "starting")[1].opens
    # Asked of a condition in which it is off, its terms by volts still count.
    [(condition, sag), *_] = start_sags(network(own), condition_states(network(own)))["starter"]
    assert condition == "ground"
    assert "k-start" in sag.opens


def test_a_start_is_asked_of_every_condition_in_which_the_battery_would_carry_it() -> None:
    built = network(STARTER)
    found = start_sags(built, condition_states(built))
    assert {item: [c for c, _ in rows] for item, rows in found.items()} == {
        "starter": ["ground", "starting"]
    }
    assert all(sag.sources["bat"].volts == Fraction("17.8") for _, sag in found["starter"])


def test_a_second_battery_without_sag_holds_the_bus_up() -> None:
    with_second = STARTER.replace(
        "internal-ohms: 0.02}}", "internal-ohms: 0.02}, aux: {kind: battery, volts: 23.4}}"
    ).replace("bat > main]", "bat > main, aux > main]")
    two = with_second.replace("sources: [bat]", "sources: [bat, aux]")
    # It is not within 0.5 V, so by the load rules the first battery carries all, but the bus
    # cannot fall below the 23.4 V of the second.
    [_, start] = sagging(two, "starting")
    assert start.opens == ()


def test_without_its_ohms_a_battery_does_not_sag() -> None:
    rigid = STARTER.replace(", internal-ohms: 0.02", "")
    assert sagging(rigid, "starting") == []
    assert start_sags(network(rigid), condition_states(network(rigid))) == {}


def test_what_draws_an_unknown_amount_makes_the_volts_at_most() -> None:
    [steady, _] = sagging(STARTER.replace("heater: {amps: 10, ", "heater: {"), "starting")
    assert steady.sources["bat"].at_most


def test_a_sag_changes_no_state() -> None:
    built = network(STARTER)
    before = condition_states(built)
    starting = 1 << 2
    assert before.steady.conducts["k-heat"] & starting
    assert before.works["radio"] & starting


def test_a_start_has_the_volts_that_are_left_at_the_item_itself() -> None:
    # 1,000 ft of gauge 0000 have 0.06 ohms (AC 43.13-1B, Table 11-9): 20 ft drop 0.36 V at 300 A.
    wired = STARTER.replace(
        "{bus: main, through: [k-start]}",
        '{bus: main, through: [k-start], wire: "0000", length: {feet: 20}}',
    )
    built = network(wired)
    [(_, sag), _] = start_sags(built, condition_states(built))["starter"]
    assert sag.at_item is not None
    assert sag.at_item.volts == Fraction("17.8") - Fraction("0.36")


def test_a_battery_that_does_not_carry_the_start_is_not_in_it() -> None:
    apart = STARTER.replace("buses: [main]", "buses: [main, standby]").replace(
        "internal-ohms: 0.02}}",
        "internal-ohms: 0.02}, aux: {kind: battery, volts: 24, internal-ohms: 0.1}}",
    )
    apart = (
        apart.replace("bat > main]", "bat > main, aux > standby]")
        .replace("sources: [bat]", "sources: [bat, aux]")
        .replace("equipment:", "equipment:\n  clock: {amps: 1, supplies: [{bus: standby}]}")
    )
    built = network(apart)
    [(_, sag), _] = start_sags(built, condition_states(built))["starter"]
    assert set(sag.sources) == {"bat"}
    assert set(sagging(apart, "starting")[0].sources) == {"bat", "aux"}


def test_a_start_contactor_that_never_had_its_volts_is_not_one_that_the_sag_opens() -> None:
    own = STARTER.replace('{start: "on"}}}', '{start: "on"}, volts-above: {main: 26}}}', 1)
    [(_, sag), *_] = start_sags(network(own), condition_states(network(own)))["starter"]
    assert "k-start" not in sag.opens


def test_of_two_supplies_of_a_starter_the_better_one_counts() -> None:
    # 20 ft of gauge 0000 drop 0.36 V at 300 A, 40 ft 0.72 V.
    supply = '{bus: main, through: [k-start], wire: "0000", length: {feet: 20}}'
    wired = STARTER.replace(
        "{bus: main, through: [k-start]}", f"{supply}, {supply.replace('20', '40')}"
    )
    built = network(wired)
    [(_, sag), _] = start_sags(built, condition_states(built))["starter"]
    assert sag.at_item is not None
    assert sag.at_item.volts == Fraction("17.8") - Fraction("0.36")


# 1,000 ft of gauge 10 have 1.26 ohms (AC 43.13-1B, Table 11-9): 10 ft drop 1.26 V at 100 A.
AT_THE_END = """
sources: {bat: {kind: battery, volts: 24, internal-ohms: 0.02}}
buses: [main, far]
devices: {k-heat: {kind: relay, closes-when: {volts-above: {far: LIMIT}}}}
feeders: [bat > main, {path: main > far, wire: 10, length: {feet: 10}}]
equipment:
  starter: {amps: 100, peak-amps: 300, supplies: [{bus: main}]}
  heater: {amps: 100, supplies: [{bus: far}]}
  lamp: {amps: 0, supplies: [{bus: far, through: [k-heat]}]}
conditions: {starting: {sources: [bat]}}
"""


@pytest.mark.parametrize(
    ("limit", "steady_opens", "start_opens"),
    # The battery shows 24 - 0.02 x 200 = 20 V, and in the start 16 V; the wire drops 1.26 V.
    [("18.8", True, True), ("18.7", False, True), ("14.8", False, True), ("14.7", False, False)],
)
def test_what_senses_a_bus_at_the_end_of_a_wire_would_open_by_the_wire_s_drop_too(
    limit: str, steady_opens: bool, start_opens: bool
) -> None:
    [steady, start] = sagging(AT_THE_END.replace("LIMIT", limit), "starting")
    assert steady.sources["bat"].volts == 20
    assert start.sources["bat"].volts == 16
    assert (steady.opens, start.opens) == (
        ("k-heat",) * steady_opens,
        ("k-heat",) * start_opens,
    )


def test_what_senses_a_bus_behind_two_wires_may_open_where_either_may_carry_all() -> None:
    # The bus has between 18.74 V and 20 V.
    twice = AT_THE_END.replace(
        "feeders: [", "feeders: [{path: main > far, wire: 10, length: {feet: 10}}, "
    )
    [steady, start] = sagging(twice.replace("LIMIT", "19"), "starting")
    assert (steady.opens, steady.may_open) == ((), ("k-heat",))
    assert (start.opens, start.may_open) == (("k-heat",), ())


def test_a_wire_s_drop_is_asked_where_no_source_sags() -> None:
    rigid = AT_THE_END.replace(", internal-ohms: 0.02", "").replace("LIMIT", "23")
    [steady] = sagging(rigid, "starting")
    assert (steady.sources, steady.opens) == ({}, ("k-heat",))


def test_a_small_start_is_told_where_it_makes_a_relay_open() -> None:
    # The pump adds 2 A: 0.1 V at 0.05 ohms, from 23.2 V to 23.1 V, under the relay's 23.15 V.
    small = """
    sources: {bat: {kind: battery, volts: 24, internal-ohms: 0.05}}
    buses: [main]
    devices: {k: {kind: relay, closes-when: {volts-above: {main: 23.15}}}}
    feeders: [bat > main]
    equipment:
      radio: {amps: 14, supplies: [{bus: main}]}
      pump: {amps: 2, peak-amps: 4, supplies: [{bus: main, through: [k]}]}
    conditions: {flight: {sources: [bat]}}
    """
    [steady, start] = sagging(small, "flight")
    assert (steady.opens, start.item, start.opens) == ((), "pump", ("k",))
    # Where nothing follows from it, it is too little to be told.
    assert len(sagging(small.replace("23.15", "20"), "flight")) == 1


def test_what_an_item_draws_in_its_start_follows_the_volts_that_are_left() -> None:
    """5,600 W and 10 A leave 24 - 0.02 x (10 + 5600 / V) V: V x V - 23.8 V + 112 = 0."""
    follows = STARTER.replace("sources:", "aircraft: {load-volts: 28}\nsources:", 1).replace(
        "peak-amps: 300", "load: constant-power, peak-amps: 200"
    )
    [_, start] = sagging(follows, "starting")
    volts = (23.8 + (23.8**2 - 4 * 112) ** 0.5) / 2
    assert float(start.sources["bat"].volts) == pytest.approx(volts, abs=0.002)
    assert float(start.item_amps) == pytest.approx(5600 / volts, abs=0.05)
    assert start.sources["bat"].amps == start.item_amps + 10


def test_what_draws_an_unknown_amount_too_leaves_a_certain_drop_certain() -> None:
    unknown = AT_THE_END.replace("LIMIT", "18.8").replace(
        "  lamp:", "  camera: {supplies: [{bus: far}]}\n  lamp:"
    )
    [steady, start] = sagging(unknown, "starting")
    assert (steady.opens, steady.may_open) == (("k-heat",), ())
    assert (start.opens, start.may_open) == (("k-heat",), ())


def test_each_source_has_the_start_that_takes_most_of_its_volts() -> None:
    """100 A of one battery move nothing; 80 A of the other, 84 with the rest, leave it 22.32 V."""
    net = network("""
    sources:
      bat-1: {kind: battery, volts: 24, internal-ohms: 0.02}
      bat-2: {kind: battery, volts: 24, internal-ohms: 0.02}
    buses: [one, two]
    devices: {k: {kind: relay, closes-when: {volts-above: {two: 22.6}}}}
    feeders: [bat-1 > one, bat-2 > two]
    equipment:
      pump: {supplies: [{bus: one}], amps: 1, peak-amps: 100}
      fan: {supplies: [{bus: two}], amps: 1, peak-amps: 80}
      lamp: {supplies: [{bus: two, through: [k]}], amps: 2}
      radio: {supplies: [{bus: two}], amps: 2, min-volts: 22.9}
    """)
    table = load_table(net, "flight")
    assert [(sag.item, sag.opens, sag.too_low) for sag in table.sags] == [
        ("", (), ()),
        ("pump", (), ()),
        ("fan", ("k",), ("radio",)),
    ]
    assert float(table.sags[2].sources["bat-2"].volts) == 22.32
    lines = "\n".join(load_text(net, table, ""))
    assert "sags to 22.0 V with 100.0 A drawn by pump" in lines
    assert "While fan starts: would open: k; below its least volts: radio" in lines


def test_sources_that_share_a_bus_sag_to_volts_between_those_of_their_shares() -> None:
    """By hand (Kirchhoff) both are at 28 - 100 x 0.05 x 0.01 / 0.06 = 27.17 V, and at 26.33 V in
    the start; by shares of 50 A they would be at 25.5 and 27.5 V.
    """
    net = """
    sources:
      g1: {volts: 28, amps: 100, internal-ohms: 0.05}
      g2: {volts: 28, amps: 100, internal-ohms: 0.01}
    buses: [main]
    feeders: [g1 > main, g2 > main]
    devices: {k: {kind: relay, closes-when: {volts-above: {g2: LIMIT}}}}
    equipment:
      pump: {amps: 100, peak-amps: 200, min-volts: 26, supplies: [{bus: main}]}
      radio: {amps: 0, supplies: [{bus: main, through: [k]}]}
    """
    for limit, opens, may_open in (("25", (), ()), ("26.5", (), ("k",)), ("27.6", ("k",), ())):
        steady = sagging(net.replace("LIMIT", limit), "flight")[0]
        assert (steady.opens, steady.may_open) == (opens, may_open)
        assert [(s.volts, s.bound) for s in steady.sources.values()] == [
            (Fraction("25.5"), "at least "),
            (Fraction("27.5"), "at most "),
        ]
        assert steady.may_be_low == ("pump",)
    start = sagging(net.replace("LIMIT", "26.5"), "flight")[1]
    assert [s.volts for s in start.sources.values()] == [23, 27]


def test_what_has_too_little_whatever_helps_is_certain() -> None:
    """The generator sags to 27 V, and to no less than 24 V in the start; the battery, which then
    helps, holds the bus at 26 V at the most, less 0.63 V along 10 ft of gauge 10 at 50 A.
    """
    net = """
    sources:
      gen: {volts: 28, amps: 100, internal-ohms: 0.01}
      bat: {kind: battery, volts: 26, internal-ohms: 0.01}
    buses: [main]
    feeders: [gen > main, bat > main]
    equipment:
      starter: {supplies: [{bus: main}], amps: 50, peak-amps: 350}
      heater: {amps: 50, supplies: [{bus: main, wire: 10, length: {feet: 10}}], min-volts: LEAST}
    """
    for least, too_low, may_be_low in (
        ("26.2", ("heater",), ()),
        ("25.4", ("heater",), ()),
        ("25.3", (), ("heater",)),
        ("23.3", (), ()),
    ):
        steady, start = sagging(net.replace("LEAST", least), "flight")
        assert (steady.too_low, steady.may_be_low) == ((), ())
        assert (start.too_low, start.may_be_low) == (too_low, may_be_low)
