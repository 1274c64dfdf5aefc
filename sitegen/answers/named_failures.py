"""What the named failures do at once, before the crew acts, to an item or to a function.

The three answers are here as they are for single failures (`single_failures.py`): what a failure
does in a later answer alone is marked with that one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from sitegen.answers.drop import enough_providers, faults_of, function_states
from sitegen.answers.overload import what_is_overloaded_opens
from sitegen.answers.three_answers import (
    Answer,
    answer_json,
    must_open,
    only_new,
)
from sitegen.catalogue.model import Failure
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Scenario, Scenarios, bits, scenarios_of


@dataclass(frozen=True)
class NamedEffect:
    """What one named failure does to the item or function that was asked about."""

    failure: str
    effect: str
    """Of an item: `lost`, `reduced`, `comes_on` or `not_known`; of a function: `lost`, `one-left`
    or `not_known`, where it may be lost."""
    conditions: tuple[str, ...]
    answer: Answer
    """The first in which it does."""

    def as_json(self) -> dict[str, Any]:
        """The object that `trace --json` prints."""
        return {
            "failure": self.failure,
            "effect": self.effect,
            "conditions": list(self.conditions),
            **answer_json(self.answer),
        }


@dataclass(frozen=True)
class NamedFailures:
    """Every named failure in every condition, at once; a failure's scenarios are in one block."""

    answers: tuple[Outcome, Outcome, Outcome]
    """The three answers, each of the same scenarios."""

    def on_item(self, item: str) -> tuple[NamedEffect, ...]:
        """What they do to a piece of equipment, in the author's order."""
        return tuple(
            self._effects(
                [
                    {
                        "lost": outcome.lost[item],
                        "reduced": outcome.reduced[item],
                        "comes_on": outcome.comes_on[item],
                        "not_known": outcome.unsure[item],
                    }
                    for outcome in self.answers
                ]
            )
        )

    def on_function(self, function: str) -> tuple[NamedEffect, ...]:
        """What they do to a function; what a condition itself lacks is not held against them."""
        record = next(f for f in self.answers[0].network.catalogue.functions if f.id == function)
        return tuple(
            self._effects(
                [
                    {
                        effect: surely[function][to_spare]
                        & enough_providers(outcome, record, to_spare)
                        for to_spare, effect in enumerate(("lost", "one-left"))
                    }
                    | {
                        "not_known": perhaps[function][0]
                        & ~surely[function][0]
                        & enough_providers(outcome, record, surely=True)
                    }
                    for outcome, (surely, perhaps) in zip(
                        self.answers, self._functions, strict=True
                    )
                ]
            )
        )

    @cached_property
    def _functions(self) -> list[tuple[dict[str, tuple[int, int]], dict[str, tuple[int, int]]]]:
        """By answer: the states as reported, and those without what is not known to work."""
        return [(function_states(o), function_states(o, surely=True)) for o in self.answers]

    def _effects(self, masks: list[Mapping[str, int]]) -> Iterator[NamedEffect]:
        catalogue = self.answers[0].network.catalogue
        conditions = [c.id for c in catalogue.conditions]
        block = (1 << len(conditions)) - 1
        for i, failure in enumerate(catalogue.failures):
            for effect in masks[0]:
                here = [of[effect] >> i * len(conditions) & block for of in masks]
                for answer, where in only_new(here):
                    if where:
                        names = tuple(conditions[k] for k in bits(where))
                        yield NamedEffect(failure.id, effect, names, answer)


def named_failures(
    network: Network, before: Power, ride_through: Outcome | None = None
) -> NamedFailures:
    """Every named failure in every condition, solved in the three answers.

    Parameters
    ----------
    network, before : the airframe, and its conditions with nothing failed.
    ride_through : the first answer, where the caller has it.
    """
    first = ride_through or solve(
        network, named_scenarios(network, network.catalogue.failures), before
    )
    dropping = solve(network, first.scenarios, before, dip=True)
    opening = what_is_overloaded_opens(first) if must_open(first) else first
    return NamedFailures((first, dropping, opening))


def named_scenarios(network: Network, failures: Iterable[Failure]) -> Scenarios:
    """Named failures in every condition: a failure after the other, each in all of them."""
    return scenarios_of(
        [
            Scenario(condition.id, faults)
            for faults in (faults_of(network, failure) for failure in failures)
            for condition in network.catalogue.conditions
        ]
    )
