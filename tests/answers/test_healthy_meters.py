"""What the meters of a healthy aircraft may show, and that it is never diagnosed as a failure."""

from __future__ import annotations

import random

import pytest

from sitegen.answers.drop import drop, fault, losses
from sitegen.answers.find import NotFound, find_observation
from sitegen.answers.loads.drawn import draws
from sitegen.answers.next_checks import HEALTHY
from sitegen.answers.readings import banded, reads_the_same
from sitegen.answers.signatures import Signatures, signature_table
from sitegen.answers.single_failures import single_failures
from sitegen.answers.troubleshoot import Diagnosis, troubleshoot
from sitegen.solver.network import Network
from sitegen.solver.outcome import condition_states, solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from sitegen.terminal.diagnosis_json import diagnosis_json
from sitegen.terminal.diagnosis_text import diagnosis_text
from sitegen.terminal.drop_text import loss_text
from tests.answers.healthy import at_own_volts, seen_at_random
from tests.nets import network
from tests.samples import sample_size

PAIR = """
sources:
  gen-1: {kind: generator, volts: 28, amps: 200}
  gen-2: {kind: generator, volts: %s, amps: 100}
  bat: {kind: battery, volts: 24, volts-range: [22, 25.2]}
buses: [left, right]
devices: {k-1: breaker, k-2: breaker, left-link: fuse-link, shunt: shunt}
feeders: [gen-1 > k-1 > left, gen-2 > k-2 > right, left > left-link > right, bat > shunt > left]
equipment:
  heater: {supplies: [{bus: left}], amps: 120}
  radio: {supplies: [{bus: right}], amps: 63}
indications:
  load-1: {kind: loadmeter, at: gen-1}
  load-2: {kind: loadmeter, at: gen-2}
  bat-amps: {kind: ammeter, at: shunt}
  bat-volts: {kind: voltmeter, at: bat}
conditions: {flight: {sources: [gen-1, gen-2, bat]}, battery: {sources: [bat]}}
"""

CHARGED = """
sources:
  gen: {kind: generator, volts: 28, amps: 400}
  bat: {kind: battery, volts: 24, volts-range: [22, 25.2], charge-amps: [%s]}
buses: [main, hot]
devices: {k-gen: breaker, shunt: shunt, fl-bat: fuse-link, fl-hot: fuse-link}
feeders: [gen > k-gen > main, bat > shunt > fl-bat > main, bat > fl-hot > hot]
equipment:
  heater: {supplies: [{bus: main}], amps: 100}
  clock: {supplies: [{bus: hot}], amps: %s}
indications: {bat-amps: {kind: ammeter, at: shunt}, gen-load: {kind: loadmeter, at: gen}}
conditions: {flight: {sources: [gen, bat]}, battery: {sources: [bat]}}
"""


def shows(net: Network, meter: str, *failed: str, condition: str = "flight") -> str:
    faults = [fault(net, name) for name in failed]
    return str(drop(net, condition, faults).readings[meter])


def diagnosed(net: Network, condition: str = "flight", **seen: str) -> Diagnosis:
    observations = [find_observation(net, name.replace("_", "-"), it) for name, it in seen.items()]
    return troubleshoot(net, condition, observations, order=1)


def healthy(net: Network, condition: str = "flight", **seen: str) -> bool:
    """Whether the first answer is that nothing need have failed."""
    found = diagnosed(net, condition, **seen)
    lines = list(diagnosis_text(net, found))
    first = next(line for line in lines[2:] if line)
    assert first.startswith("Nothing need have failed:") == found.nothing_failed_fits
    return found.nothing_failed_fits


# Sharing


def test_two_generators_that_share_unequally_are_healthy_and_no_link_is_diagnosed() -> None:
    """183 A on 300 A: each gives 61 % of its rating, or 10 % of the rating more or less."""
    net = network(PAIR % 28)
    assert shows(net, "load-1") == shows(net, "load-2") == "51 to 71 %"
    assert healthy(net, load_1="55", load_2="67")
    assert healthy(net, load_1="67", load_2="55")


def test_the_needle_of_a_sharing_loadmeter_may_be_off_besides_but_no_further() -> None:
    net = network(PAIR % 28)
    assert healthy(net, load_1="46")
    assert healthy(net, load_1="76")
    assert not healthy(net, load_1="45.9")
    assert not healthy(net, load_1="76.1")


def test_sources_half_a_volt_apart_share_and_further_apart_they_do_not() -> None:
    assert shows(network(PAIR % 27.5), "load-1") == "51 to 71 %"
    apart = network(PAIR % 27.499)
    assert (shows(apart, "load-1"), shows(apart, "load-2")) == ("92 %", "0 %")


def test_a_generator_that_carries_its_load_alone_has_no_band() -> None:
    net = network(PAIR % 28)
    assert shows(net, "load-1", "gen-2") == "92 %"
    assert (shows(net, "load-1", "left-link"), shows(net, "load-2", "left-link")) == (
        "60 %",
        "63 %",
    )


def test_of_what_sources_share_any_may_carry_all_where_one_has_no_rating() -> None:
    net = network(
        (PAIR % 28)
        .replace("28, amps: 200", "28")
        .replace("at: gen-1}", "at: gen-1}\n  tie-amps: {kind: ammeter, at: left-link}")
    )
    assert shows(net, "load-1") == "0 to 183 A"
    assert shows(net, "load-2") == "0 to 183 %"
    # By the tie goes what the one feeds of the other's bus.
    assert shows(net, "tie-amps") == "0 to 120 A"
    assert healthy(net, load_1="123", load_2="60")
    assert not healthy(net, load_1="190")
    # What one carries alone is known.
    assert shows(net, "load-1", "gen-2") == "183 A"
    assert shows(net, "load-1", "left-link") == "120 A"
    assert (("left-link", "open"),) in diagnosed(net, load_1="120", load_2="63").candidates


def test_a_share_falls_to_nothing_at_the_least() -> None:
    net = network((PAIR % 28).replace("amps: 120", "amps: 3").replace("amps: 63", "amps: 12"))
    # 10 of 15 A by rating, all of them at the most, of 200.
    assert shows(net, "load-1") == "0 to 8 %"
    assert healthy(net, load_1="no load")
    assert healthy(net, load_1="load")


def test_what_feeds_two_rectifiers_that_share_varies_with_them() -> None:
    """Of 40 A each rectifier gives 20 A, 5 A more or less; on the AC side a quarter of that."""
    net = network(
        """
    sources:
      gen: {kind: generator, current: ac, volts: 100, amps: 10}
      far: {kind: generator, current: ac, volts: 100, amps: 10}
      tr-1: {kind: converter, volts: 25, amps: 50, efficiency: 1, fed-from: [{bus: ac-1}]}
      tr-2: {kind: converter, volts: 25, amps: 50, efficiency: 1, fed-from: [{bus: ac-2}]}
    buses: [dc]
    feeders: [gen > ac-1, far > ac-2, tr-1 > dc, tr-2 > dc]
    equipment: {heater: {supplies: [{bus: dc}], amps: 40}}
    indications:
      gen-load: {kind: loadmeter, at: gen}
      tr-load: {kind: loadmeter, at: tr-1}
    """.replace("buses: [dc]", "buses: [dc, ac-1, ac-2]")
    )
    assert shows(net, "tr-load") == "30 to 50 %"
    assert shows(net, "gen-load") == "38 to 63 %"
    assert shows(net, "gen-load", "tr-2") == "100 %"


def test_an_ammeter_in_a_tie_varies_by_no_more_than_the_smaller_side_makes_up() -> None:
    """The tie carries 2 A, by rating; generator 2 may give 10 A more or less."""
    text = (PAIR % 28).replace("at: shunt", "at: left-link")
    net = network(text)
    assert shows(net, "bat-amps") == "0 to 12 A"


