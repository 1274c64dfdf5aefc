"""A scenario is a bit: what a bit means is what its masks say."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.solver.scenarios import (
    Fault,
    Scenario,
    Scenarios,
    at_least,
    bits,
    every_set,
    every_single,
    scenarios_of,
    singles_and_pairs,
)

FAULTS: list[Fault] = [(f"cb-{i}", "open") for i in range(9)]


def by_masks(scenarios: Scenarios) -> list[tuple[str, set[Fault]]]:
    """What the masks say of every bit."""
    return [
        (
            next(c for c, mask in scenarios.in_condition.items() if mask >> k & 1),
            {fault for fault, mask in scenarios.failed.items() if mask >> k & 1},
        )
        for k in range(scenarios.count)
    ]


def by_bit(scenarios: Scenarios) -> list[tuple[str, set[Fault]]]:
    """What `at` says of every bit; no fault is there twice."""
    found = []
    for k in range(scenarios.count):
        scenario = scenarios.at(k)
        assert len(set(scenario.faults)) == len(scenario.faults)
        found.append((scenario.condition, set(scenario.faults)))
    return found


def test_every_single_failure_is_there_once_in_every_condition() -> None:
    scenarios = every_single(["cruise", "approach"], FAULTS)
    expected = [(condition, {fault}) for condition in ("cruise", "approach") for fault in FAULTS]
    assert by_bit(scenarios) == by_masks(scenarios) == expected
    assert scenarios.of_size == {1: scenarios.all}


@pytest.mark.parametrize("size", [1, 2, 3, 9])
def test_every_single_and_double_failure_is_there_once(size: int) -> None:
    scenarios = singles_and_pairs("cruise", FAULTS[:size])
    found = by_bit(scenarios)
    assert found == by_masks(scenarios)
    sets = [set(s) for n in (1, 2) for s in combinations(FAULTS[:size], n)]
    assert len(found) == len(sets)
    assert all(("cruise", s) in found for s in sets)
    for n, mask in scenarios.of_size.items():
        assert {k for k, (_, s) in enumerate(found) if len(s) == n} == set(bits(mask))


@pytest.mark.parametrize("first", [0, 1, 4, 9])
def test_failures_with_one_of_the_first_and_those_of_the_others_are_apart(first: int) -> None:
    blocks = [singles_and_pairs("cruise", FAULTS, first), singles_and_pairs("c", FAULTS[first:])]
    with_first, others = (by_bit(block) for block in blocks)
    assert with_first == by_masks(blocks[0])
    assert all(s & {*FAULTS[:first]} for _, s in with_first)
    sets = [s for _, s in (*with_first, *others)]
    expected = [set(s) for n in (1, 2) for s in combinations(FAULTS, n)]
    assert len(sets) == len(expected)
    assert all(s in sets for s in expected)


@pytest.mark.parametrize("largest", [1, 10, 1 << 20])
@pytest.mark.parametrize("order", [1, 2, 3])
def test_every_set_of_failures_is_wanted_once_whatever_the_size_of_the_blocks(
    order: int, largest: int
) -> None:
    wanted = []
    for block in every_set("cruise", FAULTS, order, largest):
        found = by_bit(block)
        assert found == by_masks(block)
        for n, mask in block.of_size.items():
            for k in bits(mask):
                assert len(found[k][1]) == n
                wanted.append(frozenset(found[k][1]))
    sets = {frozenset(s) for n in range(1, order + 1) for s in combinations(FAULTS, n)}
    assert len(wanted) == len(sets)
    assert set(wanted) == sets


def test_a_list_of_scenarios_keeps_its_order() -> None:
    asked = [
        Scenario("cruise"),
        Scenario("approach", tuple(FAULTS[:3])),
        Scenario("cruise", (FAULTS[2],)),
    ]
    scenarios = scenarios_of(asked)
    assert [scenarios.at(k) for k in range(3)] == asked
    assert by_masks(scenarios) == [(s.condition, set(s.faults)) for s in asked]
    assert scenarios.of_size == {0: 0b001, 3: 0b010, 1: 0b100}


def test_what_holds_in_a_condition_holds_in_all_scenarios_that_start_from_it() -> None:
    scenarios = every_single(["cruise", "approach"], FAULTS[:2])
    assert scenarios.spread_out({"cruise": 1, "approach": 0}) == 0b0011
    assert scenarios.spread_out({"cruise": 0, "approach": 1}) == 0b1100


@given(st.lists(st.integers(0, 255), max_size=6), st.integers(0, 7))
def test_at_least_counts_in_every_scenario(masks: list[int], k: int) -> None:
    count = sum(mask >> k & 1 for mask in masks)
    reached = at_least(masks, 4, 255)
    assert [mask >> k & 1 for mask in reached] == [int(count >= n) for n in range(5)]


@given(st.sets(st.integers(0, 300)))
def test_bits_are_the_numbers_that_are_set(numbers: set[int]) -> None:
    assert bits(sum(1 << n for n in numbers)) == sorted(numbers)
