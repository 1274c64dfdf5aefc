"""The audit of protection: can each side of a bus's feed carry it alone?

Common practice, no source.
"""

from __future__ import annotations

import random

import pytest

from tests.answers.audited import audited, strained
from tests.nets import expand

DUAL = """
sources: {left-gen: {volts: 28, amps: 100}, right-gen: {volts: 28, amps: 100}}
buses: [left, right, essential, avionics]
devices:
  cb-left: {kind: breaker, amps: %s}
  d-left: diode
  cb-right: {kind: breaker, amps: 40}
  d-right: diode
feeders:
  - left-gen > left
  - right-gen > right
  - left > cb-left > d-left > essential
  - right > cb-right > d-right > essential
  - essential > avionics
equipment:
  horizon: {supplies: [{bus: essential}], amps: 20}
  radio: {supplies: [{bus: avionics}], amps: 15}
  heater: {supplies: [{bus: left}], amps: 60}
"""


def test_each_side_of_a_dual_feed_carries_the_bus_and_what_hangs_below_alone() -> None:
    assert audited(DUAL % 35).sides == ()
    (found,) = audited(DUAL % 30).sides
    assert (found.component, found.amps, found.bus) == ("cb-left", 35, "essential")
    # With nothing failed each side carries half: no breaker is overloaded.
    assert audited(DUAL % 30).loads == ()


def test_what_has_another_feed_of_its_own_is_not_counted() -> None:
    net = (DUAL % 30).replace(
        "  - essential > avionics", "  - essential > avionics\n  - right > avionics"
    )
    # The other side is alone through `avionics`, so the left one never is.
    assert audited(net).sides == ()


def test_a_tie_carries_the_other_bar_once_its_generator_is_off_line() -> None:
    net = """
    sources: {left-gen: {volts: 28, amps: 100}, right-gen: {volts: 28, amps: 100}}
    buses: [left, right]
    devices:
      k-left: {kind: contactor, closes-when: {live: [left-gen]}}
      k-right: {kind: contactor, closes-when: {live: [right-gen]}}
      fl-tie: {kind: fuse-link, amps: 50}
    feeders: [left-gen > k-left > left, right-gen > k-right > right, left > fl-tie > right]
    equipment: {a: {supplies: [{bus: left}], amps: 40}, b: {supplies: [{bus: right}], amps: 70}}
    """
    (found,) = audited(net).sides
    assert (found.component, found.amps, found.bus) == ("fl-tie", 70, "right")


def test_external_power_carries_what_lies_beyond_a_tie_to_a_bar_without_power_of_its_own() -> None:
    net = """
    sources: {gen: {volts: 28, amps: 200}, ground-unit: {kind: external-power, volts: 28}}
    buses: [centre, left]
    devices:
      k-ground: {kind: contactor, amps: 50, closes-when: {live: [ground-unit]}}
      k-gen: {kind: contactor, closes-when: {live: [gen]}}
      fl: {kind: fuse-link, amps: 200}
    feeders: [ground-unit > k-ground > centre, gen > k-gen > left, centre > fl > left]
    equipment: {heater: {supplies: [{bus: left}], amps: 60}}
    conditions: {flight: {sources: [gen]}, ground: {sources: [ground-unit]}}
    """
    (found,) = audited(net).sides
    assert (found.component, found.amps, found.condition) == ("k-ground", 60, "ground")


def test_what_drops_out_by_itself_when_the_other_side_is_gone_is_not_counted() -> None:
    shed = """
  cb-shed: {kind: breaker, amps: 60}
  k-shed: {kind: contactor, closes-when: {closed: [cb-left, cb-right]}}
feeders:"""
    net = (
        (DUAL % 30).replace("\nfeeders:", shed).replace("essential > av", "essential > k-shed > av")
    )
    assert audited(net).sides == ()


def test_a_side_is_alone_with_the_other_opened_where_nothing_else_opens_with_it() -> None:
    # Both sides and the avionics share a relay's poles; what parts the sides is behind it.
    net = """
    sources: {left-gen: 28, right-gen: 28}
    buses: [essential, avionics]
    devices:
      k: {kind: relay, closes-when: {live: [left-gen]}}
      cb-left: {kind: breaker, amps: 30}
      %s
    feeders: [left-gen > k > cb-left > essential, right-gen > k > other > essential,
      essential > k > avionics]
    equipment:
      horizon: {supplies: [{bus: essential}], amps: 20}
      radio: {supplies: [{bus: avionics}], amps: 15}
    """
    for other in ("other: {kind: breaker, amps: 40}", "other: shunt"):
        assert strained(audited(net % other).sides) == [("cb-left", 35, 30)]


def test_a_side_is_opened_by_its_breaker_and_not_by_a_relay_with_other_poles() -> None:
    net = """
    sources: {left-gen: 28, right-gen: 28}
    buses: [essential, avionics]
    devices:
      k: {kind: relay, closes-when: {live: [left-gen]}}
      cb-left: {kind: breaker, amps: 40}
      cb-right: {kind: breaker, amps: 30}
    feeders: [left-gen > k > cb-left > essential, right-gen > cb-right > essential,
      essential > k > avionics]
    equipment:
      horizon: {supplies: [{bus: essential}], amps: 20}
      radio: {supplies: [{bus: avionics}], amps: 15}
    """
    assert strained(audited(net).sides) == [("cb-right", 35, 30)]