def test_what_several_sources_feed_through_one_device_is_the_same_however_they_share() -> None:
    net = network("""
    sources: {a: {volts: 28, amps: 100}, b: {volts: 28, amps: 100}}
    buses: [main, sub]
    devices: {shunt: shunt, k-a: breaker}
    feeders: [a > k-a > main, b > main, main > shunt > sub]
    equipment: {heater: {supplies: [{bus: sub}], amps: 40}}
    indications: {sub-amps: {kind: ammeter, at: shunt}, a-amps: {kind: ammeter, at: k-a}}
    """)
    assert shows(net, "sub-amps") == "40 A"
    assert shows(net, "a-amps") == "10 to 30 A"


ORED = """
sources: {g1: {volts: 28, amps: 100}, g2: {volts: 28, amps: 100}}
buses: [l, r, ess]
devices: {d1: diode, d2: diode, cb1: breaker, cb2: breaker, tie: {kind: contactor%s}}
feeders: [g1 > l, g2 > r, l > cb1 > d1 > ess, r > cb2 > d2 > ess, l > tie > r]
equipment:
  left: {supplies: [{bus: l}], amps: 50}
  right: {supplies: [{bus: r}], amps: 5}
  both: {supplies: [{bus: ess}], amps: 40}
indications:
  load-1: {kind: loadmeter, at: g1}
  load-2: {kind: loadmeter, at: g2}
  amps-1: {kind: ammeter, at: cb1}
"""


def test_sources_that_meet_only_through_diodes_share_in_any_way() -> None:
    """A few millivolts decide which of two like generators feeds the bus between them."""
    net = network(ORED % ", closes-when: {dead: [g1]}")
    assert (shows(net, "load-1"), shows(net, "load-2")) == ("50 to 90 %", "5 to 45 %")
    assert shows(net, "amps-1") == "0 to 40 A"
    assert healthy(net, load_1="50", load_2="45")
    assert healthy(net, load_1="90", load_2="5")
    # Both cannot leave it to the other.
    assert not healthy(net, load_1="50", load_2="5")
    # With their buses joined they share by rating, 48 % each, 10 % more or less.
    assert shows(network(ORED % ", closes-when: {live: [g1]}"), "load-1") == "38 to 58 %"


# Volts


def test_a_battery_that_sags_within_its_range_is_healthy() -> None:
    net = network(PAIR % 28)
    assert shows(net, "bat-volts", condition="battery") == "22 to 25.2 V"
    assert healthy(net, "battery", bat_volts="22.4")


@pytest.mark.parametrize(
    ("volts", "tolerance", "fits"),
    [
        # By its tolerance a voltmeter may be off besides.
        ("20.5", 1.5, True),
        ("20.49", 1.5, False),
        ("26.7", 1.5, True),
        ("26.71", 1.5, False),
        # Never closer than 5 % of what is there: 22 less 1.1 V, 25.2 plus 1.26 V.
        ("20.9", 0, True),
        ("20.89", 0, False),
        ("26.46", 0, True),
        ("26.47", 0, False),
    ],
)
def test_the_ends_of_a_volts_range(volts: str, tolerance: float, fits: bool) -> None:
    net = network(PAIR % 28)
    seen = [find_observation(net, "bat-volts", volts)]
    assert troubleshoot(net, "battery", seen, tolerance, 1).nothing_failed_fits == fits


DIODES = """
sources:
  gen: {kind: generator, volts: 28}
  a: {kind: battery, volts: 24, volts-range: [22, 25.2]}
  b: {kind: battery, volts: 23, volts-range: [22.5, 23.5]}
buses: [main, essential]
devices: {d-1: diode, d-2: {kind: diode, drop-volts: 0.5}, fl-b: fuse-link}
feeders: [gen > main, a > d-1 > main, main > d-2 > essential, b > fl-b > essential]
equipment: {lamp: {supplies: [{bus: essential}], amps: 1}}
indications: {volts: {kind: voltmeter, at: main}, lower: {kind: voltmeter, at: essential}}
conditions: {flight: {sources: [gen, a, b]}, battery: {sources: [a, b]}}
"""


def test_a_bus_shows_the_range_of_what_feeds_it_less_the_diodes() -> None:
    net = network(DIODES)
    assert shows(net, "volts", condition="battery") == "21.3 to 24.5 V"
    assert shows(net, "lower", "fl-b", condition="battery") == "20.8 to 24 V"
    # With both batteries the higher one counts: 22.5 to 23.5 V of b, and a up to 24 V.
    assert shows(net, "lower", condition="battery") == "22.5 to 24 V"


def test_while_a_generator_feeds_a_bus_its_volts_are_those_of_the_generator() -> None:
    net = network(DIODES)
    assert (shows(net, "volts"), shows(net, "lower")) == ("28 V", "27.5 V")
    assert shows(net, "volts", "gen") == "21.3 to 24.5 V"


def test_a_generator_s_volts_may_have_a_range_too() -> None:
    net = network(DIODES.replace("volts: 28}", "volts: 28, volts-range: [27.5, 29]}"))
    assert (shows(net, "volts"), shows(net, "lower")) == ("27.5 to 29 V", "27 to 28.5 V")


def test_amps_that_follow_volts_have_a_band_as_the_battery_sags() -> None:
    """10 A at 24 V are 12 A of constant power at 20 V, and 9.6 A at 25 V."""
    net = network("""
    sources: {bat: {kind: battery, volts: 24, volts-range: [20, 25]}}
    buses: [main]
    devices: {shunt: shunt}
    feeders: [bat > shunt > main]
    equipment: {radio: {supplies: [{bus: main}], amps: 100, load: constant-power}}
    indications: {bat-amps: {kind: ammeter, at: shunt}}
    aircraft: {load-volts: 24}
    """)
    assert shows(net, "bat-amps") == "96 to 120 A discharge"


# Charging


def test_a_healthy_battery_charges_by_anything_within_its_charge_amps() -> None:
    net = network(CHARGED % ("0, 60", 0))
    assert shows(net, "bat-amps") == "charging, 0 to 60 A"
    for charge in ("1 charge", "30 charge", "60 charge", "65 charge", "0", "no load", "load"):
        assert healthy(net, bat_amps=charge), charge
    assert not healthy(net, bat_amps="65.1 charge")


def test_a_discharge_with_the_generator_on_line_is_not_healthy() -> None:
    net = network(CHARGED % ("0, 60", 0))
    found = diagnosed(net, bat_amps="100 discharge")
    assert not found.nothing_failed_fits
    assert {(("gen", "lost"),), (("k-gen", "open"),)} <= set(found.candidates)
    assert not healthy(net, bat_amps="3 discharge")


def test_a_lamp_whose_limit_is_within_the_batterys_range_may_be_lit_or_dark() -> None:
    """On the battery, 22 to 25.2 V; on the generator, 28 V, there is no doubt."""
    net = network("""
    sources: {gen: 28, bat: {kind: battery, volts: 24, volts-range: [22, 25.2]}}
    buses: [main]
    feeders: [gen > main, bat > main]
    indications:
      low: {kind: lamp, lit-when: {volts-below: {main: 25}}}
      flat: {kind: lamp, lit-when: {volts-below: {main: 21}}}
      at-source: {kind: flag, lit-when: {volts-above: {bat: 25.2}}}
      v: {kind: voltmeter, at: main}
    """)
    healthy, lost = drop(net, "flight", ()), drop(net, "flight", [("gen", "lost")])
    assert {i: str(r) for i, r in lost.readings.items()} == {
        "low": "lit or unlit",
        "flat": "unlit",
        "at-source": "unlit",
        "v": "22 to 25.2 V",
    }
    assert str(healthy.readings["low"]) == "unlit"
    assert "  low: lit or unlit (was unlit)" in list(
        loss_text(net, lost, healthy, None, after=False)
    )
    for seen in ("lit", "unlit"):
        observed = [find_observation(net, "low", seen), find_observation(net, "v", "24")]
        assert (("gen", "lost"),) in troubleshoot(net, "flight", observed, order=1).candidates, seen


def test_what_is_fed_past_the_battery_adds_to_its_charge() -> None:
    net = network(CHARGED % ("10, 60", 9))
    assert shows(net, "bat-amps") == "charging, 19 to 69 A"
    assert healthy(net, bat_amps="14 charge")
    assert not healthy(net, bat_amps="13.9 charge")
    assert not healthy(net, bat_amps="0")
    assert (("fl-bat", "open"),) in diagnosed(net, bat_amps="0").candidates


