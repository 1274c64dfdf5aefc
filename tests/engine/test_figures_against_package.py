"""The figures in the browser are the package's, to the last fraction."""

from __future__ import annotations

import json
import random
from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from sitegen.answers.drop import faults_of
from sitegen.catalogue.model import BatteryTime, Then
from sitegen.quantities import Fraction, decimals, exactly, whole, whole_minutes
from sitegen.solver.scenarios import Scenario, every_single
from tests.answers.test_battery_endurance import LANDS_LIGHT, THREE_BATTERIES, TWO_WINDINGS
from tests.answers.test_endurance_at_other_volts import (
    BETWEEN,
    BOTH_NEEDED,
    SAVED_FOR_LANDING,
    SHARED,
    TAKES_ON,
    Batteries,
    isolated_batteries,
)
from tests.answers.test_endurance_remarks import (
    FED_CONVERTER,
    FED_FROM_TWO,
    LANDING,
    MAY_OPEN,
    RELAY_BY_VOLTS,
    SMALL_AND_LARGE,
    TAKES_ON_MORE,
    THREE_AFTER_ANOTHER,
    TWO_BATTERIES,
    UNTIL_IT_OPENS,
)
from tests.engine.comparison import DEMO, Comparison, airframes
from tests.engine.figured_nets import battery_times, figured
from tests.engine.figures import same_figures
from tests.nets import network as net
from tests.random_nets import AIRFRAMES, Raw, crew_actions
from tests.samples import sample_size, thorough
from tests.tied_nets import crews, tied_catalogues


@airframes
def test_single_failures_and_combinations_of_the_demo(network):
    compared = Comparison(network)
    conditions = [c.id for c in network.catalogue.conditions]
    every = every_single(conditions, network.faults)
    chance = random.Random(8)
    numbers = chance.sample(range(every.count), sample_size(400))
    same_figures(compared, [every.at(k) for k in numbers], word=32)
    same_figures(compared, compared.random_sets(chance, sample_size(300)))
    assert compared.counts["batteries with a time"]
    assert compared.counts["bands"]


@airframes
def test_named_failures_of_the_demo_with_and_without_what_the_crew_does(network):
    compared = Comparison(network)
    conditions = [c.id for c in network.catalogue.conditions]
    for failure in network.catalogue.failures:
        faults = faults_of(network, failure)
        scenarios = [Scenario(condition, faults) for condition in conditions]
        same_figures(compared, scenarios)
        same_figures(compared, scenarios, failure.then or Then(), failure.battery_time)
        for then in (None, failure.then or Then()):
            same_figures(compared, scenarios, then, failure.battery_time, dip=True)
    assert compared.counts["batteries with a time"]


@thorough(200)
@given(figured(), st.sampled_from(AIRFRAMES), st.integers(0, 2**32), st.data())
def test_random_nets(catalogue: Raw, airframe: str, seed: int, data: st.DataObject):
    compared = Comparison.of(catalogue, airframe)
    scenarios = compared.random_sets(random.Random(seed), 12)
    same_figures(compared, scenarios, word=data.draw(st.sampled_from([1, 32])))
    crew = Then.model_validate(data.draw(crew_actions(catalogue)))
    asked = BatteryTime.model_validate(data.draw(battery_times()))
    same_figures(compared, scenarios, crew, asked)
    same_figures(compared, scenarios, data.draw(st.sampled_from([None, crew])), asked, dip=True)
    compared.same_because(scenarios[:4], overload=True)
    compared.same_because(scenarios[:4], crew, overload=True)


def test_what_joining_buses_overloads():
    counts = Counter()

    @thorough(100)
    @given(tied_catalogues(), st.integers(0, 2**32), crews())
    def compare(catalogue: Raw, seed: int, crew: Raw):
        compared = Comparison.of(catalogue, "all")
        scenarios = compared.random_sets(random.Random(seed), 8)
        same_figures(compared, scenarios, Then.model_validate(crew))
        counts.update(compared.counts)

    compare()
    assert counts["overload answers"]


def test_of_batteries_that_take_over_at_one_end_of_the_volts_only():
    compared = Comparison(net(THREE_BATTERIES))
    same_figures(compared, [Scenario("flight")])
    assert compared.counts["batteries"] == 3


def test_of_batteries_that_land_each_in_its_own_time():
    lands = LANDS_LIGHT % ", battery-time: {recognition-minutes: 0, landing-minutes: 0}"
    for text in (LANDS_LIGHT % "", lands.replace("column: landing,", "column: cruise,")):
        compared = Comparison(net(text))
        same_figures(compared, [Scenario("flight", (("gen", "lost"),))])
        assert compared.counts["batteries"] == 2
    for text in (TWO_WINDINGS, TAKES_ON_MORE):
        same_figures(Comparison(net(text)), [Scenario("flight", (("gen", "lost"),))])


