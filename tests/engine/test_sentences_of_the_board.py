"""What the board says of ratings is what a headline of the package says."""

from __future__ import annotations

import pytest

from sitegen.answers.drop import losses, with_overload
from sitegen.answers.over_rating import over_rating
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, every_single, scenarios_of
from sitegen.terminal.headline_text import headline
from tests.engine.comparison import DEMO
from tests.engine.v8 import Engine


@pytest.mark.parametrize("network", DEMO, ids=lambda n: n.airframe)
def test_every_single_failure_that_leaves_something_over_its_rating(network):
    engine = Engine(network)
    engine.v8.eval("""
      function say(set, names) {
        const named = new Map(Object.entries(names));
        return JSON.stringify(headline.sentences(net, named, headline.solved(net, set)).more);
      }
    """)
    conditions = [c.id for c in network.catalogue.conditions]
    every = every_single(conditions, network.faults)
    over = over_rating(solve(network, every))
    chosen = [every.at(k) for k, found in enumerate(over) if found]
    assert chosen
    for scenario in chosen:
        pair = solve(network, scenarios_of([scenario, Scenario(scenario.condition)]))
        loss, normal = with_overload(losses(pair), pair, pair)
        expected = [said for said in headline(network, loss, normal) if "rating" in said]
        [asked] = engine.asked([scenario])
        said = engine.call("say", asked, network.names)
        assert [one.replace("\xa0", " ") for one in said if "rating" in one] == expected, scenario