def test_without_a_generator_the_meter_of_a_charged_battery_must_show_a_discharge() -> None:
    net = network(CHARGED % ("0, 60", 9))
    assert shows(net, "bat-amps", condition="battery") == "100 A discharge"
    assert shows(net, "bat-amps", "gen") == "100 A discharge"
    assert healthy(net, "battery", bat_amps="100 discharge")
    assert not healthy(net, "battery", bat_amps="30 charge")
    assert not healthy(net, "battery", bat_amps="0")


def test_a_battery_that_does_not_produce_takes_no_charge() -> None:
    net = network(CHARGED % ("10, 60", 9))
    assert shows(net, "bat-amps", "bat") == "9 A charge side"
    assert (("bat", "lost"),) in diagnosed(net, bat_amps="5 charge").candidates


def test_the_generator_s_loadmeter_shows_what_the_battery_takes() -> None:
    """109 A and a charge of 10 to 60 A on 400 A."""
    net = network(CHARGED % ("10, 60", 9))
    assert shows(net, "gen-load") == "30 to 42 %"
    assert shows(net, "gen-load", "fl-bat") == "25 %"


def test_an_ammeter_at_the_battery_itself_shows_its_charge_alone() -> None:
    net = network((CHARGED % ("10, 60", 9)).replace("at: shunt", "at: bat"))
    assert shows(net, "bat-amps") == "charging, 10 to 60 A"
    assert shows(net, "bat-amps", "gen") == "109 A discharge"


def test_generators_with_nothing_on_but_a_charging_battery_share_its_charge() -> None:
    """Up to 60 A on 300 A are 20 % each, and 10 % more or less."""
    text = (PAIR % 28).replace("25.2]}", "25.2], charge-amps: [0, 60]}")
    net = network(text.replace("amps: 120", "amps: 0").replace("amps: 63", "amps: 0"))
    assert shows(net, "load-1") == shows(net, "load-2") == "0 to 30 %"


def test_a_charge_is_a_charge_whichever_way_the_feeder_is_written() -> None:
    text = (CHARGED % ("0, 60", 0)).replace("bat > shunt > fl-bat > main", "main > shunt > bat")
    net = network(text)
    assert shows(net, "bat-amps") == "charging, 0 to 60 A"
    assert shows(net, "bat-amps", "gen") == "100 A discharge"
    assert not healthy(net, bat_amps="30 discharge")


def test_of_two_batteries_that_share_neither_turns_to_charging() -> None:
    net = network("""
    sources:
      a: {kind: battery, volts: 24, amps: 100}
      b: {kind: battery, volts: 24, amps: 100}
    buses: [main]
    devices: {shunt: shunt}
    feeders: [a > shunt > main, b > main]
    equipment: {radio: {supplies: [{bus: main}], amps: 8}}
    indications: {a-amps: {kind: ammeter, at: shunt}}
    """)
    # No more than all that the radio draws.
    assert shows(net, "a-amps") == "0 to 8 A discharge"
    assert healthy(net, a_amps="0")
    assert not healthy(net, a_amps="4 charge")


def test_two_batteries_that_share_a_bus_do_not_charge_each_other() -> None:
    net = network("""
    sources:
      a: {kind: battery, volts: 24, charge-amps: [5, 60]}
      b: {kind: battery, volts: 24.5, charge-amps: [5, 60]}
    buses: [main]
    devices: {shunt: shunt}
    feeders: [a > shunt > main, b > main]
    equipment: {radio: {supplies: [{bus: main}], amps: 20}}
    indications: {a-amps: {kind: ammeter, at: shunt}}
    """)
    # Without ratings nothing says how they divide it.
    assert shows(net, "a-amps") == "0 to 20 A discharge"


# Each source anywhere in its range

BEHIND_DIODES = """
sources:
  a: {kind: battery, volts: 24, volts-range: [22, 25.2], amps: 100, charge-amps: [0, 30]}
  b: {kind: battery, volts: 24, volts-range: [22, 25.2], amps: 100, charge-amps: [0, 30]}
buses: [main]
devices: {shunt-a: shunt, shunt-b: shunt, d-a: diode, d-b: diode}
feeders: [a > shunt-a > d-a > main, b > shunt-b > d-b > main]
equipment: {heater: {supplies: [{bus: main}], amps: 40}}
indications:
  a-amps: {kind: ammeter, at: shunt-a}
  b-amps: {kind: ammeter, at: shunt-b}
"""
IN_PARALLEL = BEHIND_DIODES.replace("> d-a ", "").replace("> d-b ", "")

OVERLAPPING = """
sources:
  gen: {kind: generator, volts: 25, volts-range: [24, 26], amps: 100}
  bat: {kind: battery, volts: 24, volts-range: [22, 25.2], charge-amps: [5, 20]}
buses: [main]
devices: {shunt: shunt}
feeders: [gen > main, bat > shunt > main]
equipment: {heater: {supplies: [{bus: main}], amps: 40}}
indications: {gen-load: {kind: loadmeter, at: gen}, bat-amps: {kind: ammeter, at: shunt}}
"""

TWO_BUSES = """
aircraft: {load-volts: 24}
sources:
  a: {kind: battery, volts: 24, volts-range: [22, 25.2], charge-amps: [5, 30]}
  b: {kind: battery, volts: 24, volts-range: [22, 25.2]}
  inv: {kind: converter, current: ac, volts: 115, fed-from: [{bus: left}, {bus: right}]}
buses: [left, right, ac]
devices: {shunt-a: shunt, shunt-b: shunt}
feeders: [a > shunt-a > left, b > shunt-b > right, inv > ac]
equipment:
  radio: {supplies: [{bus: left}, {bus: right}], amps: 36, load: constant-power}
  horizon: {supplies: [{bus: ac}], amps: 2}
indications:
  a-amps: {kind: ammeter, at: shunt-a}
  b-amps: {kind: loadmeter, at: b}
"""

TIED = """
sources:
  a: {kind: battery, volts: 24, volts-range: [22, 25.2], amps: 100, charge-amps: [0, 30]}
  b: {kind: battery, volts: 24.8, volts-range: [23, 26], amps: 50, charge-amps: [5, 10]}
  c: {kind: battery, volts: 24, volts-range: [23.9, 24.1], amps: 60}
buses: [left, mid, right]
devices: {shunt-a: shunt, shunt-b: shunt, tie-1: shunt, tie-2: shunt, d-c: diode}
feeders:
  - a > shunt-a > left
  - b > shunt-b > right
  - c > d-c > mid
  - left > tie-1 > mid
  - mid > tie-2 > right
equipment:
  heater: {supplies: [{bus: left}], amps: 40}
  radio: {supplies: [{bus: right}], amps: 25}
indications:
  a-amps: {kind: ammeter, at: shunt-a}
  b-amps: {kind: ammeter, at: shunt-b}
  c-load: {kind: loadmeter, at: c}
  left-tie: {kind: ammeter, at: tie-1}
  right-tie: {kind: ammeter, at: tie-2}
"""


def test_of_two_batteries_behind_diodes_the_fuller_one_may_carry_everything() -> None:
    """22 V and 25.2 V: one gives all of 40 A, and its diode keeps the other from being charged."""
    net = network(BEHIND_DIODES)
    assert shows(net, "a-amps") == shows(net, "b-amps") == "0 to 40 A discharge"
    assert healthy(net, a_amps="40 discharge", b_amps="0")
    assert healthy(net, a_amps="0", b_amps="40 discharge")
    assert healthy(net, a_amps="45 discharge")
    assert not healthy(net, a_amps="45.1 discharge")
    assert not healthy(net, a_amps="2 charge")


def test_a_healthy_band_still_explains_by_failures_what_they_show() -> None:
    net = network(BEHIND_DIODES)
    found = diagnosed(net, a_amps="0", b_amps="40 discharge")
    assert {(("a", "lost"),), (("shunt-a", "open"),)} <= set(found.candidates)
    assert shows(net, "b-amps", "a") == "40 A discharge"
    assert not healthy(net, a_amps="0", b_amps="60 discharge")


