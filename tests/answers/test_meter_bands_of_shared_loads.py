"""Random nets whose sources share: whatever each gives, no meter of a healthy aircraft is off."""

from __future__ import annotations

import json
import random
from collections import Counter

import pytest

from sitegen.answers.drop import drop
from sitegen.answers.find import find_observation
from sitegen.answers.loads.drawn import draws
from sitegen.answers.loads.meter_bands import Flow
from sitegen.answers.loads.metered import meter_at, metered
from sitegen.answers.troubleshoot import troubleshoot
from sitegen.catalogue.model import Catalogue
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from tests.answers.healthy import given_at_random
from tests.nets import expand, network
from tests.samples import sample_size

NETS = 500
GIVEN = 20
"""Ways of giving what each net draws."""


def random_net(chance: random.Random) -> Network:
    """AC generators feed rectifiers; these and DC generators feed buses joined or behind diodes."""

    def some(prefix: str, least: int, most: int) -> list[str]:
        return [f"{prefix}-{i}" for i in range(chance.randint(least, most))]

    def may(share: float) -> bool:
        return chance.random() < share

    alternators, rectifiers, generators = some("alt", 1, 3), some("tr", 1, 3), some("gen", 0, 2)
    of_ac, of_dc = some("ac", 1, 2), some("dc", 1, 4)
    sources: dict[str, object] = {}
    feeders, devices = [], {}
    for name in alternators:
        sources[name] = {
            **{"kind": "generator", "current": "ac", "volts": 115, "synchronised": "all"},
            "amps": chance.choice([20, 60, 90]),
        }
        feeders.append(f"{name} > k-{name} > {chance.choice(of_ac)}")
    for name in rectifiers:
        feeds = chance.sample(of_ac, chance.randint(1, len(of_ac)))
        sources[name] = {
            **{"kind": "converter", "volts": 28, "efficiency": chance.choice([0.8, 0.8, 1])},
            **({"amps": chance.choice([50, 150])} if may(0.9) else {}),
            "fed-from": [{"bus": bus, "through": [f"in-{name}-{bus}"]} for bus in feeds],
        }
        devices |= {f"in-{name}-{bus}": "breaker" for bus in feeds}
    for name in generators:
        sources[name] = {"volts": 28, **({"amps": chance.choice([100, 300])} if may(0.9) else {})}
    for name in (*rectifiers, *generators):
        feeders.append(f"{name} > k-{name} > {chance.choice(of_dc)}")
    sources["bat"] = {"kind": "battery", "volts": 24, "charge-amps": [chance.choice([0, 5]), 30]}
    feeders.append(f"bat > k-bat > {chance.choice(of_dc)}")
    devices |= {f"k-{name}": "breaker" for name in sources}
    for buses in (of_ac, of_dc):
        for number, bus in enumerate(buses[1:], start=1):
            link = f"link-{bus}"
            if may(0.9):
                devices[link] = chance.choice(["breaker", {"kind": "diode", "drop-volts": 0.2}])
                feeders.append(f"{chance.choice(buses[:number])} > {link} > {bus}")
    equipment: dict[str, object] = {}
    for number in range(chance.randint(2, 6)):
        buses = chance.sample(of_dc, min(len(of_dc), chance.choice([1, 1, 1, 2])))
        buses = [chance.choice(of_ac)] if may(0.2) else buses
        supplies = [{"bus": bus} for bus in buses]
        equipment[f"item-{number}"] = {"supplies": supplies, "amps": chance.choice([1, 12, 40])}
    buses = {bus: {"current": "ac"} for bus in of_ac} | {bus: {} for bus in of_dc}
    net = {
        **{"sources": sources, "buses": buses, "devices": devices, "feeders": feeders},
        "equipment": equipment,
        "indications": {f"m-{at}": {"kind": "ammeter", "at": at} for at in (*sources, *devices)},
    }
    return build(Catalogue.model_validate(expand(json.dumps(net))), "all")


