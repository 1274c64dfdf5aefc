"""What one failure must not take away, and does.

14 CFR 23.2525(b) asks that no single failure of a supply or of the distribution prevents supplying
the loads that continued safe flight and landing needs. Which functions are essential, and which two
items are meant to be independent, is the author's word in the catalogue; the rest is computed.
"""

from __future__ import annotations

from dataclasses import dataclass

from sitegen.network.drop import function_states
from sitegen.network.network import Network
from sitegen.network.outcome import Outcome, Power, conditions_settled, solve
from sitegen.network.scenarios import Fault, at_least, bits, every_single


@dataclass(frozen=True)
class Weakness:
    """One single failure that takes a whole function, or both of two independent items."""

    function: str
    items: tuple[str, ...]
    """The two items; empty when it is the function that is lost."""
    fault: Fault
    conditions: tuple[str, ...]


@dataclass(frozen=True)
class Audit:
    """All weaknesses of an airframe, in the author's order of functions."""

    essential: tuple[Weakness, ...]
    """Functions marked `essential` that a single failure takes."""
    independent: tuple[Weakness, ...]
    """Pairs marked `independent` that a single failure takes together."""


def audit(network: Network, before: Power | None = None) -> Audit:
    """Try every single failure in every condition on every function.

    A function that has too few working providers in the condition itself is not held against any
    failure there.
    """
    before = before or conditions_settled(network)
    conditions = [c.id for c in network.catalogue.conditions]
    outcome = solve(network, every_single(conditions, network.faults), before)
    lost_now = function_states(outcome)
    essential: list[Weakness] = []
    independent: list[Weakness] = []
    for function in network.catalogue.functions:
        if function.essential:
            stood = _stood(outcome, function.id)
            essential.extend(
                _weaknesses(outcome, function.id, (), lost_now[function.id][0] & stood)
            )
        for pair in function.independent:
            both = outcome.lost[pair[0]] & outcome.lost[pair[1]]
            independent.extend(_weaknesses(outcome, function.id, tuple(pair), both))
    return Audit(tuple(essential), tuple(independent))


def _stood(outcome: Outcome, function: str) -> int:
    """The scenarios in whose condition a function had enough working providers."""
    record = next(f for f in outcome.network.catalogue.functions if f.id == function)
    worked = (outcome.was(outcome.before.works[p]) for p in record.provided_by)
    return at_least(worked, record.need, outcome.scenarios.all)[record.need]


def _weaknesses(
    outcome: Outcome, function: str, items: tuple[str, ...], mask: int
) -> list[Weakness]:
    by_fault: dict[Fault, list[str]] = {}
    for k in bits(mask):
        scenario = outcome.scenarios.at(k)
        by_fault.setdefault(scenario.faults[0], []).append(scenario.condition)
    return [Weakness(function, items, fault, tuple(where)) for fault, where in by_fault.items()]