def test_of_two_batteries_in_parallel_the_fuller_one_may_charge_the_other() -> None:
    """It gives 40 A and up to 30 A of charge; the other shows the charge."""
    net = network(IN_PARALLEL)
    assert shows(net, "a-amps") == shows(net, "b-amps") == "0 to 70 A"
    assert healthy(net, a_amps="70 discharge", b_amps="30 charge")
    assert healthy(net, a_amps="30 charge", b_amps="70 discharge")
    assert not healthy(net, a_amps="30 charge", b_amps="40 discharge")
    assert not healthy(net, a_amps="35.1 charge")
    assert not healthy(net, a_amps="75.1 discharge")


def test_batteries_less_than_half_a_volt_apart_at_most_share_and_charge_nothing() -> None:
    text = IN_PARALLEL.replace("[22, 25.2]", "[23.75, 24.25]")
    assert shows(network(text), "a-amps") == "10 to 30 A discharge"
    further = network(text.replace("[23.75, 24.25]", "[23.75, 24.251]", 1))
    assert shows(further, "a-amps") == "10 to 70 A discharge"
    assert shows(further, "b-amps") == "0 to 30 A"


def test_a_battery_that_may_be_above_the_generator_may_carry_its_load() -> None:
    """At 26 V the generator gives 40 A and a charge of 5 to 20 A; at 24 V a full battery does."""
    net = network(OVERLAPPING)
    assert shows(net, "gen-load") == "0 to 60 %"
    assert shows(net, "bat-amps") == "0 to 40 A"
    assert healthy(net, gen_load="0", bat_amps="40 discharge")
    assert healthy(net, gen_load="60", bat_amps="20 charge")
    assert not healthy(net, bat_amps="25.1 charge")
    apart = network(
        OVERLAPPING.replace("[24, 26]", "[25.701, 26]").replace("volts: 25,", "volts: 26,")
    )
    assert shows(apart, "gen-load") == "45 to 60 %"
    assert shows(apart, "bat-amps") == "charging, 5 to 20 A"


RECTIFIERS = """
sources:
  alt-1: {kind: generator, volts: 115, amps: 60, current: ac}
  alt-2: {kind: generator, volts: 115, amps: 60, current: ac}
  t1: &first {kind: converter, volts: 28, amps: 100, fed-from: {bus: ac-1}, volts-range: [27, 29]}
  t2: *first
  t3: &other {kind: converter, volts: 28, amps: 100, fed-from: {bus: ac-2}, volts-range: [27, 29]}
  t4: *other
buses: {ac-1: {current: ac}, ac-2: {current: ac}, x: {}, y: {}}
devices: {d1: diode, d2: diode, d3: diode, d4: diode}
feeders: [alt-1 > ac-1, alt-2 > ac-2, t1 > d1 > x, t3 > d3 > x, t2 > d2 > y, t4 > d4 > y]
equipment: {ix: {supplies: [{bus: x}], amps: 80}, iy: {supplies: [{bus: y}], amps: 80}}
indications: {l1: {kind: loadmeter, at: alt-1}, l2: {kind: loadmeter, at: alt-2}}
"""


def test_of_four_rectifiers_any_two_may_be_the_higher() -> None:
    """Alternator 1 feeds the higher two: 160 A x 28 V / (0.8 x 115 V) = 48.7 A, 81 %."""
    assert healthy(network(RECTIFIERS), l1="81", l2="0")


def test_what_a_converter_takes_follows_its_own_volts_within_its_range() -> None:
    """100 A at 24 to 30 V through 80 % from 115 V: 26.1 to 32.6 A of 40 A."""
    net = network("""
sources:
  alt: {kind: generator, volts: 115, amps: 40, current: ac}
  tru: {kind: converter, volts: 28, amps: 120, fed-from: {bus: ac}, volts-range: [24, 30]}
buses: {ac: {current: ac}, dc: {}}
feeders: [alt > ac, tru > dc]
equipment: {heater: {supplies: [{bus: dc}], amps: 100}}
indications: {load: {kind: loadmeter, at: alt}}
""")
    assert shows(net, "load") == "65 to 82 %"
    for read, fits in ((60, False), (65, True), (82, True), (88, False)):
        assert healthy(net, load=str(read)) == fits, read


def test_the_input_of_a_converter_varies_with_its_share() -> None:
    """It gives 150 A of 300 A, 40 A more or less: 28 x (110 to 190) / (0.8 x 115) A at 115 V."""
    net = network("""
sources:
  gen: {volts: 28, amps: 400}
  alt: {kind: generator, volts: 115, amps: 100, current: ac}
  tru: {kind: converter, volts: 28, amps: 400, efficiency: 0.8,
    fed-from: {bus: ac, through: [cb]}}
buses: {ac: {current: ac}, main: {}}
devices: {cb: breaker}
feeders: [gen > main, alt > ac, tru > main]
equipment: {heater: {supplies: [{bus: main}], amps: 300}}
indications: {taken: {kind: ammeter, at: cb}, load: {kind: loadmeter, at: alt}}
""")
    assert shows(net, "taken") == "33 to 58 A"
    assert shows(net, "load") == "33 to 58 %"


def test_what_may_draw_elsewhere_adds_nothing_to_what_is_shared() -> None:
    """Each rectifier may carry all of 20 A, and no more, whatever the heater draws where."""
    net = network("""
sources:
  alt: {kind: generator, volts: 115, amps: 40, current: ac}
  t-1: {kind: converter, volts: 28, amps: 400, fed-from: {bus: left}}
  t-2: {kind: converter, volts: 28, amps: 400, fed-from: {bus: right}}
buses: {left: {current: ac}, right: {current: ac}, dc: {}}
feeders: [alt > left, alt > right, t-1 > dc, t-2 > dc]
equipment:
  radio: {supplies: [{bus: dc}], amps: 20}
  heater: {supplies: [{bus: left}, {bus: right}], amps: 30}
indications: {load: {kind: ammeter, at: t-1}}
""")
    assert shows(net, "load") == "0 to 20 A"


def test_what_has_two_supplies_draws_from_the_fuller_battery_alone() -> None:
    """By however little it is fuller: 36 A at 24 V are 39.3 A of constant power at 22 V, and the
    inverter takes 2 x 115 / (0.8 x 22) A, 13.1 A.
    """
    net = network(TWO_BUSES)
    assert shows(net, "a-amps") == "0 to 52 A discharge"
    assert shows(net, "b-amps") == "0 to 52 A"
    assert healthy(net, a_amps="0", b_amps="46")


def test_a_meter_that_one_state_leaves_without_current_does_not_show_load_for_certain() -> None:
    text = BEHIND_DIODES.replace("amps: 40}", "on-loss: cold}")
    assert shows(network(text), "a-amps") == "not known"
    assert healthy(network(text), a_amps="no load")
    # Behind diodes they share in any way, though neither is above the other.
    assert shows(network(text.replace("volts-range: [22, 25.2], ", "")), "a-amps") == "not known"
    joined = IN_PARALLEL.replace("amps: 40}", "on-loss: cold}")
    assert shows(network(joined.replace("volts-range: [22, 25.2], ", "")), "a-amps") == "load"


DRAWN_AT_RANDOM = 100
"""Sets of readings of each of the nets."""


@pytest.mark.parametrize(
    "text", [BEHIND_DIODES, IN_PARALLEL, OVERLAPPING, TWO_BUSES, TIED, PAIR % 28, DIODES]
)
def test_with_every_source_anywhere_in_its_range_nothing_need_have_failed(text: str) -> None:
    net, chance = network(text), random.Random(text)
    for _ in range(sample_size(DRAWN_AT_RANDOM)):
        for condition in (c.id for c in net.catalogue.conditions):
            aircraft = at_own_volts(net, chance)
            outcome = solve(aircraft, scenarios_of([Scenario(condition)]))
            amps = draws(outcome.after).states[0]
            seen = seen_at_random(chance, losses(outcome)[0], amps)
            found = troubleshoot(net, condition, seen, order=1)
            assert found.nothing_failed_fits, (condition, seen)


# What adds up