def test_whatever_sources_that_share_give_is_within_the_bands() -> None:
    chance, counts = random.Random(5), Counter[str]()
    for _ in range(sample_size(NETS)):
        net = random_net(chance)
        drawn = draws(solve(net, scenarios_of([Scenario("flight")])).after)
        amps = drawn.states[0]
        bands = {}
        for at in (indication.at or "" for indication in net.catalogue.indications):
            for flow in metered(drawn, meter_at(net, at)).flows:
                bands[at] = flow
        for _ in range(GIVEN):
            given = given_at_random(chance, amps)
            for at, flow in bands.items():
                shown = given.passing(meter_at(net, at), amps)
                assert flow.least <= shown <= flow.most, (at, shown, flow)
                if flow.least < flow.most:
                    counts["at an end"] += shown in (flow.least, flow.most)
                    counts["within"] += 1
    assert counts["at an end"] > counts["within"] // 20, counts


def flow_at(text: str, at: str) -> Flow:
    net = network(text)
    drawn = draws(solve(net, scenarios_of([Scenario("flight")])).after)
    [flow] = metered(drawn, meter_at(net, at)).flows
    return flow


def shown(text: str, *meters: str, failed: str = "") -> list[str]:
    """What meters show, in text."""
    net = network(text)
    readings = drop(net, "flight", [(failed, "lost")] if failed else []).readings
    return [str(readings[meter]) for meter in meters]


THROUGH_DIODES = """
sources:
  gen-l: {volts: 28, amps: 300}
  gen-r: {volts: 28, amps: 300}
  bat: {kind: battery, volts: 24, charge-amps: [%s]}
  wing-1: {volts: 28, amps: 300}
  wing-2: {volts: 28, amps: 300}
buses: [left, right, ess, mission]
devices: {shunt: shunt, d-l: diode, d-r: diode}
feeders: [gen-l > shunt > left, gen-r > right, bat > left, left > d-l > ess, right > d-r > ess,
  wing-1 > mission, wing-2 > mission]
equipment:
  heater: {supplies: [{bus: left}], amps: 24}
  fan: {supplies: [{bus: right}], amps: 24}
  com: {supplies: [{bus: ess}], amps: 3}
  radar: {supplies: [{bus: mission}], amps: 60}
indications:
  load-l: {kind: ammeter, at: gen-l}
  load-r: {kind: ammeter, at: gen-r}
  amps-l: {kind: ammeter, at: shunt}
"""


def test_what_other_sources_share_is_nothing_to_a_meter() -> None:
    """Each carries 24 A alone, and up to 3 A of the com, whatever the wing generators share."""
    found = shown(THROUGH_DIODES % "0, 0", "load-l", "load-r", "amps-l")
    assert found == ["24 to 27 A", "24 to 27 A", "24 to 27 A"]


def test_charging_adds_to_what_its_source_gives_and_to_no_other() -> None:
    """10 to 60 A of charge on the left: 34 A at the least, 87 A at the most."""
    found = shown(THROUGH_DIODES % "10, 60", "load-l", "load-r", "amps-l")
    assert found == ["34 to 87 A", "24 to 27 A", "34 to 87 A"]


@pytest.mark.parametrize(("left", "right"), [("0", "51"), ("0", "no load"), ("24", "51")])
def test_the_readings_of_a_lost_generator_are_not_healthy(left: str, right: str) -> None:
    net = network(THROUGH_DIODES % "0, 60")
    seen = {"load-l": left, "load-r": right}
    observations = [find_observation(net, *one) for one in seen.items()]
    assert not troubleshoot(net, "flight", observations, order=1).nothing_failed_fits


def test_of_sources_that_share_in_a_chain_each_carries_what_it_has_a_part_in() -> None:
    """B may give all of both: A takes over from it what C takes over elsewhere, and no more."""
    text = """
    sources: {a: {amps: 100}, b: {amps: 100}, c: {amps: 100}}
    buses: [a-b, b-c]
    devices: {d-1: diode, d-2: diode, d-3: diode, d-4: diode}
    feeders: [a > d-1 > a-b, b > d-2 > a-b, b > d-3 > b-c, c > d-4 > b-c]
    equipment: {fan: {supplies: [{bus: a-b}], amps: 10}, radio: {supplies: [{bus: b-c}], amps: 20}}
    indications:
      at-a: {kind: ammeter, at: a}
      at-b: {kind: ammeter, at: b}
      at-c: {kind: ammeter, at: c}
    """.replace("{amps", "{volts: 28, amps")
    assert shown(text, "at-a", "at-b", "at-c") == ["0 to 10 A", "0 to 30 A", "0 to 20 A"]


