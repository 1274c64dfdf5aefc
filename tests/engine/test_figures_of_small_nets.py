"""Small nets in each of which one rule about figures decides, in every single failure and pair.

Every source and device has a loadmeter and an ammeter, and every node a voltmeter.
"""

from __future__ import annotations

import json
from itertools import combinations

import pytest

from sitegen.answers.loads.source_loads import loads
from sitegen.catalogue.model import Catalogue, Then
from sitegen.solver.load_figures import exact
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from tests.answers.test_battery_endurance import TWO_WINDINGS
from tests.answers.test_diodes_in_a_feed import (
    FED,
    FROM_ONE_BUS,
    HIGHER,
    TWO_BATTERIES,
    TWO_INPUTS,
)
from tests.answers.test_endurance_remarks import (
    HANDED_OVER,
    HELD_BACK,
    LATCHED,
    SENSED,
    THREE_ISLANDS,
)
from tests.answers.test_meter_bands_of_shared_loads import RECTIFIERS, THROUGH_DIODES
from tests.answers.test_minutes_not_known import NETS as NOT_KNOWN
from tests.answers.test_what_is_not_known import CROSS_FED
from tests.engine.comparison import Comparison
from tests.engine.figures import same_figures
from tests.nets import expand
from tests.random_nets import Raw

