"""Converters that feed their own input: there the amps have no sum."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from sitegen.answers.drop import losses
from sitegen.answers.loads.sharing import Sharing, State
from sitegen.reachable import reachable
from sitegen.solver.network import Network
from sitegen.solver.outcome import solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Fault, Scenario, scenarios_of


@dataclass(frozen=True)
class Loop:
    """One converter that feeds itself, and the first case in which it does."""

    converter: str
    condition: str
    failed: tuple[Fault, ...]
    """Empty if nothing has to fail for it."""


def converter_loops(network: Network, before: Power) -> list[Loop]:
    """Every converter that feeds its own input in a condition, or in a single failure there.

    Parameters
    ----------
    network : the airframe.
    before : its conditions, solved.
    """
    if not loop_inputs(network):
        return []
    conditions = [c.id for c in network.catalogue.conditions]
    none = [Scenario(c) for c in conditions]
    singles = [Scenario(c, (f,)) for c in conditions for f in network.faults]
    found: dict[str, Loop] = {}
    for loss in losses(solve(network, scenarios_of([*none, *singles]), before)):
        shorted = frozenset(component for component, mode in loss.failed if mode == "shorted")
        for converter in Sharing(network, State(loss.nodes, loss.conducts, shorted)).circular:
            found.setdefault(converter, Loop(converter, loss.condition, loss.failed))
    return list(found.values())


@lru_cache(maxsize=8)
def loop_inputs(network: Network) -> tuple[str, ...]:
    """The nodes that may feed a converter which feeds them, whatever is open."""
    converters = (s for s in network.sources if _leads_back(network, s))
    return tuple(dict.fromkeys(b.origin for c in converters for b in network.inputs[c]))


def _leads_back(network: Network, converter: str) -> bool:
    """Whether its output could reach its own input, whatever is open, or shorted of the diodes."""
    if network.sources[converter].kind != "converter":
        return False
    beside: dict[str, set[str]] = {node: set() for node in network.nodes}
    for branch in network.branches:
        beside[branch.origin].add(branch.target)
        if not branch.into_converter:
            beside[branch.target].add(branch.origin)
    reached = reachable(beside, (converter,))
    return any(branch.origin in reached for branch in network.inputs[converter])
