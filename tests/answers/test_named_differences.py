"""Which named failures and functions are not the same on two airframes."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.answers.endurance.airframe_endurance import AirframeEndurance
from sitegen.answers.named_differences import (
    functions_not_the_same,
    named_failures_not_the_same,
)
from sitegen.solver.network import build
from tests.pages.pages_sample import reading, sample

EARLY, LATE = {"fitted-to": ["early"]}, {"fitted-to": ["late"]}


def compared(catalogue: dict[str, Any]) -> tuple[frozenset[str], frozenset[str]]:
    read = reading(catalogue)
    assert read.catalogue is not None
    one, other = (build(read.catalogue, a) for a in ("early", "late"))
    here, there = AirframeAnswers(read, one), AirframeAnswers(read, other)
    named = named_failures_not_the_same(AirframeEndurance(here), other)
    return named, functions_not_the_same(here, there)


def same() -> dict[str, Any]:
    """The sample, with the same on both of its airframes, and minutes of its battery."""
    catalogue = sample()
    catalogue["equipment"] = [e for e in catalogue["equipment"] if e["id"] != "late-lamp"]
    catalogue["equipment"][0]["amps"] = 5
    catalogue["battery-time"] = {"recognition-minutes": 5}
    for condition in catalogue["conditions"]:
        condition["battery-time"] = True
    return catalogue


def with_other(catalogue: dict[str, Any], section: str, name: str, **fields: Any) -> dict[str, Any]:
    """With another record in place of one on the late airframe."""
    [record] = [r for r in catalogue[section] if r["id"] == name]
    catalogue[section].append({**copy.deepcopy(record), **fields, **LATE})
    record.update(EARLY)
    return catalogue


def test_of_two_airframes_that_are_the_same_nothing_differs() -> None:
    assert compared(same()) == (frozenset(), frozenset())


def test_what_is_lost_on_one_alone_differs() -> None:
    catalogue = sample()  # The late one's reading lamp goes with both generators.
    assert compared(catalogue) == (frozenset({"both"}), frozenset())


@pytest.mark.parametrize(
    ("section", "name", "fields"),
    [
        ("failures", "both", {"then": {"shed": ["radio-1"]}}),
        ("sources", "battery", {"amp-hours": 12}),
    ],
)
def test_another_drill_and_other_minutes_differ(
    section: str, name: str, fields: dict[str, Any]
) -> None:
    assert compared(with_other(same(), section, name, **fields)) == (
        frozenset({"both"}),
        frozenset(),
    )


def test_a_function_differs_by_what_provides_it_and_by_what_takes_it() -> None:
    by_one = with_other(same(), "functions", "talking", **{"provided-by": ["radio-1"]})
    assert compared(by_one)[1] == {"talking"}
    both_on_one = with_other(
        same(),
        "equipment",
        "radio-2",
        supplies=[{"bus": "essential", "breaker": {"name": "RADIO 2", "amps": 7.5}}],
    )
    assert compared(both_on_one)[1] == {"talking"}