TOGETHER = """
sources: {gen-1: {kind: generator, volts: 28%s}, gen-2: {kind: generator, volts: 28%s}}
buses: [main]
feeders: [gen-1 > main, gen-2 > main]
equipment: {heater: {supplies: [{bus: main}], amps: 180}}
indications: {amps-1: {kind: ammeter, at: gen-1}, amps-2: {kind: ammeter, at: gen-2}}
"""


@pytest.mark.parametrize(
    "source", ["", ", amps: 200, volts-range: [27, 29]"], ids=["without a rating", "with a range"]
)
@pytest.mark.parametrize(
    ("first", "second", "fits"),
    [
        # Each may carry all of it or nothing, both together neither twice it nor nothing.
        ("180", "0", True),
        ("60", "120", True),
        ("no load", "180", True),
        ("no load", "169", False),
        ("180", "180", False),
        ("0", "0", False),
        ("60", "60", False),
        # Each is read to 5 A.
        ("60", "130", True),
        ("60", "131", False),
        ("85", "85", True),
        ("84", "85", False),
    ],
)
def test_two_generators_give_together_what_is_drawn(
    source: str, first: str, second: str, fits: bool
) -> None:
    net = network(TOGETHER % (source, source))
    assert healthy(net, amps_1=first, amps_2=second) == fits


def test_two_of_three_that_share_vary_by_no_more_than_the_third() -> None:
    """210 A of 420 A rated: 100 A, 100 A and 10 A, of which the small one is 2 A more or less."""
    ratings = [", amps: 200"] * 2
    text = (TOGETHER % (*ratings,)).replace("180", "210")
    net = network(
        text.replace("}}\nbuses", "}, gen-3: {volts: 28, amps: 20}}\nbuses").replace(
            "gen-2 > main]", "gen-2 > main, gen-3 > main]"
        )
    )
    assert shows(net, "amps-1") == "80 to 120 A"
    assert healthy(net, amps_1="120", amps_2="92")
    assert not healthy(net, amps_1="120", amps_2="93")
    assert healthy(net, amps_1="80", amps_2="108")
    assert not healthy(net, amps_1="80", amps_2="107")


def test_what_charges_a_battery_is_given_by_the_others() -> None:
    """100 A are drawn: 130 A of 400 A with 30 A into the battery, not with none."""
    net = network((CHARGED % ("0, 60", "0")).replace("loadmeter", "ammeter"))
    assert healthy(net, gen_load="130", bat_amps="30 charge side")
    assert healthy(net, gen_load="130", bat_amps="30")
    assert healthy(net, gen_load="110", bat_amps="0")
    assert not healthy(net, gen_load="111", bat_amps="0")
    assert not healthy(net, gen_load="100", bat_amps="30")


def test_what_a_meter_against_the_feeder_reads_adds_up_too() -> None:
    """The feeder is written from the bus to the generator, and gives to the bus."""
    text = TOGETHER % ("", "")
    turned = text.replace("gen-2 > main]", "main > shunt > gen-2]").replace(
        "at: gen-2", "at: shunt"
    )
    net = network(turned.replace("buses:", "devices: {shunt: shunt}\nbuses:"))
    assert healthy(net, amps_1="60", amps_2="120")
    assert not healthy(net, amps_1="60", amps_2="60")


def test_what_does_not_add_up_is_no_near_miss_of_one_meter() -> None:
    net = network(
        TOGETHER.replace("heater:", "radio: {supplies: [{bus: main}], amps: 1}, heater:") % ("", "")
    )
    found = diagnosed(net, amps_1="180", amps_2="180", radio="works")
    assert not found.nothing_failed_fits
    assert not found.candidates
    against = [[o.subject for o in near.against] for near in found.near_misses]
    assert against
    assert all({"amps-1", "amps-2"} <= {*them} for them in against)


TWO_BATTERIES = """
aircraft: {load-volts: 24}
sources:
  bat-1: {kind: battery, volts: 24, amp-hours: 40, volts-range: [20, 25]}
  bat-2: {kind: battery, volts: 24, amp-hours: 40, volts-range: [20, 25]}
buses: [left, right]
feeders: [bat-1 > left, bat-2 > right]
equipment:
  radar: {supplies: [{bus: left}], amps: 100, load: constant-power}
  heater: {supplies: [{bus: right}], amps: 96, load: resistive}
  lights: {supplies: [{bus: right}], amps: 8}
indications: {amps-1: {kind: ammeter, at: bat-1}, amps-2: {kind: ammeter, at: bat-2}}
"""


@pytest.mark.parametrize(
    ("first", "second", "fits"),
    [
        # 2,400 W are 120 A at 20 V and 96 A at 25 V; 4 A for each volt are 80 A and 100 A, and 8 A.
        ("120", "108", True),
        ("96", "88", True),
        ("120", "88", True),
        ("96", "108", True),
        # Each is read to 5 A.
        ("126", "108", False),
        ("90", "82", False),
    ],
)
def test_one_battery_may_be_full_and_the_other_flat(first: str, second: str, fits: bool) -> None:
    """Amps that follow the volts of each add up to 184 A at the least and 228 A at the most."""
    net = network(TWO_BATTERIES)
    assert shows(net, "amps-1") == "96 to 120 A discharge"
    assert healthy(net, amps_1=first, amps_2=second) == fits


# What draws from several buses

SPLIT = """
sources:
  gen-1: {kind: generator, volts: 28, amps: 100}
  gen-2: {kind: generator, volts: %s, amps: 100}
buses: [left, right]
feeders: [gen-1 > left, gen-2 > right]
equipment:
  pitot: {supplies: [{bus: left}, {bus: right}], amps: 40%s}
  radio: {supplies: [{bus: left}], amps: 10}
  nav: {supplies: [{bus: right}], amps: 20}
indications: {load-1: {kind: loadmeter, at: gen-1}, load-2: {kind: loadmeter, at: gen-2}}
"""


@pytest.mark.parametrize(
    ("volts", "needs", "bands"),
    [
        # 10 A and 20 A besides the 40 A.
        ("28", "", ("10 to 50 %", "20 to 60 %")),
        ("27.5", "", ("10 to 50 %", "20 to 60 %")),
        # Further apart it draws from the higher bus.
        ("27.499", "", ("50 %", "20 %")),
        # What needs both draws from both, whatever their volts.
        ("27.499", ", needs: all", ("10 to 50 %", "20 to 60 %")),
    ],
)
def test_an_item_may_draw_all_from_either_of_two_buses(
    volts: str, needs: str, bands: tuple[str, str]
) -> None:
    net = network(SPLIT % (volts, needs))
    assert (shows(net, "load-1"), shows(net, "load-2")) == bands
    if "to" in bands[0]:
        assert healthy(net, load_1="50", load_2="20")
        assert healthy(net, load_1="20", load_2="50")
        assert not healthy(net, load_1="50", load_2="60")
        assert not healthy(net, load_1="10", load_2="20")


def test_an_item_with_amps_for_each_supply_draws_these() -> None:
    net = network(
        (SPLIT % ("28", ", needs: all")).replace(
            "[{bus: left}, {bus: right}], amps: 40",
            "[{bus: left, amps: 30}, {bus: right, amps: 10}]",
        )
    )
    assert (shows(net, "load-1"), shows(net, "load-2")) == ("40 %", "30 %")


def test_a_converter_may_take_all_from_either_of_two_inputs() -> None:
    """Of 10 A at 28 V it takes 10 A at 28 V, its efficiency being 1."""
    net = network("""
    sources:
      gen-1: {kind: generator, volts: 28, amps: 100}
      gen-2: {kind: generator, volts: 28, amps: 100}
      inv: {kind: converter, volts: 28, current: ac, efficiency: 1,
        fed-from: [{bus: left}, {bus: right}]}
    buses: [left, right, ac]
    feeders: [gen-1 > left, gen-2 > right, inv > ac]
    equipment: {gyro: {supplies: [{bus: ac}], amps: 10}}
    indications: {load-1: {kind: loadmeter, at: gen-1}, load-2: {kind: loadmeter, at: gen-2}}
    """)
    assert (shows(net, "load-1"), shows(net, "load-2")) == ("0 to 10 %", "0 to 10 %")


