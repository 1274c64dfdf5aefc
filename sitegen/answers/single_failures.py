"""Every single failure in the three answers.

What a failure does in the answer to expect is reported without a remark; what it does in another
answer alone is marked with that one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from sitegen.answers.dip_decides import may_drop_out
from sitegen.answers.drop import enough_providers, function_states
from sitegen.answers.indications import Readings, readings
from sitegen.answers.overload import overloaded
from sitegen.answers.three_answers import (
    ANSWERS,
    REMARKS,
    Answer,
    answer_json,
    overload_answer,
)
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Fault, every_single, union

CONFLICT = "AC sources meet that are not synchronised"
"""Why it is not known whether something works."""
NOT_KNOWN = f"(not known: {CONFLICT})"


@dataclass(frozen=True)
class SingleFailure:
    """One fault that does what was asked for, with the conditions in which it does."""

    fault: Fault
    conditions: tuple[str, ...]
    answer: Answer
    """The first in which it does."""
    not_known: bool = False
    """It may do it: whether what this depends on works is not known."""

    @property
    def remark(self) -> str:
        """What goes with it in a list; empty for nothing."""
        return " ".join(filter(None, (REMARKS[self.answer], NOT_KNOWN if self.not_known else "")))

    def as_json(self) -> dict[str, Any]:
        """The object that commands print."""
        return {
            "failed": {"id": self.fault[0], "mode": self.fault[1]},
            "conditions": list(self.conditions),
            **answer_json(self.answer),
            "not_known": self.not_known,
        }


@dataclass(frozen=True)
class SingleFailures:
    """Every single failure in some conditions."""

    expected: Outcome
    drop_out: Outcome
    """The shorts alone: no other fault holds volts down. None where the catalogue says of every
    contactor what it does."""
    overload: Outcome
    """Those alone in which something is overloaded and must open."""

    @cached_property
    def outcomes(self) -> dict[Answer, Outcome]:
        """By answer."""
        return dict(zip(ANSWERS, (self.expected, self.drop_out, self.overload), strict=True))

    @cached_property
    def shown(self) -> dict[Answer, dict[str, Readings]]:
        """What every indication shows in the failures of each answer."""
        return {answer: readings(outcome.after) for answer, outcome in self.outcomes.items()}

    @cached_property
    def has_effect(self) -> dict[Answer, int]:
        """Where anything is lost, reduced, comes on, is overloaded or changes state."""
        return {answer: _has_effect(outcome) for answer, outcome in self.outcomes.items()}

    def where(self, of: Callable[[Outcome], int]) -> Iterator[SingleFailure]:
        """The failures of a mask over each outcome; of a later answer, what no earlier one has."""
        yield from self.of_masks({a: of(outcome) for a, outcome in self.outcomes.items()})

    def of_masks(self, masks: Mapping[Answer, int]) -> Iterator[SingleFailure]:
        """The same, of masks by answer; of one that has none, in no scenario."""
        known: dict[Fault, tuple[str, ...]] = {}
        found = {
            answer: outcome.scenarios.conditions_by_fault(masks.get(answer, 0))
            for answer, outcome in self.outcomes.items()
        }
        for answer, by_fault in found.items():
            for fault, conditions in by_fault.items():
                only = tuple(c for c in conditions if c not in known.get(fault, ()))
                known[fault] = known.get(fault, ()) + only
                if only:
                    yield SingleFailure(fault, only, answer)

    def where_perhaps(self, of: Callable[[Outcome], tuple[int, int]]) -> Iterator[SingleFailure]:
        """As `where` of what is surely true, and the failures in which it is not known.

        `of`: over the scenarios of an outcome, where it is true, and where it may be.
        """
        masks = {answer: of(outcome) for answer, outcome in self.outcomes.items()}
        surely = {answer: mask for answer, (mask, _) in masks.items()}
        yield from self.of_masks(surely)
        only = {answer: maybe & ~mask for answer, (mask, maybe) in masks.items()}
        if not any(only.values()):
            return
        first = self.expected.scenarios.conditions_by_fault(surely["expected"])
        for failure in self.of_masks(only):
            known = first.get(failure.fault, ())
            conditions = tuple(c for c in failure.conditions if c not in known)
            if conditions:
                yield replace(failure, conditions=conditions, not_known=True)

    def hitting_functions(self) -> dict[str, tuple[tuple[SingleFailure, ...], ...]]:
        """By function: the failures that take it, and those that leave it nothing to spare.

        What a condition itself lacks is not held against a failure. Where AC sources conflict, what
        is not known to work may take a function that is reported as kept.
        """
        hits = {id(outcome): self._hits(outcome) for outcome in self.outcomes.values()}

        def hitting(function: str, which: int) -> tuple[SingleFailure, ...]:
            return tuple(self.where_perhaps(lambda o: hits[id(o)][function][which]))

        functions = self.expected.network.catalogue.functions
        return {f.id: (hitting(f.id, 0), hitting(f.id, 1)) for f in functions}

    @staticmethod
    def _hits(outcome: Outcome) -> dict[str, list[tuple[int, int]]]:
        """By function: where it is lost, surely and perhaps, and where it has nothing to spare."""
        conflicts = outcome.before.conflicts or outcome.after.conflicts
        answers = [
            (surely, function_states(outcome, surely))
            for surely in ((False, True) if conflicts else (False,))
        ]
        found: dict[str, list[tuple[int, int]]] = {}
        for function in outcome.network.catalogue.functions:
            found[function.id] = hits = []
            for which in (0, 1):
                masks = [
                    states[function.id][which] & enough_providers(outcome, function, which, surely)
                    for surely, states in answers
                ]
                hits.append((masks[0], masks[-1]))
        return found


def single_failures(
    network: Network, before: Power, conditions: list[str] | None = None
) -> SingleFailures:
    """Solve every single failure, in these conditions or in all, in the three answers."""
    where = conditions or [c.id for c in network.catalogue.conditions]
    shorts = [fault for fault in network.faults if may_drop_out(network, [fault])]
    expected = solve(network, every_single(where, network.faults), before)
    return SingleFailures(
        expected,
        solve(network, every_single(where, shorts), before, dip=True),
        overload_answer(expected),
    )


def _has_effect(outcome: Outcome) -> int:
    """Where something is lost, reduced, comes on or is overloaded, or a node's state changes."""
    before, after = outcome.before, outcome.after
    mask = union(1 << k for k, words in enumerate(overloaded(outcome)) if words)
    for item in outcome.network.equipment:
        mask |= outcome.lost[item] | outcome.reduced[item] | outcome.comes_on[item]
    for node in outcome.network.nodes:
        mask |= after.steady.live[node] ^ outcome.was(before.steady.live[node])
        mask |= after.from_machines[node] ^ outcome.was(before.from_machines[node])
        for source in outcome.network.sources:
            reached, was = after.reach[source].get(node, 0), before.reach[source].get(node, 0)
            mask |= reached ^ outcome.was(was)
    return mask
