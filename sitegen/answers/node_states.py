"""The state of every bus and every source's terminals in one scenario."""

from __future__ import annotations

from dataclasses import dataclass

from sitegen.solver.power import Power
from sitegen.solver.scenarios import bits, ids_by_scenario, values_by_scenario


@dataclass(frozen=True)
class NodeState:
    """The state of a bus, or of a source's terminals."""

    live: bool
    volts: float
    sources: tuple[str, ...]
    """The producing sources that reach it, sorted by id."""
    carriers: tuple[str, ...]
    """Of these, those that carry what is drawn here, sorted by id."""
    battery: bool
    """It is live, and every source that feeds it is a battery."""
    down: bool
    """It has failed itself, or a short pulls it down."""

    @property
    def millivolts(self) -> int:
        """Its volts, which are whole millivolts."""
        return round(self.volts * 1000)


def node_states(power: Power, count: int) -> list[dict[str, NodeState]]:
    """For each scenario, the state of every node."""
    steady = power.steady
    live = values_by_scenario(steady.live, count)
    machines = values_by_scenario(power.from_machines, count)
    down = values_by_scenario(steady.down, count)
    found: list[dict[str, NodeState]] = [{} for _ in range(count)]
    for node in steady.network.nodes:
        volts = [0.0] * count
        for level, mask in power.volts[node]:
            for k in bits(mask):
                volts[k] = level
        sources = ids_by_scenario({s: reach[node] for s, reach in power.reach.items()}, count)
        carriers = ids_by_scenario(power.carriers[node], count)
        for k in range(count):
            found[k][node] = NodeState(
                live=live[k][node],
                volts=volts[k],
                sources=tuple(sources[k]),
                carriers=tuple(carriers[k]),
                battery=live[k][node] and not machines[k][node],
                down=down[k][node],
            )
    return found