def test_a_charge_too_is_divided_in_any_way_where_nothing_says_how() -> None:
    """The generators meet only through diodes, at the bus of the battery."""
    text = """
    sources:
      gen-1: {volts: 28, amps: 300}
      gen-2: {volts: 28, amps: 300}
      bat: {kind: battery, volts: 24, charge-amps: [0, 90]}
    buses: [main]
    devices: {d-1: diode, d-2: diode}
    feeders: [gen-1 > d-1 > main, gen-2 > d-2 > main, bat > main]
    equipment: {lamp: {supplies: [{bus: main}], amps: 2}}
    indications: {amps-1: {kind: ammeter, at: gen-1}}
    """
    assert shown(text, "amps-1") == ["0 to 92 A"]


def test_a_tie_between_sources_that_share_may_carry_either_way() -> None:
    """By rating nothing passes it; each may give 10 A more, and the other less."""
    text = """
    sources: {gen-1: {volts: 28, amps: 100}, gen-2: {volts: 28, amps: 100}, bat: 24}
    buses: [left, right]
    devices: {tie: shunt}
    feeders: [gen-1 > left, gen-2 > right, left > tie > right]
    equipment: {one: {supplies: [{bus: left}], amps: 41}, two: {supplies: [{bus: right}], amps: 39}}
    indications: {tie-amps: {kind: ammeter, at: tie}}
    """
    flow = flow_at(text, "tie")
    assert (flow.amps, flow.least, flow.most) == (-1, -11, 9)


RECTIFIERS = """
sources:
  alt: {kind: generator, current: ac, volts: 115, amps: 60}
  far: {kind: generator, current: ac, volts: 115, amps: 60}
  tr-1: {kind: converter, volts: 28, amps: 150, efficiency: 0.85, fed-from: {bus: ac-1}}
  tr-2: {kind: converter, volts: 28, amps: 150, efficiency: %s, fed-from: {bus: %s}}
buses: {ac-1: {current: ac}, ac-2: {current: ac}, dc: {}}
feeders: [alt > ac-1, far > ac-2, tr-1 > dc, tr-2 > dc]
equipment:
  radar: {supplies: [{bus: dc}], amps: %s}
  heater: {supplies: [{bus: ac-1}], amps: 8}
indications: {load: {kind: loadmeter, at: alt}, of-tr: {kind: ammeter, at: tr-1}}
"""


@pytest.mark.parametrize(
    ("efficiency", "bus", "radar", "load"),
    [
        # 100 A are 28 x 100 / (0.85 x 115) = 28.6 A, whoever gives them, and 8 A.
        (0.85, "ac-1", 100, "61 %"),
        # 50 A are 14.3 A, and 14.3 x 0.85 / 0.68 = 17.9 A; of 15 A more from one and less from the
        # other the difference counts, 15 x 28 / 115 x (1 / 0.68 - 1 / 0.85) = 1.07 A.
        (0.68, "ac-1", 100, "65 to 69 %"),
        # The other feeds the second: 14.3 A and 15 x 28 / (0.85 x 115) = 4.3 A more or less.
        (0.85, "ac-2", 100, "30 to 44 %"),
        # All of 10 A are 2.9 A, if the first gives them all.
        (0.85, "ac-2", 10, "13 to 18 %"),
    ],
)
def test_what_one_rectifier_takes_more_the_other_takes_less(
    efficiency: float, bus: str, radar: int, load: str
) -> None:
    text = RECTIFIERS % (efficiency, bus, radar)
    assert shown(text, "load") == [load]
    assert shown(text, "of-tr") == ["35 to 65 A" if radar == 100 else "0 to 10 A"]


def test_a_generator_that_gives_less_than_its_rectifiers_take_in_all_is_not_healthy() -> None:
    """48 % is what is left without the heater: 28.6 A of 60 A."""
    net = network(RECTIFIERS % (0.85, "ac-1", 100))
    seen = [find_observation(net, "load", "48"), find_observation(net, "heater", "dead")]
    for observations in (seen, seen[:1]):
        found = troubleshoot(net, "flight", observations, order=1)
        assert not found.nothing_failed_fits