# What is distinguished


def test_what_a_healthy_aircraft_may_show_either_way_distinguishes_nothing() -> None:
    assert reads_the_same(banded(61, (51, 71), "%"), banded(80, (70, 90), "%"))
    assert reads_the_same(banded(61, (51, 71), "%"), banded(80, (76, 86), "%"))
    assert not reads_the_same(banded(61, (51, 71), "%"), banded(80, (77, 86), "%"))
    charge, none = banded(0, (0, 60), "A", "charge side"), banded(0, (0, 0), "A")
    assert reads_the_same(charge, none)
    assert not reads_the_same(banded(9, (9, 69), "A", "charge side"), none)
    assert not reads_the_same(
        banded(9, (9, 69), "A", "charge side"), banded(9, (9, 9), "A", "discharge")
    )


def signatures(net: Network) -> Signatures:
    return signature_table(single_failures(net, condition_states(net), ["flight"]), "flight")


def test_a_failure_that_only_moves_a_meter_within_its_band_is_one_that_no_indication_shows() -> (
    None
):
    """The open link leaves 60 and 63 %, which is what a healthy pair may share."""
    table = signatures(network(PAIR % 28))
    assert ("left-link", "open") in table.unseen["expected"]
    assert any(("gen-1", "lost") in signature.faults["expected"] for signature in table.shown)


def test_failures_whose_bands_overlap_have_one_signature() -> None:
    """Without the heater the pair gives 30 %, without the radio 40 %: 35 % may be either."""
    text = (PAIR % 28).replace("amps: 63", "amps: 90")
    for bus in ("left", "right"):
        own = f"{{bus: {bus}, breaker: {{id: cb-{bus}, name: {bus}, amps: 150}}}}"
        text = text.replace(f"{{bus: {bus}}}", own)
    table = signatures(network(text))
    [both] = [s for s in table.shown if ("cb-left", "open") in s.faults["expected"]]
    assert ("cb-right", "open") in both.faults["expected"]
    assert str(dict(both.readings)["load-1"]) == "20 to 50 %"


def test_the_first_answer_is_in_json_too() -> None:
    net = network(PAIR % 28)
    answer = diagnosis_json(net, diagnosed(net, load_1="55", load_2="67"))
    assert answer["first_answer"] == "Nothing need have failed"
    assert list(answer).index("first_answer") < list(answer).index("candidates")
    assert diagnosis_json(net, diagnosed(net, load_1="0"))["first_answer"] is None


def test_true_failures_are_still_found() -> None:
    net = network(PAIR % 28)
    assert (("gen-2", "lost"),) in diagnosed(net, load_1="92", load_2="0").candidates
    assert not healthy(net, load_1="92", load_2="0")
    assert (("shunt", "open"),) in diagnosed(net, bat_volts="22.4").candidates
    assert not healthy(net, bat_volts="22.4")


# What goes by volts, with the battery elsewhere in its range than at its 24 V.
BY_VOLTS = """
sources: {bat: {kind: battery, volts: 24, volts-range: [20, 25]}}
buses: [main, far]
devices:
  k-far: {kind: relay, closes-when: {volts-above: {main: 23}}}
feeders: [bat > main, main > k-far > far]
equipment:
  radio: {min-volts: 22, supplies: [{bus: main, breaker: {id: cb-radio, name: COM, amps: 5}}]}
  lamp: {supplies: [{bus: far}]}
  clock: {supplies: [{bus: main, breaker: {name: CLOCK, amps: 2}}]}
indications: {v: {kind: voltmeter, at: main}}
conditions: {flight: {sources: [bat]}}
"""


@pytest.mark.parametrize(
    ("volts", "item", "healthy"),
    [
        ("21", "radio", True),
        ("24.5", "radio", False),
        ("22", "lamp", True),
        # The relay opens at 23 V, as far from 24 V as the meter may be off; not from 24.6 V.
        ("24", "lamp", True),
        ("24.6", "lamp", False),
        ("21", "clock", False),
        (None, "radio", True),
        (None, "lamp", True),
        (None, "clock", False),
    ],
)
def test_what_is_dead_at_low_volts_of_a_healthy_battery_need_not_have_failed(
    volts: str | None, item: str, healthy: bool
) -> None:
    net = network(BY_VOLTS)
    seen = [find_observation(net, item, "dead")]
    seen += [find_observation(net, "v", volts)] if volts else []
    found = troubleshoot(net, "flight", seen)
    assert found.nothing_failed_fits == healthy
    assert found.candidates
    at = {None: 20, "24": 23}.get(volts, volts)
    assert dict(found.healthy_volts) == ({"bat": float(at)} if healthy else {})
    first = list(diagnosis_text(net, found))[3]
    assert first.endswith(f", with bat at {at} V.") == healthy


LAMP_BY_VOLTS = """
sources:
  gen: 28
  bat: {kind: battery, volts: 24.5, volts-range: [22, 25.2]}
buses: [main, far]
devices:
  k: {kind: contactor, closes-when: {live: [gen]}}
  k-far: {kind: relay, closes-when: {volts-above: {main: 24}}}
feeders: [gen > k > main, bat > main, main > k-far > far]
equipment: {radio: {supplies: [{bus: far}]}, fan: {supplies: [{bus: main}]}}
indications:
  v: {kind: voltmeter, at: main}
  low: {kind: lamp, lit-when: {volts-below: {main: 24}}}
  gen-off: {kind: lamp, lit-when: {open: [k]}}
conditions: {battery: {sources: [bat]}, flight: {sources: [gen, bat]}}
"""


@pytest.mark.parametrize(("volts", "fits"), [("24.1", True), ("25.3", True), ("25.5", False)])
def test_a_battery_just_under_a_limit_is_healthy_though_its_meter_shows_more(
    volts: str, fits: bool
) -> None:
    """At 23.9 V the lamp is lit and the relay open: the meter may show 1.5 V more, not 1.6 V."""
    net = network(LAMP_BY_VOLTS)
    found = diagnosed(net, "battery", v=volts, low="lit", radio="dead")
    assert found.nothing_failed_fits == fits
    assert dict(found.healthy_volts) == ({"bat": 23.9} if fits else {})


def test_a_battery_just_over_a_limit_is_healthy_though_its_meter_shows_less() -> None:
    """The relay closes above 24 V, strictly: at 24.1 V, in tenths."""
    net = network(LAMP_BY_VOLTS.replace("volts: 24.5", "volts: 23.5"))
    found = diagnosed(net, "battery", v="22.9", radio="works")
    assert dict(found.healthy_volts) == {"bat": 24.1}


def test_a_failure_with_a_battery_just_under_a_limit_is_found() -> None:
    net = network(LAMP_BY_VOLTS)
    found = diagnosed(net, v="24.1", low="lit", radio="dead", gen_off="lit", fan="works")
    volts = dict(zip(found.candidates, found.volts, strict=True))
    assert dict(volts[(("gen", "lost"),)]) == {"bat": 23.9}
    assert (("k", "open"),) in volts


def test_the_healthy_aircraft_that_a_check_tells_apart_is_the_one_with_these_volts() -> None:
    net = network(BY_VOLTS)
    found = troubleshoot(net, "flight", [find_observation(net, "radio", "dead")])
    [lamp] = [c for c in found.next_checks if c.subject == "lamp"]
    # At the bottom of the range the relay is open too, and the lamp dead.
    assert HEALTHY in dict(lamp.answers)["dead"]


def test_two_batteries_may_be_apart_each_at_volts_that_are_read() -> None:
    two = """
    sources:
      a: {kind: battery, volts: 24, volts-range: [20, 25]}
      b: {kind: battery, volts: 24, volts-range: [20, 25]}
    buses: [one, other]
    feeders: [a > one, b > other]
    equipment:
      radio: {min-volts: 22, supplies: [{bus: one}]}
      lamp: {min-volts: 22, supplies: [{bus: other}]}
    indications: {v-one: {kind: voltmeter, at: one}, v-other: {kind: voltmeter, at: other}}
    conditions: {flight: {sources: [a, b]}}
    """
    net = network(two)
    seen = {"v-one": "21", "v-other": "24.6", "radio": "dead", "lamp": "works"}
    assert troubleshoot(
        net, "flight", [find_observation(net, *one) for one in seen.items()]
    ).nothing_failed_fits
    seen["lamp"] = "dead"
    assert not troubleshoot(
        net, "flight", [find_observation(net, *one) for one in seen.items()]
    ).nothing_failed_fits


