"""What one failure must not take away, and does.

14 CFR 23.2525(b) asks that no single failure of a supply or of the distribution prevents supplying
the loads that continued safe flight and landing needs. Which functions are essential, and which two
items are meant to be independent, is the author's word in the catalogue; the rest is computed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from sitegen.answers.single_failures import SingleFailure, SingleFailures
from sitegen.solver.outcome import Outcome


@dataclass(frozen=True)
class Weakness:
    """One single failure that takes a whole function, or both of two independent items.

    Where AC sources conflict it may take them: `by` says so.
    """

    function: str
    items: tuple[str, ...]
    """The two items; empty when it is the function that is lost."""
    by: SingleFailure


@dataclass(frozen=True)
class SinglePoints:
    """All weaknesses of an airframe, in the author's order of functions."""

    essential: tuple[Weakness, ...]
    """Functions marked `essential` that a single failure takes."""
    independent: tuple[Weakness, ...]
    """Pairs marked `independent` that a single failure takes together."""


def single_points(failures: SingleFailures) -> SinglePoints:
    """What every single failure takes of the functions.

    A function that has too few working providers in the condition itself is not held against any
    failure there.
    """
    hitting = failures.hitting_functions()
    essential: list[Weakness] = []
    independent: list[Weakness] = []
    for function in failures.expected.network.catalogue.functions:
        if function.essential:
            essential.extend(Weakness(function.id, (), by) for by in hitting[function.id][0])
        for pair in function.independent:
            both = failures.where_perhaps(partial(_both, pair))
            independent.extend(Weakness(function.id, tuple(pair), by) for by in both)
    return SinglePoints(tuple(essential), tuple(independent))


def _both(pair: Sequence[str], outcome: Outcome) -> tuple[int, int]:
    """The scenarios in which both items are lost, and those in which both may be."""
    lost = perhaps = outcome.scenarios.all
    for item in pair:
        lost &= outcome.lost[item]
        sure = outcome.was(outcome.before.surely_works[item])
        perhaps &= outcome.lost[item] | sure & ~outcome.after.surely_works[item]
    return lost, perhaps
