"""By which volts a device has moved, on the board in the words of `drop --because`."""

from __future__ import annotations

import pytest

from sitegen.answers.because import because
from sitegen.answers.drop import drop
from sitegen.solver.network import Network
from sitegen.solver.scenarios import Fault
from sitegen.terminal.closing_volts_text import closing_volts
from tests.engine.comparison import DEMO
from tests.engine.v8 import Engine
from tests.nets import network

VOLTS = """
  function byVolts(set, names) {
    const { shown } = headline.solved(net, set);
    return JSON.stringify(because.events(net, set).map((event) =>
      because.closingVolts(net, new Map(Object.entries(names)), event, shown)));
  }
"""
NET = """
sources: {gen: 28, bat: {kind: battery, volts: 24}, spare: {kind: battery, volts: 20}}
buses: [main, side, far]
devices:
  line: {kind: contactor, closes-when: {live: [gen]}}
  tie: {kind: contactor, closes-when: {live: [main]}}
  heat: {kind: relay, closes-when: {volts-above: {main: 26}}}
  back-up: {kind: relay, closes-when: {volts-below: {main: 25, side: 25}}}
  either: {kind: relay, closes-when: [{volts-above: {main: 26}}, {volts-below: {main: 10}}]}
feeders: [gen > line > main, bat > main, spare > far, main > tie > side]
equipment: {radio: main}
conditions: {flight: {sources: [gen, bat, spare]}}
"""


def both(on: Network, condition: str, *faults: Fault) -> dict[str, str]:
    """By device that has moved: what the package says, once the board says it too."""
    loss = drop(on, condition, faults)
    events = because(on, condition, faults)
    found = [closing_volts(on, event, loss) for event in events]
    engine = Engine(on)
    engine.v8.eval(VOLTS)
    asked = {"condition": condition, "failed": faults}
    assert engine.call("byVolts", asked, on.names) == found
    return {event.id: text for event, text in zip(events, found, strict=True) if text}


def test_a_cause_that_is_live_has_its_volts() -> None:
    """`either` has two limits on one bus: neither is said."""
    assert both(network(NET), "flight", ("gen", "lost")) == {
        "heat": "at 24 V, closes at more than 26 V",
        "back-up": "main at 24 V, closes at less than 25 V and side at 24 V, closes at less than"
        " 25 V",
    }


def test_a_dead_cause_has_none() -> None:
    assert both(network(NET), "flight", ("main", "dead")) == {}


@pytest.mark.parametrize("on", DEMO, ids=lambda on: on.airframe)
def test_of_a_lost_generator_of_the_demo(on: Network) -> None:
    faults = [("gen-1", "lost"), ("gen-2", "lost")]
    found = both(on, "cruise", *faults)
    assert found["k-windshield-left"] == "at 24 V, closes at more than 26 V"
