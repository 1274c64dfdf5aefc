"""What the devices in feeders carry."""

from __future__ import annotations

import pytest

from sitegen.answers.loads.carried import CurrentBounds
from sitegen.answers.loads.current_bounds import current_bounds
from sitegen.answers.loads.source_loads import loads
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Fault, Scenario, scenarios_of
from tests.nets import network

TWO_SIDES = """
sources:
  gen-1: {kind: generator, volts: 28, amps: 200}
  gen-2: {kind: generator, volts: 28, amps: 200}
buses: [left, centre, right]
devices: {k-1: breaker, k-2: breaker, fl-left: fuse-link, fl-right: fuse-link}
feeders:
  - gen-1 > k-1 > left
  - gen-2 > k-2 > right
  - left > fl-left > centre
  - centre > fl-right > right
equipment:
  left-load: {supplies: [{bus: left}], amps: 60}
  right-load: {supplies: [{bus: right}], amps: 20}
"""


def amps(text: str, *faults: Fault) -> dict[str, CurrentBounds]:
    net = network(text)
    condition = net.catalogue.conditions[0].id
    load = loads(solve(net, scenarios_of([Scenario(condition, faults)])))[0]
    return current_bounds(net, load.amps)


def test_on_the_only_way_a_device_carries_all_that_is_drawn_behind_it() -> None:
    found = amps(TWO_SIDES, ("gen-2", "lost"))
    assert found["k-1"] == CurrentBounds(80, 80)
    assert found["fl-left"] == found["fl-right"] == CurrentBounds(20, 20)


def test_what_two_generators_send_each_other_cancels_in_the_tie() -> None:
    """Each gives half of 80 A; the left bus draws 60, so 20 come over from the right."""
    found = amps(TWO_SIDES)
    assert found["k-1"] == CurrentBounds(40, 40)
    assert found["fl-left"] == found["fl-right"] == CurrentBounds(20, 20)


def test_an_open_link_carries_nothing_and_is_not_listed() -> None:
    found = amps(TWO_SIDES, ("fl-left", "open"))
    assert "fl-left" not in found
    assert found["k-1"] == CurrentBounds(60, 60)
    assert found["fl-right"] == CurrentBounds(0, 0)


DUAL_FEED = """
sources: {gen: {kind: generator, volts: 28, amps: 100}}
buses: [main, essential]
devices: {cb-a: breaker, cb-b: breaker}
feeders: [gen > main, main > cb-a > essential, main > cb-b > essential]
equipment: {radio: {supplies: [{bus: essential}], amps: 30}}
"""


def test_of_two_ways_each_could_be_asked_for_all_and_is_certain_of_nothing() -> None:
    assert amps(DUAL_FEED)["cb-a"] == amps(DUAL_FEED)["cb-b"] == CurrentBounds(0, 30)
    assert amps(DUAL_FEED, ("cb-b", "open"))["cb-a"] == CurrentBounds(30, 30)


def test_a_converters_input_carries_what_the_converter_takes() -> None:
    found = amps(
        """
        sources:
          gen: {kind: generator, volts: 28, amps: 100}
          inverter:
            {kind: converter, volts: 112, current: ac, efficiency: 0.8,
             fed-from: {bus: main, through: [cb-inverter]}}
        buses: {main: {}, ac: {current: ac}}
        devices: {k: breaker, cb-inverter: breaker}
        feeders: [gen > k > main, inverter > ac]
        equipment: {gyro: {supplies: [{bus: ac}], amps: 2}}
        """
    )
    assert found["cb-inverter"].most == pytest.approx(2 * 112 / (0.8 * 28))
    assert found["k"] == found["cb-inverter"]
