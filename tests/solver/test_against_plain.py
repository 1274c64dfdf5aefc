"""Thousands of random nets: every answer equals that of the plain solver, scenario by scenario."""

from __future__ import annotations

import random
from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from tests import plain
from tests.random_nets import AIRFRAMES, Raw, catalogues, crew_actions, hard_catalogues
from tests.samples import sample_size, thorough
from tests.solver.comparison import EVENTS, Comparison
from tests.tied_nets import crews, tied_catalogues

nets = catalogues() | catalogues(busy=True) | hard_catalogues()
airframes = st.sampled_from(AIRFRAMES)
seeds = st.integers(0, 2**32).map(random.Random)


@thorough(400)
@given(nets, airframes)
def test_every_single_failure_in_every_condition_is_as_the_plain_solver_has_it(
    catalogue: Raw, airframe: str
) -> None:
    compared = Comparison(catalogue, airframe)
    assert sorted(compared.network.faults) == sorted(plain.every_fault(catalogue, airframe))
    compared.singles()


@thorough(400)
@given(nets, airframes, seeds)
def test_double_failures_are_as_the_plain_solver_has_them(
    catalogue: Raw, airframe: str, chance: random.Random
) -> None:
    Comparison(catalogue, airframe).pairs(chance, 20)


def test_any_failure_and_what_the_crew_does_then_are_as_the_plain_solver_has_them() -> None:
    counts: Counter[str] = Counter()

    @thorough(1500)
    @given(nets, airframes, seeds, st.data())
    def compare(catalogue: Raw, airframe: str, chance: random.Random, data: st.DataObject) -> None:
        crews = data.draw(st.lists(crew_actions(catalogue), min_size=2, max_size=2))
        compared = Comparison(catalogue, airframe)
        compared.sets(chance, crews, 10)
        counts.update(compared.counts)

    compare()
    # A sample in which something never happens would say nothing about it; the quick one is small.
    if sample_size(1500) >= 300:
        assert all(counts[event] for event in EVENTS), counts


def test_what_crews_lose_by_joining_buses_is_as_the_plain_solver_has_it() -> None:
    counts: Counter[str] = Counter()

    @thorough(300)
    @given(tied_catalogues(), seeds, st.lists(crews(), min_size=2, max_size=2))
    def compare(catalogue: Raw, chance: random.Random, acts: list[Raw]) -> None:
        compared = Comparison(catalogue, "all")
        compared.sets(chance, acts, 10)
        counts.update(compared.counts)

    compare()
    assert counts["lost to what the crew's acts opened"], counts
