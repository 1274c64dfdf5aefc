"""The clocks of every single failure together are those of each one asked alone."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.answers.drop import faults_of
from sitegen.answers.endurance.airframe_endurance import AirframeEndurance
from sitegen.answers.endurance.battery_endurance import (
    battery_endurances,
    endurances_of_cases,
)
from sitegen.answers.endurance.every_failure import endurances_by_scenario
from sitegen.catalogue.model import without_acts
from sitegen.catalogue.read import read
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import condition_states
from sitegen.solver.scenarios import Fault, Scenario
from tests.answers.test_battery_endurance import DEMO, named, net, with_figures
from tests.random_nets import Raw, catalogues
from tests.samples import thorough

# The relay puts the second battery on the main bus when the first is flat, unless it has failed.
TAKES_OVER = """
sources:
  generator: 28
  first: {kind: battery, volts: 24, amp-hours: 1, usable: 1}
  second: {kind: battery, volts: 24, amp-hours: 1, usable: 1}
buses: [main, hot, spare]
devices: {relay: {kind: relay, closes-when: {dead: [hot]}}, breaker: breaker, one-way: diode}
feeders:
  - generator > main
  - first > hot
  - hot > one-way > main
  - second > relay > main
  - second > spare
equipment:
  radio: {supplies: [{bus: main}], amps: 4}
  lamp: {supplies: [{bus: spare, breaker: {name: LAMP, amps: 5}}], amps: 1}
conditions: {parked: {sources: [first, second]}}
"""


def agree(network: Network, faults: list[Fault]) -> int:
    """That both ways give the same; the number of scenarios that have clocks."""
    before = condition_states(network)
    together = endurances_by_scenario(network, faults, before)
    for condition in network.catalogue.conditions:
        for fault in faults:
            alone = battery_endurances(network, condition.id, [fault], before=before)
            assert list(together.get(Scenario(condition.id, (fault,)), ())) == alone, fault
    return len(together)


@thorough(150)
@given(catalogues(), st.data())
def test_failures_that_leave_the_batteries_alike_share_a_clock(
    catalogue: Raw, data: st.DataObject
) -> None:
    network = with_figures(data, catalogue)
    faults = [(c.id, mode) for c in network.components.values() for mode in c.modes]
    agree(network, faults)


def test_a_battery_that_floats_only_where_its_diode_is_shorted_is_not_overlooked() -> None:
    """It gives 2 A of 4 beside the generator, at 24.3 V behind a diode, which charges it through
    the shorted one; nothing draws at its own bus.
    """
    network = net(
        """
        sources: {generator: 25, battery: {kind: battery, volts: 24, amp-hours: 1, usable: 1}}
        buses: [main]
        devices: {d-1: diode, d-2: {kind: diode, drop-volts: 0}, idle: breaker}
        feeders: [generator > d-1 > main, battery > d-2 > main]
        equipment: {radio: {supplies: [{bus: main}], amps: 4}}
        """
    )
    assert agree(network, [("idle", "open"), ("d-2", "shorted")]) == 1
    assert agree(network, [("d-2", "shorted"), ("idle", "open")]) == 1


def test_a_relay_that_matters_only_when_a_battery_is_flat_is_not_overlooked() -> None:
    network = net(TAKES_OVER)
    assert agree(network, [("relay", "open"), ("breaker", "open"), ("generator", "lost")]) == 3
    before = condition_states(network)
    found = endurances_by_scenario(network, [("relay", "open"), ("generator", "lost")], before)
    times = {
        scenario.faults[0][0]: {endurance.battery: endurance.total for endurance in endurances}
        for scenario, endurances in found.items()
    }
    assert times["relay"]["second"] == pytest.approx(60)
    # 15 min at its own 1 A until the first is flat, then 45 A-min at 5 A.
    assert times["generator"]["second"] == pytest.approx(24)


def test_conditions_that_differ_in_what_they_ask_alone_do_not_share_a_clock() -> None:
    text = TAKES_OVER.replace(
        "{parked: {sources: [first, second]}}",
        "{parked: {sources: [first, second]}, longer: {sources: [first, second],"
        " battery-time: {required-minutes: 300}}}",
    )
    assert agree(net(text), [("relay", "open"), ("generator", "lost")]) == 4


def test_a_net_without_a_battery_has_no_clock() -> None:
    network = net("{sources: {generator: 28}, buses: [main], feeders: [generator > main]}")
    assert endurances_by_scenario(network, [("main", "dead")], condition_states(network)) == {}


def test_the_demo_has_a_clock_wherever_a_battery_carries_load() -> None:
    catalogue = read(DEMO).catalogue
    assert catalogue is not None
    network = build(catalogue, "block-2")
    faults = [(s, mode) for s in network.nodes for mode in network.components[s].modes]
    assert agree(network, faults) > len(faults)


def test_named_failures_together_have_the_clocks_of_each_one_asked_alone() -> None:
    reading = read(DEMO)
    assert reading.catalogue is not None
    network = build(reading.catalogue, reading.catalogue.airframes[0].id)
    answers = AirframeAnswers(reading, network)
    together, helped = AirframeEndurance(answers), 0
    for failure in network.catalogue.failures:
        faults = faults_of(network, failure)
        for asked in {not failure.has_acts: failure, True: without_acts(failure)}.values():
            for number, condition in enumerate(answers.conditions):
                alone = battery_endurances(network, condition.id, faults, asked, answers.before)
                assert list(together.of_named(asked, number)) == alone, (failure.id, condition.id)
                helped += any(one.bought for one in alone)
    assert helped


PULLS = """
sources: {generator: 28, battery: {kind: battery, volts: 24, amp-hours: 10, usable: 1}}
buses: [main, left, right]
devices: {cb-left: breaker, cb-right: breaker}
feeders: [generator > main, battery > main, main > cb-left > left, main > cb-right > right]
equipment:
  radio: {supplies: [{bus: left}], amps: 4}
  lamp: {supplies: [{bus: right}], amps: 2}
conditions: {flight: {sources: [generator, battery]}, parked: {sources: [battery]}}
"""


def test_each_of_several_crews_has_saved_what_it_alone_has_pulled() -> None:
    network = net(PULLS)
    cases = [
        (condition, (("generator", "lost"),), named("generator", then={"pulled": pulled}))
        for pulled in (["cb-left"], ["cb-right", "cb-left"], ["cb-right"])
        for condition in ("flight", "parked")
    ]
    together = endurances_of_cases(network, cases)
    assert together == [battery_endurances(network, *case) for case in cases]
    saved = [{one.id for one in found.bought} for [found] in together]
    assert saved[::2] == [{"cb-left"}, {"cb-left", "cb-right"}, {"cb-right"}]