NETS = {
    **NOT_KNOWN,
    "a converter may take all of its input through either feed": """
        sources:
          gen: {volts: 28, amps: 100}
          apu: {volts: 27.6, amps: 50}
          inv: {kind: converter, volts: 112, current: ac, efficiency: 0.8,
            fed-from: [{bus: left, through: [ci]}, {bus: right, through: [ch]}]}
        buses: {main: {}, left: {}, right: {}, ac: {current: ac}}
        devices: {ci: breaker, ch: breaker, d: {kind: diode, drop-volts: 0.4}}
        feeders: [gen > main, main > left, main > d > right, apu > right, inv > ac]
        equipment: {gyro: {supplies: [{bus: ac}], amps: 4}}
    """,
    "a converter has what the diodes in its feed leave": FED,
    "inputs of a converter are compared after the diodes, within half a volt": TWO_INPUTS
    % ("", "", 0.9),
    "inputs of a converter are compared after the diodes, no further": TWO_INPUTS % ("", "", 0.901),
    "the volts of a range decide which input feeds after the diodes": TWO_INPUTS
    % (", volts-range: [28, 28.2]", ", volts-range: [27.6, 27.7]", 1.1),
    "the highest source is not that which leaves most": HIGHER % ", volts-range: [28.2, 30]",
    "of two feeds from one bus the diode of one keeps it out": FROM_ONE_BUS % 0.7,
    "of two feeds from one bus either may carry": FROM_ONE_BUS % 0.5,
    "the diodes in a feed leave no volts": FROM_ONE_BUS % 29,
    "batteries that feed one converter are compared after the diodes": TWO_BATTERIES % 3.2,
    "batteries that feed one converter are too far apart after the diodes": TWO_BATTERIES % 3.201,
    "what supplies draw to land is on the battery of each": TWO_WINDINGS,
    "what is low may hand its load over, what is on an island is nothing to the others": LATCHED,
    "what moves by volts counts only for a battery that then feeds something else": """
        sources:
          gen: 28
          fore: {kind: battery, volts: 24, volts-range: [20, 25], amp-hours: 20}
          standby: {kind: battery, volts: 24, volts-range: [20, 25], amp-hours: 4}
        buses: [main, other, spare, end]
        devices:
          k: {kind: contactor, closes-when: {live: [gen]}}
          tie: {kind: relay, closes-when: {volts-below: {fore: 22}}}
          shed: {kind: relay, closes-when: {volts-above: {standby: 24.5}}}
        feeders: [gen > k > main, fore > main, standby > other, main > tie > spare,
          other > shed > end]
        equipment:
          lamp: {supplies: [{bus: spare}], amps: 1}
          radio: {supplies: [{bus: main}], amps: 5}
          horizon: {supplies: [{bus: other}], amps: 1}
    """,
    "what moves by volts counts where a flat battery hands its load over": HANDED_OVER,
    "what a diode holds back moves once the other battery is flat": HELD_BACK
    % ([21, 24], "volts-below: {main: 22.5}", 22),
    "what holds until a battery is flat holds on where the other has more volts": HELD_BACK
    % ([23, 24.3], "volts-above: {main: 23.5}", 23.5),
    "a battery that is flat may hold a relay of another": SENSED,
    "what moves counts until no other battery changes the load": THREE_ISLANDS % "",
    "what moves counts as long as another battery changes the load": THREE_ISLANDS
    % ", live: [end]",
    "what one battery carries alone opens once the others are flat": """
        sources:
          gen: 28
          one: {kind: battery, volts: 24, amp-hours: 5}
          two: {kind: battery, volts: 24, amp-hours: 9}
          three: {kind: battery, volts: 24, amp-hours: 40}
        buses: [main]
        devices:
          k: {kind: contactor, closes-when: {live: [gen]}}
          fl-1: {kind: fuse-link, amps: 10, opens-at: {may: 1.2, must: 1.5}}
          fl-2: {kind: fuse-link, amps: 10, opens-at: {may: 1.2, must: 1.5}}
          fl-3: {kind: fuse-link, amps: 14, opens-at: {may: 1.2, must: 1.5}}
        feeders: [gen > k > main, one > fl-1 > main, two > fl-2 > main, three > fl-3 > main]
        equipment: {heater: {supplies: [{bus: main}], amps: 30}}
    """,
    "amps and limits are compared rounded to hundredths": """
        sources: {g-1: 28, g-2: 28, g-3: 28, g-4: 28, apu: 28}
        buses: [b-1, b-2, b-3, b-4]
        devices:
          {cb-1: {kind: breaker, amps: 5}, cb-2: {kind: breaker, amps: 5},
           cb-3: {kind: breaker, amps: 5}, cb-4: {kind: breaker, amps: 5}}
        feeders: [g-1 > b-1, g-2 > b-2, g-3 > b-3, g-4 > b-4,
          apu > cb-1 > b-1, apu > cb-2 > b-2, apu > cb-3 > b-3, apu > cb-4 > b-4]
        equipment:
          {e-1: {supplies: [{bus: b-1}], amps: 6.895}, e-2: {supplies: [{bus: b-2}], amps: 6.894},
           e-3: {supplies: [{bus: b-3}], amps: 5.745}, e-4: {supplies: [{bus: b-4}], amps: 5.744}}
    """,
    "what is within a thousandth of the worst opens with it, and trips again when it is reset": """
        sources: {gen: 28, apu: 30}
        buses: [far, end]
        devices:
          {cb-1: {kind: breaker, amps: 5}, cb-2: {kind: breaker, amps: 5}}
        feeders: [gen > cb-1 > far, far > cb-2 > end, apu > end]
        equipment:
          {lamp: {supplies: [{bus: far}], amps: 0.04}, heater: {supplies: [{bus: end}], amps: 100}}
    """,
    "a converter with two inputs from one bus draws through either, one of a lower bus nothing": """
        sources:
          gen: 28
          bat: {kind: battery, volts: 24, amp-hours: 5}
          inverter: {kind: converter, volts: 115, current: ac, fed-from:
            [{bus: main, through: [cb-1]}, {bus: main, through: [cb-2]},
             {bus: low, through: [cb-3]}]}
        buses: [main, low, ac]
        devices: {cb-1: breaker, cb-2: breaker, cb-3: breaker}
        feeders: [gen > main, bat > low, inverter > ac]
        equipment:
          {horizon: {supplies: [{bus: ac}], amps: 1}, lamp: {supplies: [{bus: low}], amps: 1},
           clock: {supplies: [{bus: ac, breaker: {name: CLOCK, amps: 1}}]}}
    """,
    "one flow through two poles of one breaker has no figure there": """
        sources: {bat: {kind: battery, volts: 24, amp-hours: 5}}
        buses: [one, two, three]
        devices: {poles: {kind: breaker, amps: 3}, pair: {kind: breaker, amps: 3}}
        feeders: [bat > poles > one, one > poles > two, bat > pair > three, bat > pair > two]
        equipment:
          {radio: {supplies: [{bus: two}], amps: 4}, fan: {supplies: [{bus: three}], amps: 2}}
    """,
    "of two poles the one with a figure may open the device, whatever the other carries": """
        sources: {gen: {volts: 28, amps: 300}, gen-2: {volts: 28.9, amps: 300}}
        buses: [main, one, two, three]
        devices:
          k:
            {kind: contactor, amps: 50, opens-at: {may: 1.2, must: 1.5}, closes-when: {live: [gen]}}
          cb: {kind: breaker, amps: 100}
          k-on: {kind: relay, closes-when: {dead: [three]}}
        feeders: [gen > main, main > k > one, main > cb > one, main > k > two, gen-2 > three]
        equipment:
          {radio: {supplies: [{bus: one}], amps: 30}, fan: {supplies: [{bus: two}]},
           heater: {supplies: [{bus: one, through: [k-on]}], amps: 35},
           lamp: {supplies: [{bus: three}], amps: 30}}
    """,
    "a battery that charges may turn the current in a tie round": """
        sources:
          gen-1: {kind: generator, volts: 28, amps: 100}
          gen-2: {kind: generator, volts: 28, amps: 100}
          bat: {kind: battery, volts: 24, charge-amps: [0, 60], amp-hours: 5}
          spare: {kind: battery, volts: 24, charge-amps: [0, 0], amp-hours: 5}
        buses: [left, right, hot]
        devices: {tie: {kind: breaker, amps: 50}, cb-hot: breaker}
        feeders: [gen-1 > left, gen-2 > right, left > tie > right, bat > left, spare > cb-hot > hot,
          right > hot]
        equipment: {heater: {supplies: [{bus: right, breaker: {name: H, amps: 30}}], amps: 20}}
    """,
    "volts never fall below nothing, at either end of a range": """
        aircraft: {load-volts: 28}
        sources:
          gen: {kind: generator, volts: 28, volts-range: [20, 30]}
          bat: {kind: battery, volts: 24, volts-range: [18, 25], amp-hours: 5}
        buses: [low, hot]
        devices: {one-way: {kind: diode, drop-volts: 27.5}, cb: breaker}
        feeders: [gen > one-way > low, bat > cb > hot]
        equipment:
          {lamp: {supplies: [{bus: low}], amps: 4, load: resistive},
           radio: {supplies: [{bus: low}], amps: 4, load: constant-power},
           pump: {supplies: [{bus: hot}], amps: 0, load: constant-power},
           fan: {supplies: [{bus: hot}], amps: 30, load: resistive}}
    """,
    "what draws from a live bus without volts has no figure, unless it is 0 A": """
        aircraft: {load-volts: 28}
        sources:
          gen: 0.5
          bat: {kind: battery, volts: 0.5, amp-hours: 5}
          inverter: {kind: converter, volts: 115, current: ac, amps: 5, fed-from: {bus: low}}
        buses: [low, ac]
        devices: {one-way: {kind: diode, drop-volts: 0.7}, other: {kind: diode, drop-volts: 0.7}}
        feeders: [gen > one-way > low, bat > other > low, inverter > ac]
        equipment:
          {radio: {supplies: [{bus: low}], amps: 4, load: constant-power},
           pump: {supplies: [{bus: low}], amps: 0, load: constant-power},
           horizon: {supplies: [{bus: ac}], amps: 1}}
    """,
    "batteries that are flat together count in the order of their ids": """
        sources:
          b-2: {kind: battery, volts: 24, amp-hours: 4}
          b-1: {kind: battery, volts: 24, amp-hours: 4}
          b-3: {kind: battery, volts: 23, amp-hours: 4}
          b-4: {kind: battery, volts: 23, amps: 5}
        buses: [main]
        feeders: [b-2 > main, b-1 > main, b-3 > main, b-4 > main]
        equipment: {radio: {supplies: [{bus: main}], amps: 8}}
    """,
    "a lamp's limit in volts is within what its node may show": """
        sources:
          gen: {kind: generator, volts: 28, volts-range: [27, 29]}
          bat: {kind: battery, volts: 24, volts-range: [22, 25.2], amp-hours: 5}
        buses: [main, far]
        devices: {cb: breaker, one-way: diode}
        feeders: [gen > cb > main, bat > main, main > one-way > far]
        equipment: {radio: {supplies: [{bus: far}], amps: 4}}
        indications:
          low: {kind: lamp, lit-when: {volts-below: {main: 25}}}
          high: {kind: lamp, lit-when: {volts-above: {far: 28}}}
          of-source: {kind: lamp, lit-when: {volts-above: {bat: 25}, live: [far]}}
          either: {kind: flag, lit-when: [{volts-below: {far: 22}}, {volts-above: {main: 28.5}}]}
    """,
    "converters that feed each other have no figure, and help no battery": """
        sources:
          gen: {kind: generator, volts: 24}
          bat: {kind: battery, volts: 28, amp-hours: 5}
          up: {kind: converter, volts: 28, fed-from: [{bus: low}, {bus: high}]}
          down: {kind: converter, volts: 24, fed-from: {bus: high}}
        buses: [low, high]
        devices: {cb-gen: breaker, cb-bat: breaker, cb-up: breaker}
        feeders: [gen > cb-gen > low, bat > cb-bat > high, up > cb-up > high, down > low]
        equipment:
          {radio: {supplies: [{bus: low}], amps: 4}, fan: {supplies: [{bus: high}], amps: 2}}
    """,
    "a battery gives its share beside a generator's rectifier that does not charge it": """
        sources:
          alt: {kind: generator, current: ac, volts: 115, amps: 30}
          bat: {kind: battery, volts: 24, amp-hours: 20, amps: 100}
          float: {kind: battery, volts: 28, amp-hours: 5}
          tru: {kind: converter, volts: 28.5, amps: 20, fed-from: {bus: ac}}
          up: {kind: converter, volts: 28, amps: 40, fed-from: {bus: hot, through: [cb]}}
        buses: {ac: {current: ac}, hot: {}, main: {}}
        devices: {cb: breaker, d: {kind: diode, drop-volts: 0.4}, link: fuse-link}
        feeders: [alt > ac, tru > d > main, up > main, bat > hot, float > link > main]
        equipment:
          {radio: {supplies: [{bus: main}], amps: 30}, clock: {supplies: [{bus: hot}], amps: 0.5}}
    """,
    "a converter that feeds its own input is no help from a generator": """
        sources:
          gen: {kind: generator, volts: 28}
          bat: {kind: battery, volts: 28, amp-hours: 5}
          up: {kind: converter, volts: 28, fed-from: {bus: one}}
        buses: [one, other]
        devices:
          {one-way: {kind: diode, drop-volts: 0.3}, other-way: {kind: diode, drop-volts: 0.3}}
        feeders: [gen > one, up > one-way > one, up > other-way > other, bat > other]
        equipment: {radio: {supplies: [{bus: other}], amps: 4}}
    """,
    "converters that may each feed the other's input take no more for it": CROSS_FED,
    "what a converter takes through its own breaker varies with its share": """
        sources:
          gen: {volts: 28, amps: 400}
          alt: {kind: generator, volts: 115, amps: 100, current: ac}
          tru: {kind: converter, volts: 28, amps: 400, fed-from: {bus: ac, through: [cb]}}
        buses: {ac: {current: ac}, main: {}}
        devices: {cb: breaker}
        feeders: [gen > main, alt > ac, tru > main]
        equipment: {heater: {supplies: [{bus: main}], amps: 300}}
    """,
    "what other sources share is nothing to a meter": THROUGH_DIODES % "10, 60",
    "what one converter takes more another takes less": RECTIFIERS % (0.68, "ac-1", 100),
    "a converter that shares takes from either input": """
        sources:
          alt-1: {kind: generator, current: ac, volts: 100, amps: 60}
          alt-2: {kind: generator, current: ac, volts: 100, amps: 20}
          tr: {kind: converter, volts: 25, amps: 150, efficiency: 1,
            fed-from: [{bus: one, through: [cb]}, {bus: two}]}
          gen: {volts: 25, amps: 100}
          bat: {kind: battery, volts: 24, charge-amps: [5, 30]}
        buses: {one: {current: ac}, two: {current: ac}, dc: {}, end: {}}
        devices: {cb: breaker, d: {kind: diode, drop-volts: 0.1}}
        feeders: [alt-1 > one, alt-2 > two, tr > dc, gen > end, dc > d > end, bat > end]
        equipment: {radar: {supplies: [{bus: dc}, {bus: end}], amps: 40}}
    """,
    "diodes in a ring leave fewer paths than the ring has": """
        sources: {gen: {kind: generator, volts: 28, amps: 100}}
        buses: [a, b, c, d, e, f]
        devices: {d-1: diode, d-2: diode, d-3: diode, cb: {kind: breaker, amps: 5}, x: breaker}
        feeders: [gen > a, a > b, b > d-1 > c, c > d-2 > b, c > d, d > d-3 > e, e > cb > a,
          e > x > f, d > f, b > f]
        equipment:
          {one: {supplies: [{bus: f}], amps: 20}, two: {supplies: [{bus: d}], amps: 10}}
    """,
}


