"""What a solved net means for equipment, functions and volts, in every scenario at once.

An `Outcome` holds the steady state of many scenarios and, beside it, the state of each scenario's
condition before anything failed; `lost` and `reduced` are the comparison of the two.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from sitegen.catalogue.model import AnyOf, Equipment, Then
from sitegen.solver.network import Connection, Network
from sitegen.solver.scenarios import Scenario, Scenarios, scenarios_of
from sitegen.solver.steady_state import (
    Setting,
    SteadyState,
    at_rest,
    find_steady_state,
    setting_for,
    spread,
)


@dataclass(frozen=True)
class Power:
    """What works in a solved net: masks over its scenarios."""

    steady: SteadyState
    shed: frozenset[str] = frozenset()
    """Equipment that the crew has turned off."""

    @cached_property
    def fed(self) -> dict[str, tuple[int, ...]]:
        """By equipment or indication: for each of its connections, whether power comes through."""
        return {
            owner: tuple(self._through(c) for c in connections)
            for owner, connections in self.steady.network.connections.items()
        }

    def _through(self, connection: Connection) -> int:
        mask = self.steady.live[connection.bus]
        for device in connection.through:
            mask &= self.steady.conducts[device]
        return mask

    def fed_with(self, owner: str, opened: frozenset[str]) -> tuple[int, ...]:
        """As `fed`, of one owner, with some devices opened that feed only equipment."""
        if not opened:
            return self.fed[owner]
        return tuple(
            0 if opened.intersection(connection.through) else mask
            for connection, mask in zip(
                self.steady.network.connections[owner], self.fed[owner], strict=True
            )
        )

    @cached_property
    def works(self) -> dict[str, int]:
        """By equipment: it has the supply that it needs, and what it requires works."""
        network = self.steady.network
        works: dict[str, int] = {}
        for item in network.resolve_order:
            if item in self.shed:
                works[item] = 0
            else:
                works[item] = self.working(network.equipment[item], self.fed[item], works)
        return works

    def working(self, equipment: Equipment, fed: Sequence[int], others: Mapping[str, int]) -> int:
        """Whether one piece works, from its supplies and from what else works."""
        if equipment.needs == "all":
            mask = self.steady.setting.all
            for supply in fed:
                mask &= supply
        else:
            mask = 0
            for supply in fed:
                mask |= supply
        for requirement in equipment.requires:
            if isinstance(requirement, AnyOf):
                alternatives = 0
                for other in requirement.any:
                    alternatives |= others[other]
                mask &= alternatives
            else:
                mask &= others[requirement]
        return mask

    @cached_property
    def reach(self) -> dict[str, dict[str, int]]:
        """By source, by node: the source produces and its own power reaches the node.

        A converter's output is the converter's power, not that of what feeds it.
        """
        arcs, passes = self.steady.arcs(converters=False), self.steady.passes
        return {
            source: spread({source: self.steady.produces[source]}, arcs, passes)
            for source in self.steady.network.sources
        }

    @cached_property
    def volts(self) -> dict[str, tuple[tuple[float, int], ...]]:
        """By node: (volts, mask of the scenarios in which it shows them), highest first.

        A node shows the volts of the highest source that reaches it; in the scenarios that no
        mask holds it shows 0.
        """
        sources = sorted(self.steady.network.sources.values(), key=lambda s: (-s.volts, s.id))
        shown = {}
        for node in self.steady.network.nodes:
            taken = 0
            levels: dict[float, int] = {}
            for source in sources:
                mask = self.reach[source.id][node] & ~taken
                if mask:
                    levels[source.volts] = levels.get(source.volts, 0) | mask
                    # Sources of equal volts share a level: what is taken is taken by the volts.
                    taken |= mask
            shown[node] = tuple(levels.items())
        return shown

    @cached_property
    def from_machines(self) -> dict[str, int]:
        """By node: power other than a battery's reaches it, through converters too."""
        steady = self.steady
        network = steady.network
        seeds = {
            s.id: steady.produces[s.id]
            for s in network.sources.values()
            if s.kind not in ("battery", "converter")
        }
        return spread(seeds, steady.arcs(), steady.passes)

    @cached_property
    def on_battery(self) -> dict[str, int]:
        """By equipment: it works, and every source behind its live supplies is a battery."""
        found = {}
        for item, works in self.works.items():
            connections = self.steady.network.connections[item]
            machine = 0
            for connection, fed in zip(connections, self.fed[item], strict=True):
                machine |= fed & self.from_machines[connection.bus]
            found[item] = works & ~machine
        return found

    @cached_property
    def carries(self) -> dict[str, int]:
        """By source: it is among the highest-volts sources at some node, and so carries load."""
        network = self.steady.network
        found = dict.fromkeys(network.sources, 0)
        for source in network.sources.values():
            for node in network.nodes:
                for volts, mask in self.volts[node]:
                    if volts == source.volts and network.on_bus[node]:
                        found[source.id] |= mask & self.reach[source.id][node]
        return found

    def working_providers(self, function: str) -> list[int]:
        """The masks of a function's providers."""
        for f in self.steady.network.catalogue.functions:
            if f.id == function:
                return [self.works[p] for p in f.provided_by]
        raise KeyError(function)


