"""Thousands of random nets: every answer equals that of the plain solver, scenario by scenario."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from hypothesis import given
from hypothesis import strategies as st

from sitegen.answers.drop import Loss, losses
from sitegen.catalogue.model import Catalogue, Then
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import Outcome, after_the_crew, solve
from sitegen.solver.scenarios import Scenario, every_single, scenarios_of, singles_and_pairs
from tests import plain
from tests.random_nets import AIRFRAMES, Raw, catalogues, crew_actions
from tests.samples import thorough


@thorough(400)
@given(catalogues(), st.sampled_from(AIRFRAMES))
def test_every_single_failure_in_every_condition_is_as_the_plain_solver_has_it(
    catalogue: Raw, airframe: str
) -> None:
    network = build(Catalogue.model_validate(catalogue), airframe)
    assert sorted(network.faults) == sorted(plain.every_fault(catalogue, airframe))
    conditions = [c["id"] for c in catalogue["conditions"]]
    outcome = solve(network, every_single(conditions, network.faults))
    compare(catalogue, airframe, outcome, range(outcome.scenarios.count))


@thorough(400)
@given(catalogues(), st.sampled_from(AIRFRAMES), st.data())
def test_single_and_double_failures_are_as_the_plain_solver_has_them(
    catalogue: Raw, airframe: str, data: st.DataObject
) -> None:
    network = build(Catalogue.model_validate(catalogue), airframe)
    outcome = solve(network, singles_and_pairs(catalogue["conditions"][0]["id"], network.faults))
    numbers = st.integers(0, outcome.scenarios.count - 1)
    compare(catalogue, airframe, outcome, data.draw(st.lists(numbers, min_size=5, max_size=15)))


@thorough(1500)
@given(catalogues(), st.sampled_from(AIRFRAMES), st.data())
def test_any_failure_and_what_the_crew_does_then_are_as_the_plain_solver_has_them(
    catalogue: Raw, airframe: str, data: st.DataObject
) -> None:
    network = build(Catalogue.model_validate(catalogue), airframe)
    conditions = st.sampled_from([c["id"] for c in catalogue["conditions"]])
    faults = st.lists(st.sampled_from(network.faults), max_size=4, unique=True).map(tuple)
    scenarios = data.draw(st.lists(st.builds(Scenario, conditions, faults), min_size=1, max_size=4))
    then = data.draw(st.none() | crew_actions(catalogue))
    outcome = solve(network, scenarios_of(scenarios))
    if then is not None:
        outcome = after_the_crew(outcome, Then.model_validate(then))
    compare(catalogue, airframe, outcome, range(len(scenarios)), then)


def compare(
    catalogue: Raw, airframe: str, outcome: Outcome, numbers: Iterable[int], then: Raw | None = None
) -> None:
    found = losses(outcome)
    before: Mapping[str, plain.Scenario] = {
        c["id"]: plain.settled_condition(catalogue, c["id"], airframe)
        for c in catalogue["conditions"]
    }
    for k in numbers:
        condition, failed = found[k].condition, found[k].failed
        expected = plain.answer(catalogue, condition, failed, then, before=before[condition])
        assert as_plain(outcome.network, found[k]) == expected, (condition, failed, then)


def as_plain(network: Network, loss: Loss) -> Raw:
    """A Loss by the plain solver's names."""
    by_json = loss.as_json(network)
    for given_as_such in ("airframe", "condition", "failed"):
        del by_json[given_as_such]
    return {
        **by_json,
        "kept": list(loss.kept),
        "shed": list(loss.shed),
        "readings": {i: str(shown) for i, shown in loss.readings.items()},
    }