def test_volts_behind_a_diode_are_those_of_the_battery_less_its_drop() -> None:
    behind = BY_VOLTS.replace("bat > main", "bat > d > main").replace(
        "devices:\n", "devices:\n  d: {kind: diode, drop-volts: 0.7}\n"
    )
    net = network(behind)
    seen = {"v": "21.9", "radio": "dead", "lamp": "dead"}
    found = troubleshoot(net, "flight", [find_observation(net, *one) for one in seen.items()], 0.05)
    assert found.nothing_failed_fits


# With the generator lost, what works on the battery goes by where in its range it is.
ON_BATTERY = """
sources:
  gen: {volts: 28, volts-range: [27.5, 28.5]}
  bat: {kind: battery, volts: 24, volts-range: [22, 26]}
buses: [main, far]
devices:
  k-gen: {kind: contactor, closes-when: {live: [gen]}}
  k-far: {kind: relay, closes-when: {volts-above: {main: 25}}}
feeders: [gen > k-gen > main, bat > main, main > k-far > far]
equipment:
  radio: {min-volts: 25, supplies: [{bus: main}]}
  lamp: {supplies: [{bus: main}]}
  fan: {supplies: [{bus: far}]}
indications:
  v: {kind: voltmeter, at: main}
  gen-off: {kind: lamp, lit-when: {open: [k-gen]}, supplies: [{bus: main}]}
conditions: {flight: {sources: [gen, bat]}}
"""


@pytest.mark.parametrize(
    ("seen", "volts"),
    [
        # At nominal volts the radio is dead; at the volts read it works; nothing read, past 25 V.
        ({"gen-off": "lit", "v": "24", "radio": "dead"}, {}),
        ({"gen-off": "lit", "v": "25.4", "radio": "works"}, {"bat": 25.4}),
        ({"gen-off": "lit", "radio": "works", "fan": "works"}, {"bat": 25.1}),
        ({"gen-off": "lit", "v": "25.2", "fan": "works"}, {"bat": 25.2}),
    ],
)
def test_a_failure_is_asked_with_its_battery_at_the_volts_that_are_read(
    seen: dict[str, str], volts: dict[str, float]
) -> None:
    net = network(ON_BATTERY)
    found = troubleshoot(net, "flight", [find_observation(net, *one) for one in seen.items()])
    assert not found.nothing_failed_fits
    place = found.candidates.index((("gen", "lost"),))
    assert dict(found.volts[place]) == volts
    # What is lost at these volts is what the candidate would mean.
    assert ("radio" in found.losses[place].lost) == (seen.get("radio") == "dead")
    written = diagnosis_json(net, found)["candidates"][place]
    assert written["at_volts"] == volts
    text = "\n".join(diagnosis_text(net, found))
    assert ("with bat at" in text) == bool(volts)


def test_a_failure_that_explains_it_at_its_own_volts_is_not_asked_elsewhere() -> None:
    net = network(ON_BATTERY)
    found = troubleshoot(net, "flight", [find_observation(net, "radio", "dead")], order=1)
    assert found.candidates
    assert all(not volts for volts in found.volts)


def test_two_failures_are_asked_elsewhere_in_the_range_where_no_one_explains_it() -> None:
    net = network(
        ON_BATTERY.replace(
            "sources:\n", "sources:\n  gen-2: {volts: 28, volts-range: [27.5, 28.5]}\n"
        )
        .replace("feeders: [", "feeders: [gen-2 > main, ")
        .replace("[gen, bat]}", "[gen, gen-2, bat]}")
    )
    seen = {"gen-off": "lit", "v": "25.4", "radio": "works", "lamp": "works"}
    found = troubleshoot(
        net, "flight", [find_observation(net, *one) for one in seen.items()], tolerance=0.3
    )
    place = found.candidates.index((("gen-2", "lost"), ("gen", "lost")))
    assert dict(found.volts[place]) == {"bat": 25.4}
    assert min(len(c) for c in found.candidates) == 2


def test_after_a_failure_too_two_batteries_may_be_apart() -> None:
    net = network("""
    sources:
      gen: {volts: 28}
      a: {kind: battery, volts: 24, volts-range: [20, 25]}
      b: {kind: battery, volts: 24, volts-range: [20, 25]}
    buses: [feed, one, other]
    devices:
      d-one: {kind: diode, drop-volts: 0.7}
      d-other: {kind: diode, drop-volts: 0.7}
    feeders: [gen > feed, feed > d-one > one, feed > d-other > other, a > one, b > other]
    equipment:
      radio: {min-volts: 22, supplies: [{bus: one}]}
      lamp: {min-volts: 24.3, supplies: [{bus: other}]}
    indications: {v-one: {kind: voltmeter, at: one}, v-other: {kind: voltmeter, at: other}}
    conditions: {flight: {sources: [gen, a, b]}}
    """)
    seen = {"v-one": "21", "v-other": "24.6", "radio": "dead", "lamp": "works"}
    found = troubleshoot(net, "flight", [find_observation(net, *one) for one in seen.items()])
    place = found.candidates.index((("gen", "lost"),))
    assert dict(found.volts[place]) == {"a": 21, "b": 24.6}


# Converters

WITH_INVERTER = """
sources:
  gen: {kind: generator, volts: 28, amps: 100}
  inv: {kind: converter, volts: 115, current: ac, efficiency: 0.8,
        fed-from: {bus: main, through: [ci]}}
buses: {main: {}, ac: {current: ac}}
devices: {ci: breaker, r: breaker}
feeders: [gen > main, inv > ac]
equipment:
  radio: {supplies: [{bus: main, through: [r]}], amps: 30}
  gyro: {supplies: [{bus: ac}], amps: 4}
conditions: {flight: {sources: [gen]}}
indications: {load: {kind: loadmeter, at: gen}, input: {kind: ammeter, at: ci}}
"""


def test_what_a_converter_takes_does_not_add_up_with_what_a_source_gives() -> None:
    """4 A at 115 V from 28 V at 0.8 are 20.5 A, which the generator gives besides 30 A."""
    net = network(WITH_INVERTER)
    assert healthy(net, load="50.5", input="20.5")
    found = diagnosed(net, load="20.5", input="20.5", radio="dead")
    assert found.candidates == ((("r", "open"),),)


OWN_RANGE = """
sources:
  gen: {kind: generator, volts: 115, amps: 60, current: ac, volts-range: [110, 120]}
  tru: {kind: converter, volts: 28, efficiency: 0.8, volts-range: [26, 30],
        fed-from: {bus: ac, through: [ct]}}
buses: {ac: {current: ac}, dc: {}}
devices: {ct: breaker}
feeders: [gen > ac, tru > dc]
equipment: {heater: {supplies: [{bus: dc}], amps: 160}}
conditions: {flight: {sources: [gen]}}
indications:
  load: {kind: loadmeter, at: gen}
  ac-volts: {kind: voltmeter, at: ac}
  dc-volts: {kind: voltmeter, at: dc}
"""


def test_a_converter_and_its_input_are_at_either_end_of_their_own_ranges() -> None:
    """160 A: at 30 V from 110 V it takes 54.5 A of 60, at 26 V from 120 V 43.3 A."""
    net = network(OWN_RANGE)
    assert shows(net, "load") == "72 to 91 %"
    assert healthy(net, ac_volts="110", dc_volts="30", load="91")
    assert healthy(net, ac_volts="120", dc_volts="26", load="72")


