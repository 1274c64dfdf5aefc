"""The state of every bus and every source's terminals in one scenario."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property, lru_cache

from sitegen.solver.power import Power
from sitegen.solver.scenarios import distinct


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

    @cached_property
    def millivolts(self) -> int:
        """Its volts, which are whole millivolts."""
        return round(self.volts * 1000)


@lru_cache(maxsize=1)
def node_states(power: Power, count: int) -> list[dict[str, NodeState]]:
    """For each scenario, the state of every node; scenarios in which it is the same share it.

    What is lost and what flows are asked about the same scenarios one after the other: the answer
    is to be read.
    """
    steady = power.steady
    found: list[dict[str, NodeState]] = [{} for _ in range(count)]
    known: dict[tuple[str, ...], tuple[str, ...]] = {}

    def shared(sources: Iterable[str]) -> tuple[str, ...]:
        here = tuple(sorted(sources))
        return known.setdefault(here, here)

    reached: dict[str, dict[str, int]] = {}
    for source, nodes in power.reach.items():
        for node, mask in nodes.items():
            reached.setdefault(node, {})[source] = mask
    for node in steady.network.nodes:
        live, machines, down = steady.live[node], power.from_machines[node], steady.down[node]
        levels, carriers = power.volts[node], power.carriers[node]
        reach = reached.get(node, {})
        masks = [live, machines, down, *(m for _, m in levels), *reach.values(), *carriers.values()]
        states: dict[int, NodeState] = {}
        for k, number in enumerate(distinct(masks, count)):
            if number not in states:
                states[number] = NodeState(
                    live=bool(live >> k & 1),
                    volts=next((volts for volts, mask in levels if mask >> k & 1), 0.0),
                    sources=shared(s for s, mask in reach.items() if mask >> k & 1),
                    carriers=shared(s for s, mask in carriers.items() if mask >> k & 1),
                    battery=bool(live & ~machines & (1 << k)),
                    down=bool(down >> k & 1),
                )
            found[k][node] = states[number]
    return found


def column_masks(power: Power) -> dict[str | None, int]:
    """By load column the scenarios that go by it."""
    columns: dict[str | None, int] = {}
    for condition, mask in power.steady.setting.in_condition.items():
        column = power.steady.network.columns[condition]
        columns[column] = columns.get(column, 0) | mask
    return columns
