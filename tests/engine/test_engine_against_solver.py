"""The engine in the browser answers what the solver answers: the same text, written twice."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.catalogue.model import Then
from sitegen.solver.scenarios import every_single
from tests.engine.comparison import DEMO, Comparison, airframes
from tests.random_nets import AIRFRAMES, Raw, catalogues, crew_actions, hard_catalogues
from tests.samples import sample_size, thorough
from tests.tied_nets import crews, tied_catalogues


@airframes
def test_every_single_failure_of_the_demo(network):
    compared = Comparison(network)
    conditions = [c.id for c in network.catalogue.conditions]
    every = every_single(conditions, network.faults)
    chance = random.Random(5)
    numbers = sorted(chance.sample(range(every.count), sample_size(every.count)))
    compared.same([every.at(k) for k in numbers])
    assert compared.counts["openings"]


@airframes
def test_random_combinations_of_the_demo_and_what_its_crews_do(network):
    compared = Comparison(network)
    chance = random.Random(network.airframe)
    thens = [f.then for f in network.catalogue.failures if f.then]
    for then in (None, *thens):
        scenarios = compared.random_sets(chance, sample_size(640))
        compared.same(scenarios, then)
        compared.same_because(scenarios[:10], then)
    assert compared.counts["openings"]
    assert compared.counts["stalls"]


@thorough(60)
@given(
    catalogues() | catalogues(busy=True) | hard_catalogues(),
    st.sampled_from(AIRFRAMES),
    st.integers(0, 2**32),
    st.data(),
)
def test_random_nets(catalogue: Raw, airframe: str, seed: int, data: st.DataObject):
    compared = Comparison.of(catalogue, airframe)
    scenarios = compared.random_sets(random.Random(seed), 40)
    compared.same(scenarios)
    compared.same(scenarios[:8], word=1)
    compared.same_because(scenarios[:12])
    for crew in data.draw(st.lists(crew_actions(catalogue), min_size=2, max_size=2)):
        compared.same(scenarios, Then.model_validate(crew))
        compared.same_because(scenarios[:6], Then.model_validate(crew))


@thorough(60)
@given(tied_catalogues(), st.integers(0, 2**32), crews())
def test_what_crews_lose_by_joining_buses(catalogue: Raw, seed: int, crew: Raw):
    compared = Comparison.of(catalogue, "all")
    scenarios = compared.random_sets(random.Random(seed), 16)
    compared.same(scenarios, Then.model_validate(crew))


def test_names_that_do_not_exist_are_refused():
    compared = Comparison(DEMO[0])
    eval_ = compared.engine.v8.eval
    for asked in ('{condition: "x"}', '{condition: "cruise", failed: [["x", "open"]]}'):
        with pytest.raises(Exception, match=r"no (condition|component) 'x'"):
            eval_(f"engine.solve(net, [{asked}])")