def test_of_batteries_whose_time_depends_on_the_volts_of_others():
    failed = [Scenario("flight", (("gen", "lost"),))]
    needed = Comparison(net(BOTH_NEEDED))
    same_figures(needed, failed)
    assert needed.counts["a range of minutes"] == 2
    shared = Comparison(net(SHARED))
    same_figures(shared, failed)
    assert shared.counts["opens when flat"] == 2
    for text in (BETWEEN, TAKES_ON):
        same_figures(Comparison(net(text)), [Scenario("flight")])
    same_figures(Comparison(net(SAVED_FOR_LANDING)), failed)


@given(isolated_batteries())
@thorough(30)
def test_of_batteries_that_only_equipment_joins(batteries: Batteries):
    same_figures(Comparison(net(batteries.as_text)), [Scenario("flight")])


def test_what_is_said_beside_minutes():
    compared = Comparison(net(TWO_BATTERIES % ("volts-range: [22, 25.2], ", 0.7, 40, 23)))
    same_figures(
        compared,
        [
            Scenario("flight", (("gen", "lost"),)),
            Scenario("flight", (("gen", "lost"), ("link", "open"))),
        ],
    )
    lands = Comparison(net(SMALL_AND_LARGE % "{cruise: 1, landing: 24}" + LANDING % 10))
    same_figures(lands, [Scenario("flight", (("gen", "lost"),))])
    assert lands.counts["opens in the landing"]
    for needs in ("any", "all"):
        two = Comparison(net(FED_FROM_TWO % ("volts-range: [22, 24.4], ", 24.4, needs)))
        same_figures(two, [Scenario("flight", (("gen", "lost"),))])
    converter = Comparison(net(FED_CONVERTER))
    failures = (
        [("gen", "lost")],
        [("gen", "lost"), ("inv", "lost")],
        [("gen", "lost"), ("r", "open")],
    )
    same_figures(converter, [Scenario("flight", tuple(failed)) for failed in failures])
    until = Comparison(net(UNTIL_IT_OPENS % ("", 6)))
    for then in (None, Then(shed=["heater"])):
        same_figures(until, [Scenario("flight", (("gen", "lost"),))], then)
    assert until.counts["minutes if it opens"] == 2
    may = Comparison(net(MAY_OPEN % 24))
    same_figures(may, [Scenario("flight", (("g1", "lost"),))], Then(switches={"t": "on"}))
    assert may.counts["may open"]
    three = Comparison(net(THREE_AFTER_ANOTHER % 23.2))
    same_figures(three, [Scenario("flight")])
    assert three.counts["equally charged"]
    by_volts = Comparison(net(RELAY_BY_VOLTS % (22, 21)))
    same_figures(by_volts, [Scenario("flight", (("gen", "lost"),))])
    assert by_volts.counts["moves at low volts"]
    for said in ("equally charged", "still closed", "lost at low volts"):
        assert compared.counts[said], said


@given(
    st.lists(st.tuples(st.integers(0, 10**22), st.integers(1, 10**19)), max_size=50),
    st.lists(st.floats(0, 1e9), max_size=50),
)
@thorough(100)
def test_fractions_are_printed_as_the_package_prints_them(fractions, written):
    v8 = Comparison(DEMO[0]).engine.v8
    ask = """
      JSON.stringify([
        FRACTIONS.map(([n, d]) => new figures.Fraction(BigInt(n), BigInt(d))).map(
          (one) => [one.text(0), one.text(1), one.text(2), one.whole, one.roundedDown]),
        WRITTEN.map((one) => String(figures.exact(one)))])
    """
    pairs = [[str(n), str(d)] for n, d in fractions]
    found = json.loads(
        v8.eval(ask.replace("FRACTIONS", json.dumps(pairs)).replace("WRITTEN", json.dumps(written)))
    )
    exact_ones = [Fraction(n, d) for n, d in fractions]
    expected = [
        [*(decimals(one, places) for places in (0, 1, 2)), whole(one), whole_minutes(one)]
        for one in exact_ones
        if one < 10**9
    ]
    assert [row for row, one in zip(found[0], exact_ones, strict=True) if one < 10**9] == expected
    assert found[1] == [str(exactly(figure)) for figure in written]


NO_VOLTS_LEFT = """
aircraft: {load-volts: 28}
sources:
  gen: 0.5
  inverter: {kind: converter, volts: 115, current: ac, amps: 5, fed-from: {bus: low}}
buses: [low, ac]
devices: {one-way: {kind: diode, drop-volts: 0.7}}
feeders: [gen > one-way > low, inverter > ac]
equipment:
  radio: {supplies: [{bus: low}], amps: 4, load: constant-power}
  horizon: {supplies: [{bus: ac}], amps: 1}
"""


def test_what_draws_from_a_live_bus_without_volts_has_no_figure():
    compared = Comparison(net(NO_VOLTS_LEFT))
    same_figures(compared, [Scenario("flight")])
    assert compared.counts["amps not known"] == 1