@pytest.mark.parametrize("text", NETS.values(), ids=list(NETS))
def test_the_browser_has_the_figures_of_the_package_where(text):
    compared = Comparison(with_meters(expand(text)))
    faults = compared.network.faults
    sets = [(), *((f,) for f in faults), *combinations(faults, 2)]
    scenarios = [Scenario("flight", chosen) for chosen in sets if len(dict(chosen)) == len(chosen)]
    same_figures(compared, scenarios, word=32)
    breakers = [f for f, _ in faults if compared.network.components[f].kind == "breaker"]
    same_figures(compared, scenarios, Then(reset=breakers), word=32)


def test_a_mesh_of_more_paths_than_are_gone_through():
    """From 4,000 nodes on, what a branch may carry is an upper bound, in both the same."""
    buses = [f"b-{i}" for i in range(10)]
    pairs = list(combinations(buses, 2))
    diodes = [f"d-{i}" for i in range(4)]
    devices = dict.fromkeys(diodes, "diode") | {f"cb-{i}": "breaker" for i in range(len(pairs))}
    mesh = {
        "sources": {"gen": 28, "apu": 28},
        "buses": [*buses, "sink", "spring"],
        "devices": devices,
        "feeders": [
            *("gen > b-0", "apu > b-3", "b-1 > d-0 > sink", "b-2 > d-1 > sink"),
            *("spring > d-2 > b-1", "spring > d-3 > b-2"),
            *(f"{one} > cb-{i} > {other}" for i, (one, other) in enumerate(pairs)),
        ],
        "equipment": {"fan": {"supplies": [{"bus": "b-9"}], "amps": 9}, "radio": "b-5"},
    }
    compared = Comparison(with_meters(expand(json.dumps(mesh))))
    same_figures(compared, [Scenario("flight"), Scenario("flight", (("apu", "lost"),))])