def test_sources_share_no_more_than_what_they_share() -> None:
    """Each carries 40 A alone, and from 0 to 6 A of what both feed through diodes."""
    net = network(
        """
        sources:
          gen-1: {kind: generator, volts: 28, amps: 300}
          gen-2: {kind: generator, volts: 28, amps: 300}
        buses: [left, right, both]
        devices: {d-1: diode, d-2: diode}
        feeders: [gen-1 > left, gen-2 > right, left > d-1 > both, right > d-2 > both]
        equipment:
          heater: {supplies: [{bus: left}], amps: 40}
          fan: {supplies: [{bus: right}], amps: 40}
          radio: {supplies: [{bus: both}], amps: 6}
        conditions: {flight: {sources: [gen-1, gen-2]}}
        indications: {amps-1: {kind: ammeter, at: gen-1}}
        """
    )
    assert shows(net, "amps-1") == "40 to 46 A"
    assert healthy(net, amps_1="46")
    assert healthy(net, amps_1="40")
    # A loadmeter or ammeter is read to 5 A.
    assert not healthy(net, amps_1="34")


@pytest.mark.parametrize(("meter", "say"), [("amps-1", "'40'"), ("bat-amps", "'40 discharge'")])
def test_a_meter_is_read_without_a_sign(meter: str, say: str) -> None:
    net = network(PAIR.replace("load-1: {kind: loadmeter", "amps-1: {kind: ammeter") % 28)
    with pytest.raises(NotFound, match=f"amps and loads are read without a sign: say {say}"):
        find_observation(net, meter, "-40")


TWO_FEEDS = """
sources:
  gen: {volts: 28, amps: 100}
  inv: {kind: converter, volts: 112, current: ac, efficiency: 0.8,
    fed-from: [{bus: left, through: [ci]}, {bus: right, through: [ch]}]}
buses: {main: {}, left: {}, right: {}, ac: {current: ac}}
devices: {ci: breaker, ch: breaker}
feeders: [gen > main, main > left, main > right, inv > ac]
equipment: {gyro: {supplies: [{bus: ac}], amps: 4}}
indications: {ai: {kind: ammeter, at: ci}}
"""


@pytest.mark.parametrize(
    ("amps", "healthy"), [("0", True), ("5", True), ("20", True), ("30", False)]
)
def test_a_converter_may_take_all_of_its_input_through_either_feed(
    amps: str, healthy: bool
) -> None:
    """112 V x 4 A / (0.8 x 28 V) are 20 A, through one feed, through the other, or half each."""
    net = network(TWO_FEEDS)
    seen = [find_observation(net, "ai", amps)]
    assert troubleshoot(net, "flight", seen, order=1).nothing_failed_fits is healthy


# Load, how much is not known

SEVERAL = """
sources: {g1: {volts: 28, amps: 100}, g2: {volts: 28, amps: 100}}
buses: [a, b]
devices: {f1: breaker, f2: breaker}
feeders: [%s]
equipment:
  com: {supplies: [{bus: a}, {bus: b}]%s}
  lamp: {supplies: [{bus: a}], amps: 5}
%s
indications: {load: {kind: loadmeter, at: g2}, tie-amps: {kind: ammeter, at: f1}}
"""
APART, ONE_LINK, TWO_LINKS = (
    "g1 > a, g2 > f1 > b",
    "g1 > a, a > f1 > b",
    "g1 > a, a > f1 > b, a > f2 > b",
)
OWN = "  radio: {supplies: [{bus: b}]}"


@pytest.mark.parametrize(
    ("feeders", "amps", "more", "shown"),
    [
        # It may draw all of it from the other bus.
        (APART, "", "", "not known"),
        (ONE_LINK, "", "", "not known"),
        (TWO_LINKS, ", amps: 10", "", "not known"),
        # Something else draws there for certain, and what it draws flows the same way.
        (APART, "", OWN, "load"),
        (ONE_LINK, "", OWN, "load"),
        (TWO_LINKS, ", amps: 10", OWN, "load"),
    ],
)
def test_what_may_draw_all_from_another_bus_is_no_load_for_certain(
    feeders: str, amps: str, more: str, shown: str
) -> None:
    net = network(SEVERAL % (feeders, amps, more))
    assert shows(net, "tie-amps") == shown
    if feeders == APART:
        assert shows(net, "load") == shown


def test_what_may_draw_from_either_end_of_a_tie_may_turn_its_current_round() -> None:
    """The radio takes its current from a by the tie; so does the com, or from b, fed by g2."""
    net = network(
        SEVERAL % ("g1 > a, a > f1 > b", "", OWN)
        + "conditions: {flight: {sources: [g1]}, other: {sources: [g1]}}"
    )
    assert shows(net, "tie-amps") == "load"


def test_a_converter_of_unknown_load_may_take_it_from_either_input() -> None:
    net = network("""
    sources:
      g1: {volts: 28, amps: 100}
      g2: {volts: 28, amps: 100}
      inv:
        {kind: converter, volts: 115, current: ac, amps: 10,
         fed-from: [{bus: a, through: [ca]}, {bus: b, through: [cb]}]}
    buses: {a: {}, b: {}, ac: {current: ac}}
    devices: {ca: breaker, cb: breaker}
    feeders: [g1 > a, g2 > b, inv > ac]
    equipment: {com: {supplies: [{bus: ac}]}}
    indications: {load: {kind: loadmeter, at: g1}, amps: {kind: ammeter, at: ca}}
    """)
    assert (shows(net, "load"), shows(net, "amps")) == ("not known", "not known")
    assert shows(net, "load", "cb") == "load"


# What is too little to be seen

ON_THE_HOT_BUS = """
sources:
  gen: {kind: generator, volts: 28, amps: 200}
  bat: {kind: battery, volts: 24, charge-amps: [0, 30]}
buses: [main, hot]
devices: {k-gen: breaker, shunt: shunt, fl-hot: fuse-link}
feeders: [gen > k-gen > main, bat > shunt > main, bat > fl-hot > hot]
equipment:
  clock: {supplies: [{bus: hot}], amps: %s}
  lamp: {supplies: [{bus: hot}]%s}
  fan: {supplies: [{bus: main}]%s}
indications: {bat-amps: {kind: ammeter, at: shunt}, gen-amps: {kind: ammeter, at: gen}}
"""


@pytest.mark.parametrize(
    ("clock", "lamp", "shown"),
    [
        ("0.1", ", amps: 0.2", "charging, 0 to 30 A"),
        ("0.1", "", "not known"),
        ("0.49", "", "not known"),
        ("0.5", "", "load"),
    ],
)
def test_a_full_battery_whose_hot_bus_takes_a_trickle_may_read_nothing(
    clock: str, lamp: str, shown: str
) -> None:
    """A clock of 0.1 A and a lamp of which nothing is known pass the shunt: 0.3 A read as 0 A. From
    half an ampere that flows for certain the needle leaves its stop.
    """
    net = network(ON_THE_HOT_BUS % (clock, lamp, ", amps: 24"))
    assert shows(net, "bat-amps") == shown
    assert healthy(net, bat_amps="0") == (shown != "load")
    assert healthy(net, bat_amps="20")


def test_what_a_generator_feeds_is_seen_though_nothing_is_known_of_it() -> None:
    net = network(ON_THE_HOT_BUS % ("0.1", ", amps: 0.2", ""))
    assert shows(net, "gen-amps") == "load"
    assert not healthy(net, gen_amps="0")


def test_what_surely_flows_by_paths_past_diodes_has_to_be_seen_too() -> None:
    """The fan has two paths, so that what the shunt carries is not known; only the clock's 0.1 A
    surely pass it.
    """
    net = network("""
sources:
  gen: {kind: generator, volts: 28, amps: 200}
  bat: {kind: battery, volts: 24, charge-amps: [0, 30]}
buses: [main, hot, ess]
devices: {shunt: shunt, fl-hot: fuse-link, d-1: diode, d-2: diode}
feeders: [gen > main, bat > shunt > main, bat > fl-hot > hot, main > d-1 > ess, hot > d-2 > ess]
equipment:
  clock: {supplies: [{bus: hot}], amps: 0.1}
  fan: {supplies: [{bus: ess}], amps: 24}
indications: {bat-amps: {kind: ammeter, at: shunt}}
""")
    assert shows(net, "bat-amps") == "not known"
    assert healthy(net, bat_amps="0")
