"""Function status: which items provide it in each condition, and which failures take it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sitegen.answers.cut_sets import GroupedSet, grouped_cut_sets, ungrouped
from sitegen.answers.drop import state_with
from sitegen.answers.named_failures import NamedEffect, named_failures
from sitegen.answers.single_failures import SingleFailure, single_failures
from sitegen.catalogue.model import Function
from sitegen.solver.network import Network
from sitegen.solver.outcome import condition_states


@dataclass(frozen=True)
class FunctionStatus:
    """One function of one airframe."""

    function: str
    working: dict[str, tuple[str, ...]]
    """By condition, with nothing failed: the providers that work."""
    states: dict[str, str]
    """By condition: `kept`, `one-left` or `lost`."""
    takes: tuple[SingleFailure, ...]
    named: tuple[NamedEffect, ...]
    """What the named failures do to it at once."""
    condition: str
    """The condition that `sets` are of; empty if it is lost in every one."""
    sets: tuple[GroupedSet, ...]
    """Its minimal cut sets there, of up to three failures."""

    def as_json(self, network: Network) -> dict[str, Any]:
        """The object that `trace --json` prints of a function."""
        return {
            "airframe": network.airframe,
            "function": self.function,
            "name": network.names[self.function],
            "working": {c: list(items) for c, items in self.working.items()},
            "states": self.states,
            "causes": [failure.as_json() for failure in self.takes],
            "named_failures": [effect.as_json() for effect in self.named],
            "sets_in": self.condition or None,
            "sets": [
                [{"id": component, "mode": mode} for component, mode in members]
                for members in ungrouped(network, self.sets)
            ],
        }


def with_none_to_spare(function: Function) -> str:
    """Of a function that has exactly as many providers as it needs: `nothing to spare`.

    `all needed` where that is every provider; empty where these are groups, since a group counts as
    one and may have something to spare in itself.
    """
    if function.need < len(function.provided_by):
        return "nothing to spare"
    return "all needed" if all(isinstance(p, str) for p in function.provided_by) else ""


def function_status(
    network: Network, function: str, condition: str | None = None
) -> FunctionStatus:
    """The status of a function, and what takes it.

    Parameters
    ----------
    network, function : what is asked about.
    condition : where the sets of several failures are looked for; left out, the first condition in
        which it has enough providers.
    """
    record = next(f for f in network.catalogue.functions if f.id == function)
    before = condition_states(network)
    conditions = [c.id for c in network.catalogue.conditions]
    working = {
        c: tuple(e for e in record.equipment if before.works[e] >> i & 1)
        for i, c in enumerate(conditions)
    }
    providing = before.working_providers(record)
    states = {
        c: state_with(record, sum(mask >> i & 1 for mask in providing))
        for i, c in enumerate(conditions)
    }
    takes, _ = single_failures(network, before).hitting_functions()[function]
    chosen = condition or next((c for c in conditions if states[c] != "lost"), "")
    sets = grouped_cut_sets(network, chosen, functions=[function], before=before) if chosen else {}
    named = named_failures(network, before).on_function(function)
    return FunctionStatus(function, working, states, takes, named, chosen, sets.get(function, ()))
