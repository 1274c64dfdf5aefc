"""The board says which answer to a short fits this airframe in the words of `drop`."""

from __future__ import annotations

import pytest

from sitegen.answers.drop import losses
from sitegen.solver.network import Network
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, every_single, scenarios_of
from sitegen.terminal.headline_text import headline
from tests.answers.test_dip_decides import (
    HELD,
    TWO_BRINGS_ONE_BACK,
    TWO_HOLD_EACH_OTHER,
    TWO_HOLD_THEMSELVES,
    with_hold,
)
from tests.engine.comparison import airframes
from tests.engine.v8 import Engine
from tests.nets import network as net_of

FITS = """
  function fits(set, names) {
    const { expected, dips } = headline.solved(net, set);
    return JSON.stringify(headline.differs(expected, dips)
      ? whichFits.sentence(net, new Map(Object.entries(names)), expected) : null);
  }
"""
FOLLOWS_A_BUS = "last: {kind: contactor, closes-when: {live: [side]}}"
FOLLOWS = "last: {kind: contactor, closes-when: {closed: [hold]}}"


def compared(network: Network) -> set[str]:
    """What is said, once it has been found to be the same for every single failure."""
    engine = Engine(network)
    engine.v8.eval(FITS)
    said = set()
    every = every_single([c.id for c in network.catalogue.conditions], network.faults)
    shorts = [
        s for s in map(every.at, range(every.count)) if s.faults and s.faults[0][1] == "shorted"
    ]
    for scenario in shorts:
        pair = scenarios_of([scenario, Scenario(scenario.condition)])
        (loss, normal), (other, _) = (
            losses(solve(network, pair, dip=dip)) for dip in (False, True)
        )
        [asked] = engine.asked([scenario])
        for shown, beside, is_dip in ((loss, other, False), (other, loss, True)):
            sentences = headline(network, shown, normal, beside, is_dip)
            lines = [s for s in sentences if s.startswith("The catalogue")]
            wanted = lines[0] if lines else None
            assert engine.call("fits", asked, network.names) == wanted, scenario
            said |= {*lines}
    return said


@airframes
def test_of_every_short_of_an_airframe(network: Network) -> None:
    compared(network)


@pytest.mark.parametrize("rides", ["", "rides-through: true", "rides-through: false"])
def test_of_what_holds_itself_in_or_another(rides: str) -> None:
    held = with_hold(HELD.replace(FOLLOWS_A_BUS, FOLLOWS), rides) if rides else HELD
    assert bool(compared(net_of(held))) == (not rides)
    if not rides:
        assert "one and two do: look up if they are" in " ".join(
            compared(net_of(TWO_HOLD_EACH_OTHER))
        )


def test_of_contactors_of_which_the_catalogue_says_it_of_some() -> None:
    for net in (TWO_HOLD_THEMSELVES, TWO_BRINGS_ONE_BACK):
        assert "does not say whether two does" in " ".join(compared(net_of(net)))
