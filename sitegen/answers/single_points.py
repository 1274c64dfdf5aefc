"""What one failure must not take away, and does.

14 CFR 23.2525(b) asks that no single failure of a supply or of the distribution prevents supplying
the loads that continued safe flight and landing needs. Which functions are essential, and which two
items are meant to be independent, is the author's word in the catalogue; the rest is computed.
"""

from __future__ import annotations

from dataclasses import dataclass

from sitegen.answers.drop import enough_providers, function_states
from sitegen.solver.outcome import Outcome
from sitegen.solver.scenarios import Fault


@dataclass(frozen=True)
class Weakness:
    """One single failure that takes a whole function, or both of two independent items."""

    function: str
    items: tuple[str, ...]
    """The two items; empty when it is the function that is lost."""
    fault: Fault
    conditions: tuple[str, ...]


@dataclass(frozen=True)
class SinglePoints:
    """All weaknesses of an airframe, in the author's order of functions."""

    essential: tuple[Weakness, ...]
    """Functions marked `essential` that a single failure takes."""
    independent: tuple[Weakness, ...]
    """Pairs marked `independent` that a single failure takes together."""


def single_points(outcome: Outcome) -> SinglePoints:
    """What the single failures of an outcome take of the functions.

    A function that has too few working providers in the condition itself is not held against any
    failure there.

    Parameters
    ----------
    outcome : every single failure in every condition.
    """
    lost_now = function_states(outcome)
    essential: list[Weakness] = []
    independent: list[Weakness] = []
    for function in outcome.network.catalogue.functions:
        if function.essential:
            available = enough_providers(outcome, function)
            essential.extend(
                _weaknesses(outcome, function.id, (), lost_now[function.id][0] & available)
            )
        for pair in function.independent:
            both = outcome.lost[pair[0]] & outcome.lost[pair[1]]
            independent.extend(_weaknesses(outcome, function.id, tuple(pair), both))
    return SinglePoints(tuple(essential), tuple(independent))


def _weaknesses(
    outcome: Outcome, function: str, items: tuple[str, ...], mask: int
) -> list[Weakness]:
    by_fault = outcome.scenarios.conditions_by_fault(mask)
    return [Weakness(function, items, fault, where) for fault, where in by_fault.items()]
