"""Converters whose own output carries their input: there the amps have no sum."""

from __future__ import annotations

from dataclasses import dataclass

from sitegen.answers.drop import losses
from sitegen.answers.loads.sharing import Sharing
from sitegen.solver.network import Network
from sitegen.solver.outcome import Power, solve
from sitegen.solver.scenarios import Fault, Scenario, scenarios_of


@dataclass(frozen=True)
class Loop:
    """One converter that carries itself, and the first case in which it does."""

    converter: str
    condition: str
    failed: tuple[Fault, ...]
    """Empty if nothing has to fail for it."""


def converter_loops(network: Network, before: Power) -> list[Loop]:
    """Every converter that carries its own input in a condition, or in a single failure there.

    Parameters
    ----------
    network : the airframe.
    before : its conditions, settled.
    """
    if not any(_leads_back(network, s) for s in network.sources):
        return []
    conditions = [c.id for c in network.catalogue.conditions]
    none = [Scenario(c) for c in conditions]
    singles = [Scenario(c, (f,)) for c in conditions for f in network.faults]
    found: dict[str, Loop] = {}
    for loss in losses(solve(network, scenarios_of([*none, *singles]), before)):
        for converter in Sharing(network, loss).circular:
            found.setdefault(converter, Loop(converter, loss.condition, loss.failed))
    return list(found.values())


def _leads_back(network: Network, converter: str) -> bool:
    """Whether any way leads from a converter's output to its own input, whatever stands open."""
    if network.sources[converter].kind != "converter":
        return False
    reached, waiting = {converter}, [converter]
    while waiting:
        here = waiting.pop()
        for branch in network.branches:
            both = ((branch.origin, branch.target), (branch.target, branch.origin))
            for near, far in both[:1] if branch.into_converter or branch.one_way else both:
                if near == here and far == converter and branch.into_converter:
                    return True
                if near == here and far not in reached:
                    reached.add(far)
                    waiting.append(far)
    return False
