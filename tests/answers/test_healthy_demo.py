"""Random readings of the demo's meters: a healthy aircraft is never diagnosed, a failure is found.

The full numbers, 1,000 healthy sets of readings in each condition and 1,000 single failures of each
airframe, are drawn by `tests/bench/full_samples.py`.
"""

from __future__ import annotations

import random
from functools import cache

import pytest

from sitegen.answers.drop import Loss, losses
from sitegen.answers.loads.drawn import draws
from sitegen.answers.observations import all_hold
from sitegen.answers.readings import reads_the_same
from sitegen.answers.troubleshoot import troubleshoot
from sitegen.catalogue.read import read
from sitegen.resources import demo_catalogue
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import Outcome, condition_states, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Scenario, every_single, scenarios_of
from sitegen.solver.subset import narrowed
from sitegen.terminal.diagnosis_text import diagnosis_text
from tests.answers.healthy import at_own_volts, seen_at_random
from tests.samples import sample_size, stratified

HEALTHY_SETS = 1000
"""Sets of readings in each condition of each airframe."""

AT_OWN_VOLTS = 1000
"""Sets of readings of aircraft whose sources are each at volts of their own, over all airframes and
conditions; they go through all of troubleshooting."""

FAILURES_EXPLAINED = 1000
"""Single failures of each airframe that explain their own readings."""

FAILURES_DIAGNOSED = 60
"""Single failures of each airframe that go through all of troubleshooting."""


@cache
def networks() -> dict[str, Network]:
    catalogue = read(demo_catalogue()).catalogue
    assert catalogue is not None
    return {a.id: build(catalogue, a.id) for a in catalogue.airframes}


@cache
def conditions(airframe: str) -> tuple[Power, list[Loss]]:
    """The conditions of an airframe with nothing failed, and what each shows."""
    net = networks()[airframe]
    before = condition_states(net)
    healthy = scenarios_of([Scenario(c.id) for c in net.catalogue.conditions])
    return before, losses(solve(net, healthy, before))


@cache
def singles(airframe: str) -> tuple[Outcome, list[Loss]]:
    """Every single failure in every condition, contactors riding through."""
    net = networks()[airframe]
    outcome = solve(net, every_single([c.id for c in net.catalogue.conditions], net.faults))
    return outcome, losses(outcome)


AIRFRAMES = ("block-1", "block-2", "block-3")


@pytest.mark.parametrize("airframe", AIRFRAMES)
def test_nothing_that_a_healthy_aircraft_may_show_is_a_failure(airframe: str) -> None:
    net, chance = networks()[airframe], random.Random(airframe)
    before, shown = conditions(airframe)
    bands = 0
    for number, condition in enumerate(net.catalogue.conditions):
        alone = narrowed(before, [number])
        drawn = draws(alone)
        bands += sum(reading.band is not None for reading in shown[number].readings.values())
        for _ in range(sample_size(HEALTHY_SETS)):
            seen = seen_at_random(chance, shown[number], drawn.states[0])
            assert all_hold(net, seen, alone), (condition.id, seen)
    assert bands > len(net.catalogue.conditions)


@pytest.mark.parametrize("airframe", AIRFRAMES)
@pytest.mark.slow
def test_with_every_source_anywhere_in_its_range_nothing_need_have_failed(airframe: str) -> None:
    net, chance = networks()[airframe], random.Random(airframe)
    every = [c.id for c in net.catalogue.conditions]
    cases = sample_size(AT_OWN_VOLTS)
    if cases < AT_OWN_VOLTS:
        cases //= 4  # each takes a second
    for number in range(cases // len(AIRFRAMES) + 1):
        aircraft = at_own_volts(net, chance)
        condition = every[number % len(every)]
        outcome = solve(aircraft, scenarios_of([Scenario(condition)]))
        [loss] = losses(outcome)
        seen = seen_at_random(chance, loss, draws(outcome.after).states[0])
        lines = list(diagnosis_text(net, troubleshoot(net, condition, seen, order=1)))
        answer = lines[lines.index("") + 1]
        assert answer.startswith("Nothing need have failed:"), (condition, seen)


def changed(airframe: str) -> list[int]:
    """The single failures of the demo that change a reading."""
    outcome, shown = singles(airframe)
    numbers = {c.id: k for k, c in enumerate(outcome.network.catalogue.conditions)}
    normal = conditions(airframe)[1]
    return [
        k
        for k, loss in enumerate(shown)
        if any(
            not reads_the_same(reading, normal[numbers[loss.condition]].readings[i])
            for i, reading in loss.readings.items()
        )
    ]


@pytest.mark.parametrize("airframe", AIRFRAMES)
@pytest.mark.slow
def test_every_failure_that_changes_a_reading_explains_its_own_readings(airframe: str) -> None:
    """Whatever its meters show of what they may: nothing is lost by the bands."""
    outcome, shown = singles(airframe)
    chance, drawn = random.Random(airframe), draws(outcome.after)
    numbers = stratified(
        changed(airframe),
        lambda k: (shown[k].condition, outcome.network.components[shown[k].failed[0][0]].kind),
        full=FAILURES_EXPLAINED,
        seed=31,
    )
    for k in numbers:
        seen = seen_at_random(chance, shown[k], drawn.states[drawn.number[k]])
        explains = all_hold(outcome.network, seen, outcome.after, among=1 << k)
        assert explains, (shown[k].failed, seen)


@pytest.mark.parametrize("airframe", AIRFRAMES)
@pytest.mark.slow
def test_every_failure_that_changes_a_reading_is_found_from_its_readings(airframe: str) -> None:
    outcome, shown = singles(airframe)
    before, _ = conditions(airframe)
    net, chance = outcome.network, random.Random(airframe)
    numbers = {c.id: k for k, c in enumerate(net.catalogue.conditions)}
    found = stratified(
        changed(airframe),
        lambda k: (net.components[shown[k].failed[0][0]].kind, shown[k].failed[0][1]),
        full=FAILURES_DIAGNOSED,
        seed=32,
    )
    for k in found:
        loss, drawn = shown[k], draws(outcome.after)
        seen = seen_at_random(chance, loss, drawn.states[drawn.number[k]])
        diagnosis = troubleshoot(net, loss.condition, seen, order=1)
        assert loss.failed in diagnosis.candidates, (loss.condition, loss.failed)
        # It may show what is healthy too; then that is said first, and it is found all the same.
        fits = bool(all_hold(net, seen, before) >> numbers[loss.condition] & 1)
        assert diagnosis.nothing_failed_fits == fits