SHED = """
sources:
  bat-1: {kind: battery, volts: 24, amp-hours: 5}
  bat-2: {kind: battery, volts: 24}
buses: [main, one, two]
switches: {tie: [open, closed]}
devices:
  d-1: diode
  d-2: diode
  s-tie: {kind: switch, closes-when: {switches: {tie: closed}}}
feeders: [bat-1 > one, bat-2 > two, one > d-1 > main, two > d-2 > s-tie > main]
equipment:
  radio: {supplies: [{bus: main}], amps: 4}
  lamp: {supplies: [{bus: one}], amps: 1}
  fan: {supplies: [{bus: two}], amps: 1}
"""


def test_of_batteries_that_share_only_what_the_crew_has_shed():
    compared = Comparison(with_meters(expand(SHED)))
    crew = Then(switches={"tie": "closed"}, shed=["radio"])
    same_figures(compared, [Scenario("flight")], crew)
    assert compared.counts["batteries"] == 2


CHARGED = """
sources:
  gen: {volts: 28, amps: 100}
  near: {kind: battery, volts: 27.6, amp-hours: 20, amps: 20, charge-amps: [0, 10]}
  far: {kind: battery, volts: 24, amp-hours: 20, charge-amps: [0, 10]}
  without: {kind: battery, volts: 24, amp-hours: 20}
  full: {kind: battery, volts: 24, amp-hours: 20, charge-amps: [0, 0]}
  behind: {kind: battery, volts: 24, amp-hours: 20, charge-amps: [0, 10]}
buses: [main]
devices: {d: diode}
feeders: [gen > main, near > main, far > main, without > main, full > main, behind > d > main]
equipment: {radio: {supplies: [{bus: main}], amps: 20}}
"""


