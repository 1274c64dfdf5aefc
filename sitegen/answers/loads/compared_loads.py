"""The failures that may load something more than nothing failed does, and their loads."""

from __future__ import annotations

from collections.abc import Sequence

from sitegen.answers.drop import faults_of
from sitegen.answers.loads.source_loads import LoadPair, load_pairs
from sitegen.catalogue.model import Then
from sitegen.solver.network import Network
from sitegen.solver.outcome import after_the_crew, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Scenario, scenarios_of


def loads_of(
    network: Network, failing: Sequence[Scenario], before: Power, thens: Sequence[Then] = ()
) -> list[LoadPair]:
    """The loads in each scenario.

    `thens`: by scenario, what the crew does; left out, nobody acts.
    """
    outcome = solve(network, scenarios_of(failing), before)
    return load_pairs(after_the_crew(outcome, thens) if thens else outcome)


def compared_failures(network: Network, condition: str, cancels: bool) -> list[Scenario]:
    """The single failures that can load something more than nothing failed does, and the named.

    `cancels` is that of `supply_breakers`.
    """
    in_net = {
        *network.nodes,
        *network.switching,
        *(d for branch in network.branches for d in branch.through),
        *supply_breakers(network, cancels),
    }
    singles = [(fault,) for fault in network.faults if fault[0] in in_net]
    named = [faults_of(network, failure) for failure in network.catalogue.failures]
    return [Scenario(condition, faults) for faults in (*singles, *named)]


def supply_breakers(network: Network, cancels: bool) -> dict[str, None]:
    """The breakers and fuses in supplies that load something more when they open.

    When one opens, something draws less. More is carried where the equipment draws elsewhere then,
    and where what it drew ran against what others draw.

    Parameters
    ----------
    network : the airframe.
    cancels : as `Amps` has it, with nothing failed.
    """
    return dict.fromkeys(
        device
        for item, equipment in network.equipment.items()
        if cancels or (equipment.needs == "any" and len(network.connections[item]) > 1)
        for connection in network.connections[item]
        for device in connection.through
        if "open" in network.components[device].modes
    )