def test_a_rectifier_that_gives_more_may_take_all_of_it_from_either_input() -> None:
    """It gives 50 A, 15 A more or less, and takes 0.25 A for each: 16.25 A, all from one bus."""
    text = """
    sources:
      alt-1: {kind: generator, current: ac, volts: 100, amps: 60}
      alt-2: {kind: generator, current: ac, volts: 100, amps: 60}
      tr: {kind: converter, volts: 25, amps: 150, efficiency: 1,
        fed-from: [{bus: one, through: [cb]}, {bus: two}]}
      gen: {volts: 25, amps: 150}
    buses: {one: {current: ac}, two: {current: ac}, dc: {}}
    devices: {cb: breaker}
    feeders: [alt-1 > one, alt-2 > two, tr > dc, gen > dc]
    equipment: {radar: {supplies: [{bus: dc}], amps: 100}}
    indications: {load: {kind: ammeter, at: alt-1}, taken: {kind: ammeter, at: cb}}
    """
    assert shown(text, "load", "taken") == ["0 to 16 A", "0 to 16 A"]


def test_what_a_chain_of_rectifiers_shares_moves_along_it() -> None:
    """Across 0.4 V of diode each of A and C feeds its own bus with B, 75 A and 25 A of 100 A.

    A may give 15 A less, though B is off by 5 A at the most: C gives 15 A more, and B what A left.
    A takes 0.2 A for each: 15 A, 3 A more or less.
    """
    text = """
    sources:
      alt: {kind: generator, current: ac, volts: 100, amps: 60}
      far: {kind: generator, current: ac, volts: 100, amps: 60}
      a: {kind: converter, volts: 20, amps: 150, efficiency: 1, fed-from: {bus: one}}
      b: {kind: converter, volts: 20, amps: 50, efficiency: 1, fed-from: {bus: two}}
      c: {kind: converter, volts: 20, amps: 150, efficiency: 1, fed-from: {bus: two}}
    buses: {one: {current: ac}, two: {current: ac}, left: {}, middle: {}, right: {}}
    devices: {d-1: DIODE, d-2: DIODE, d-3: DIODE, d-4: DIODE}
    feeders: [alt > one, far > two, a > left, b > middle, c > right,
      left > d-1 > middle, middle > d-2 > left, right > d-3 > middle, middle > d-4 > right]
    equipment:
      radar: {supplies: [{bus: left}], amps: 100}
      heater: {supplies: [{bus: right}], amps: 100}
    indications: {load: {kind: ammeter, at: alt}, of-a: {kind: ammeter, at: a}}
    """.replace("DIODE", "{kind: diode, drop-volts: 0.4}")
    assert shown(text, "load", "of-a") == ["12 to 18 A", "60 to 90 A"]


def test_of_converters_that_feed_each_other_each_bus_leaves_out_what_comes_round_to_itself() -> (
    None
):
    """For an ampere a converter takes 1.228 A at a generator's 28.5 V, 1.25 A at the other's 28 V.

    The most of generator 1: of the radio 20 x 1.25 x 1.25 A round by the right, which comes back to
    the left essential bus and is taken from the left there, x 1.228 = 38.4 A; of the navigation,
    which is 20 x 1.25 A there, 30.7 A.
    """
    text = """
    sources:
      gen-1: {volts: 28.5, amps: 100}
      gen-2: {volts: 28.5, amps: 100}
      conv-1: {kind: converter, volts: 28, efficiency: 0.8, amps: 50,
        fed-from: [{bus: left}, {bus: right-ess}]}
      conv-2: {kind: converter, volts: 28, efficiency: 0.8, amps: 50,
        fed-from: [{bus: right}, {bus: left-ess}]}
    buses: [left, right, left-ess, right-ess]
    feeders: [gen-1 > left, gen-2 > right, conv-1 > left-ess, conv-2 > right-ess]
    equipment:
      radio: {supplies: [{bus: left-ess}], amps: 20}
      nav: {supplies: [{bus: right-ess}], amps: 20}
    indications: {load: {kind: ammeter, at: gen-1}}
    """
    assert shown(text, "load") == ["0 to 69 A"]
