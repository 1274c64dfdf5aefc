"""Every single failure in both answers to a fault: contactors ride through it, or drop out.

What a failure does in both answers, or if contactors ride through, is reported without a remark;
what it does in the second alone is marked `drop_out`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from sitegen.answers.drop import enough_providers, function_states
from sitegen.answers.indications import Readings, readings
from sitegen.answers.overload import overloaded
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Fault, every_single, union

IF_DROPPING_OUT = "(if contactors drop out)"
CONFLICT = "AC sources meet that are not synchronised"
"""Why it is not known whether something works."""
NOT_KNOWN = f"(not known: {CONFLICT})"


@dataclass(frozen=True)
class SingleFailure:
    """One fault that does what was asked for, with the conditions in which it does."""

    fault: Fault
    conditions: tuple[str, ...]
    drop_out: bool
    """Only if contactors drop out while the fault lasts."""
    not_known: bool = False
    """It may do it: whether what this depends on works is not known."""

    @property
    def remark(self) -> str:
        """What goes with it in a list; empty for nothing."""
        only = IF_DROPPING_OUT if self.drop_out else ""
        return " ".join(filter(None, (only, NOT_KNOWN if self.not_known else "")))

    def as_json(self) -> dict[str, Any]:
        """The object that commands print."""
        return {
            "failed": {"id": self.fault[0], "mode": self.fault[1]},
            "conditions": list(self.conditions),
            "if_contactors_drop_out": self.drop_out,
            "not_known": self.not_known,
        }


@dataclass(frozen=True)
class SingleFailures:
    """Every single failure in some conditions."""

    ride_through: Outcome
    drop_out: Outcome
    """The shorts alone: no other fault holds volts down."""

    @cached_property
    def shown(self) -> tuple[dict[str, Readings], dict[str, Readings]]:
        """What every indication shows in the failures of each outcome."""
        return readings(self.ride_through.after), readings(self.drop_out.after)

    @cached_property
    def has_effect(self) -> tuple[int, int]:
        """By outcome: where anything is lost, reduced, comes on, is overloaded or changes state."""
        return _has_effect(self.ride_through), _has_effect(self.drop_out)

    def where(self, ride_through: int, drop_out: int) -> Iterator[SingleFailure]:
        """The failures of a mask over each outcome; of the second, what the first has not."""
        first = self.ride_through.scenarios.conditions_by_fault(ride_through)
        for fault, conditions in first.items():
            yield SingleFailure(fault, conditions, False)
        second = self.drop_out.scenarios.conditions_by_fault(drop_out)
        for fault, conditions in second.items():
            only = tuple(c for c in conditions if c not in first.get(fault, ()))
            if only:
                yield SingleFailure(fault, only, True)

    def where_perhaps(
        self, surely: tuple[int, int], perhaps: tuple[int, int]
    ) -> Iterator[SingleFailure]:
        """As `where`, and the failures of which only `perhaps` is true: it is not known."""
        yield from self.where(*surely)
        only = [maybe & ~mask for maybe, mask in zip(perhaps, surely, strict=True)]
        if not any(only):
            return
        riding = self.ride_through.scenarios.conditions_by_fault(surely[0])
        for failure in self.where(*only):
            known = riding.get(failure.fault, ())
            conditions = tuple(c for c in failure.conditions if c not in known)
            if conditions:
                yield replace(failure, conditions=conditions, not_known=True)

    def hitting_functions(self) -> dict[str, tuple[tuple[SingleFailure, ...], ...]]:
        """By function: the failures that take it, and those that leave it nothing to spare.

        What a condition itself lacks is not held against a failure. Where AC sources conflict, what
        is not known to work may take a function that is reported as kept.
        """
        one, other = self._hits(self.ride_through), self._hits(self.drop_out)
        return {
            function: tuple(
                tuple(
                    self.where_perhaps(
                        (one[function][which][0], other[function][which][0]),
                        (one[function][which][1], other[function][which][1]),
                    )
                )
                for which in (0, 1)
            )
            for function in one
        }

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
    """Solve every single failure, in these conditions or in all, in both answers."""
    where = conditions or [c.id for c in network.catalogue.conditions]
    shorts = [f for f in network.faults if f[1] == "shorted" and f[0] in network.nodes]
    return SingleFailures(
        solve(network, every_single(where, network.faults), before),
        solve(network, every_single(where, shorts), before, dip=True),
    )


def _has_effect(outcome: Outcome) -> int:
    """Where something is lost, reduced, comes on or is overloaded, or a node's state changes.

    What is overloaded is judged in the first answer alone.
    """
    before, after = outcome.before, outcome.after
    over = [] if outcome.dip else overloaded(outcome)
    mask = union(1 << k for k, words in enumerate(over) if words)
    for item in outcome.network.equipment:
        mask |= outcome.lost[item] | outcome.reduced[item] | outcome.comes_on[item]
    for node in outcome.network.nodes:
        mask |= after.steady.down[node]
        mask |= after.steady.live[node] ^ outcome.was(before.steady.live[node])
        mask |= after.from_machines[node] ^ outcome.was(before.from_machines[node])
        for source in outcome.network.sources:
            reached, was = after.reach[source].get(node, 0), before.reach[source].get(node, 0)
            mask |= reached ^ outcome.was(was)
    return mask