@dataclass(frozen=True)
class Outcome:
    """Many scenarios, before and after: `before` is each scenario's own condition."""

    network: Network
    scenarios: Scenarios
    before: Power
    """One scenario a condition: bit c is the network's condition number c."""
    after: Power
    at_once: Power | None = None
    """How the failure alone had left it, where `after` is the state after the crew has acted."""

    def was(self, of_condition: int) -> int:
        """Spread a mask over conditions out over the scenarios that start from them."""
        return self.scenarios.spread_out(
            {c.id: of_condition >> i & 1 for i, c in enumerate(self.network.catalogue.conditions)}
        )

    @cached_property
    def worked(self) -> dict[str, int]:
        """By equipment: it worked in the scenario's condition before anything failed."""
        return {e: self.was(mask) for e, mask in self.before.works.items()}

    @cached_property
    def turned_off(self) -> dict[str, int]:
        """By equipment: the crew's acts have stopped it, not the failure.

        It worked in the condition, and still did when the failure had come, or would if the crew
        had not turned off this or that.
        """
        if self.at_once is None:
            return dict.fromkeys(self.worked, 0)
        at_once, all_left_on = self.at_once.works, replace(self.after, shed=frozenset()).works
        return {
            e: was & ~self.after.works[e] & (at_once[e] | all_left_on[e])
            for e, was in self.worked.items()
        }

    @cached_property
    def lost(self) -> dict[str, int]:
        """By equipment: it worked in the condition and no longer does; the crew did not stop it."""
        off = self.turned_off
        return {e: was & ~self.after.works[e] & ~off[e] for e, was in self.worked.items()}

    @cached_property
    def reduced(self) -> dict[str, int]:
        """By equipment: it works, but a supply or a required alternative that it had is gone."""
        found = {}
        for item, works in self.after.works.items():
            gone = 0
            for was, fed in zip(self.before.fed[item], self.after.fed[item], strict=True):
                gone |= self.was(was) & ~fed
            for requirement in self.network.equipment[item].requires:
                if isinstance(requirement, AnyOf):
                    for other in requirement.any:
                        gone |= self.worked[other] & ~self.after.works[other]
            found[item] = works & gone
        return found

    @cached_property
    def not_powered(self) -> dict[str, int]:
        """By equipment: it did not work in the condition either."""
        every = self.scenarios.all
        return {e: every & ~was & ~self.after.works[e] for e, was in self.worked.items()}


def condition_states(network: Network) -> Power:
    """Every condition of the airframe with nothing failed; bit c is condition number c."""
    scenarios = scenarios_of([Scenario(c.id) for c in network.catalogue.conditions])
    setting = setting_for(network, scenarios)
    return Power(find_steady_state(network, setting, at_rest(network, scenarios, setting)))


def solve(network: Network, scenarios: Scenarios, before: Power | None = None) -> Outcome:
    """Solve many scenarios at once, each from its condition's steady state.

    Parameters
    ----------
    network, scenarios : the wiring, and what fails in which condition.
    before : the conditions already solved, where the caller has them.
    """
    before = before or condition_states(network)
    start = {
        device: scenarios.spread_out(
            {
                c.id: before.steady.conducts[device] >> i & 1
                for i, c in enumerate(network.catalogue.conditions)
            }
        )
        for device in network.switching
    }
    steady = find_steady_state(network, setting_for(network, scenarios), start)
    return Outcome(network, scenarios, before, Power(steady))


def after_the_crew(outcome: Outcome, then: Then) -> Outcome:
    """The scenarios of an outcome again, after the crew has acted on each.

    The net is solved from where the failure left it, with the switches that the crew has set, the
    breakers it has pulled and the equipment it has turned off.
    """
    network, scenarios = outcome.network, outcome.scenarios
    conditions = [c.id for c in network.catalogue.conditions]
    setting: Setting = setting_for(
        network,
        scenarios,
        switches=dict.fromkeys(conditions, then.switches),
        pulled=dict.fromkeys(conditions, then.pulled),
    )
    conducts: Mapping[str, int] = outcome.after.steady.conducts
    steady = find_steady_state(network, setting, {d: conducts[d] for d in network.switching})
    after = Power(steady, frozenset(then.shed))
    return Outcome(network, scenarios, outcome.before, after, at_once=outcome.after)