def test_a_battery_is_charged_that_carries_nothing_and_has_charge_amps():
    """The near one is within half a volt of the generator: it gives 20 x 20 / 120 A."""
    network = build(Catalogue.model_validate(expand(CHARGED)), "all")
    engine = Comparison(network).engine
    engine.v8.eval(
        "function charged(set) {"
        " return JSON.stringify(figures.charged(engine.solve(net, [set]))); }"
    )
    healthy, lost = engine.asked([Scenario("flight"), Scenario("flight", (("gen", "lost"),))])
    assert engine.call("charged", healthy) == ["far"]
    [load] = loads(solve(network, scenarios_of([Scenario("flight")])))
    assert load.sources["near"] == exact(10) / 3
    # The near one charges the far one then.
    assert engine.call("charged", lost) == ["far"]
    [alike] = engine.asked([Scenario("flight", (("gen", "lost"), ("near", "lost")))])
    assert engine.call("charged", alike) == []


def with_meters(raw: Raw) -> Network:
    """The airframe of a small net, with every meter that it may have."""
    nodes = [record["id"] for record in (*raw["sources"], *raw["buses"])]
    places = [record["id"] for record in (*raw["sources"], *raw["devices"])]
    raw["indications"] += [
        {"id": f"{kind}-{at}", "name": at, "kind": kind, "at": at}
        for kind, where in (("voltmeter", nodes), ("loadmeter", places), ("ammeter", places))
        for at in where
    ]
    return build(Catalogue.model_validate(raw), "all")