def test_a_pole_carries_what_is_downstream_of_it_alone() -> None:
    """30 A and 40 A through the two poles of a contactor: neither carries 70 A."""
    net = """
    sources: {gen: {volts: 28, amps: 300}}
    buses: [main, one, two]
    devices: {k: {kind: contactor, amps: %s, closes-when: {live: [gen]}}}
    feeders: [gen > main, main > k > one, main > k > two]
    equipment:
      heater: {supplies: [{bus: one}], amps: 30}
      fan: {supplies: [{bus: two}], amps: 40}
    """
    assert strained(audited(net % 50).loads) == []
    assert strained(audited(net % 35).loads) == [("k", 40, 35)]


def test_a_feeder_beside_a_bare_conductor_is_never_alone() -> None:
    net = """
    sources: {gen: 28, other: 28}
    buses: [a, b]
    devices: {k: {kind: relay, amps: 10, closes-when: {live: [gen]}}}
    feeders: [gen > k > a, other > a, a > k > b]
    equipment: {heater: {supplies: [{bus: b}], amps: 20}}
    """
    found = audited(net)
    assert [(o.component, o.bus) for o in (*found.loads, *found.sides)] == [("k", "b")]


def test_a_feeder_that_is_alone_carries_the_amps_at_its_own_volts() -> None:
    """Of 20 A at 28 V constant power draws 28 A at the 20 V of the battery, and a resistor 14.3."""
    net = """
    aircraft: {load-volts: 28}
    sources: {gen: 28, bat: {kind: battery, volts: 20}}
    buses: [essential]
    devices:
      cb-gen: {kind: breaker, amps: 40}
      cb-bat: {kind: breaker, amps: 22}
      d: diode
    feeders: [gen > cb-gen > d > essential, bat > cb-bat > essential]
    equipment: {radio: {supplies: [{bus: essential}], amps: 20, load: LOAD}}
    """
    assert strained(audited(net.replace("LOAD", "constant-power")).sides) == [("cb-bat", 28, 22)]
    assert strained(audited(net.replace("LOAD", "resistive")).sides) == []


def test_of_several_batteries_one_alone_carries_all_at_what_it_leaves_behind_its_diode() -> None:
    """Behind 0.9 V the bus has 23.5 V: 12 A, 24 x 23.5 / 24 = 23.5 A, and 6 x 24 / 23.5 A."""
    net = """
    aircraft: {load-volts: 24}
    sources:
      gen: 28
      one: {kind: battery, volts: 24}
      two: {kind: battery, volts: 24.4}
    buses: [essential]
    devices:
      cb: {kind: breaker, amps: 25}
      d-gen: diode
      d-one: diode
      d-two: {kind: diode, drop-volts: 0.9}
    feeders: [gen > d-gen > essential, one > d-one > essential, two > cb > d-two > essential]
    equipment:
      lamp: {supplies: [{bus: essential}], amps: 12}
      heater: {supplies: [{bus: essential}], amps: 24, load: resistive}
      radio: {supplies: [{bus: essential}], amps: 6, load: constant-power}
    """
    (found,) = audited(net).sides
    assert found.amps == pytest.approx(12 + 23.5 + 6 * 24 / 23.5)


def test_a_feeder_that_is_alone_does_not_carry_what_then_draws_elsewhere() -> None:
    """The generator holds the bus at 27.3 V, and the radio draws there; the battery at 24 V."""
    net = """
    sources: {gen: 28, bat: {kind: battery, volts: 24}, aux: {kind: battery, volts: OTHER}}
    buses: [essential, side]
    devices: {cb: {kind: breaker, amps: 15}, tie: {kind: breaker, amps: 30}, d: diode}
    feeders: [gen > tie > d > essential, bat > cb > essential, aux > side]
    equipment:
      lamp: {supplies: [{bus: essential}], amps: 10}
      radio: {supplies: [{bus: essential}, {bus: side}], amps: 8}
    """
    assert strained(audited(net.replace("OTHER", "26")).sides) == []
    assert strained(audited(net.replace("OTHER", "22")).sides) == [("cb", 18, 15)]


@pytest.mark.parametrize("seed", range(40))
def test_in_a_net_like_a_tree_every_feeder_carries_the_sum_of_its_branch(seed: int) -> None:
    chance = random.Random(seed)
    count = chance.randint(2, 12)
    parents = {i: chance.randrange(i) for i in range(1, count)}
    amps = [chance.choice([0, 1.5, 4, 20]) for _ in range(count)]
    carried = list(amps)
    for i in sorted(parents, reverse=True):
        carried[parents[i]] += carried[i]
    catalogue = expand("sources: {gen: 28}\nequipment: {}\n")
    catalogue["buses"] = [{"id": f"bus-{i}", "name": f"Bus {i}"} for i in range(count)]
    catalogue["devices"] = [
        # Every other breaker is just large enough.
        {
            "id": f"cb-{i}",
            "name": f"CB {i}",
            "kind": "breaker",
            "amps": max(carried[i] - i % 2 * 0.5, 0.5),
        }
        for i in range(count)
    ]
    catalogue["feeders"] = [
        {
            "from": f"bus-{parents[i]}" if i else "gen",
            "to": f"bus-{i}",
            "through": [f"cb-{i}"],
        }
        for i in range(count)
    ]
    catalogue["equipment"] = [
        {"id": f"e-{i}", "name": "E", "ata": "24", "supplies": [{"bus": f"bus-{i}"}], "amps": a}
        for i, a in enumerate(amps)
    ]
    expected = [
        (f"cb-{i}", carried[i], carried[i] - 0.5)
        for i in range(count)
        if i % 2 and carried[i] > 0.5
    ]
    assert strained(audited(catalogue).loads) == expected
