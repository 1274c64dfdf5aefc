"""What bounds exclude is never read: the quick test of meters against the figures themselves."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.answers.indications import meter_directions, unit_of
from sitegen.answers.loads.possible_amps import possible_amps
from sitegen.answers.observations import Observation, all_hold, holds
from sitegen.answers.readings import NO_LOAD, Reading
from sitegen.catalogue.kinds import LOAD_METERS
from sitegen.catalogue.model import Catalogue
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import Outcome, solve
from sitegen.solver.scenarios import Scenario, bits, scenarios_of
from tests.engine.comparison import DEMO
from tests.engine.figured_nets import figured
from tests.nets import network as net
from tests.random_nets import AIRFRAMES, Raw
from tests.samples import sample_size, thorough


def random_scenarios(network: Network, chance: random.Random, count: int) -> Outcome:
    conditions = [c.id for c in network.catalogue.conditions]
    drawn = []
    for _ in range(count):
        faults = chance.sample(network.faults, min(chance.randint(0, 3), len(network.faults)))
        once = {component: (component, mode) for component, mode in faults}
        drawn.append(Scenario(chance.choice(conditions), tuple(once.values())))
    return solve(network, scenarios_of(drawn))


def compare(network: Network, outcome: Outcome, chance: random.Random) -> int:
    """How many scenarios in which a meter does not read so were excluded by bounds alone."""
    excluded = 0
    for indication in network.catalogue.indications:
        if indication.kind not in LOAD_METERS:
            continue
        unit, share = unit_of(indication, network)
        directions = sorted({str(d) for d in meter_directions(indication, network) if d})
        figures = chance.sample([3, 7, 12, 20, 35, 48, 60, 80, 110, 150], 3)
        readings = [
            Reading("figure", figure, unit, direction)
            for figure in figures
            for direction in (None, *directions)
        ]
        for seen in (NO_LOAD, *readings):
            observation = Observation(indication.id, seen)
            held = holds(network, observation, outcome.after)
            assert all_hold(network, [observation], outcome.after) == held, (indication, seen)
            if indication.at in network.sources and seen.kind == "figure" and seen.number:
                ends = [Fraction(seen.number + by) / share for by in (-5, 5)]
                possible = possible_amps(outcome.after, indication.at, *ends)
                excluded += len(bits(outcome.scenarios.all & ~possible))
    return excluded


@thorough(100)
@given(figured(), st.sampled_from(AIRFRAMES), st.integers(0, 2**32))
def test_random_nets(catalogue: Raw, airframe: str, seed: int) -> None:
    network = build(Catalogue.model_validate(catalogue), airframe)
    chance = random.Random(seed)
    compare(network, random_scenarios(network, chance, 24), chance)


@pytest.mark.parametrize(
    ("load", "amps"),
    [("resistive", Fraction(60, 7)), ("constant-power", Fraction(35, 3)), ("constant-current", 10)],
)
def test_below_the_volts_of_its_figure_a_resistance_takes_less_and_constant_power_more(
    load: str, amps: Fraction
) -> None:
    """10 A at 28 V, fed at 24 V."""
    wired = net(
        f"""
        aircraft: {{load-volts: 28}}
        sources: {{gen: {{kind: generator, volts: 24, amps: 100}}}}
        buses: [main]
        feeders: [gen > main]
        equipment: {{heater: {{supplies: [{{bus: main}}], amps: 10, load: {load}}}}}
        """
    )
    power = solve(wired, scenarios_of([Scenario("flight")])).after
    near = Fraction(1, 10)
    assert possible_amps(power, "gen", amps - near, amps + near)
    assert not possible_amps(power, "gen", amps + near, amps + 2 * near)
    assert not possible_amps(power, "gen", amps - 2 * near, amps - near)


def test_what_one_source_offers_at_least_in_any_scenario_bounds_what_constant_power_takes() -> None:
    """10 A at 28 V: 14 A from a battery at the 20 V of the bottom of its range."""
    wired = net("""
aircraft: {load-volts: 28}
sources:
  gen: {kind: generator, volts: 28, amps: 100}
  bat: {kind: battery, volts: 27.8, volts-range: [20, 28], amps: 100}
buses: [main]
feeders: [gen > main, bat > main]
equipment: {heater: {supplies: [{bus: main}], amps: 10, load: constant-power}}
""")
    lost = Scenario("flight", (("gen", "lost"),))
    power = solve(wired, scenarios_of([Scenario("flight"), lost])).after
    near = Fraction(1, 10)
    assert possible_amps(power, "bat", 14 - near, 14 + near) >> 1 & 1


def test_the_demo() -> None:
    for network in DEMO:
        chance = random.Random(network.airframe)
        count = sample_size(500)
        outcome = random_scenarios(network, chance, count)
        assert compare(network, outcome, chance) > 3 * count
