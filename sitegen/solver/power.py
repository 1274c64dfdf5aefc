"""What works in a steady state: supplies, equipment, volts, and who carries load: masks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, reduce
from operator import and_

from sitegen.catalogue.model import AnyOf, Equipment, Function, Group, Provider
from sitegen.solver.graph import spread
from sitegen.solver.network import Connection
from sitegen.solver.scenarios import at_least, union
from sitegen.solver.steady_state import SteadyState
from sitegen.solver.volts import Levels

SHARING_MILLIVOLTS = 500
"""Sources that offer a bus volts this near to the highest share its load."""


@dataclass(frozen=True, eq=False)
class Power:
    """What works in a steady state: masks over its scenarios. Caches know one by its identity."""

    steady: SteadyState
    shed: Mapping[str, int] = field(default_factory=dict)
    """By equipment that the crew has turned off: the scenarios in which it has."""
    _offers: dict[str, Levels] = field(default_factory=dict, init=False, repr=False)

    @cached_property
    def fed(self) -> dict[str, tuple[int, ...]]:
        """By equipment or indication: for each of its connections, whether power comes through.

        A bus that shows less than the equipment's least volts gives it none.
        """
        least = self.steady.network.min_millivolts
        return {
            owner: tuple(self._through(c, least.get(owner, 0)) for c in connections)
            for owner, connections in self.steady.network.connections.items()
        }

    def _through(self, connection: Connection, least: int) -> int:
        mask = self.steady.live[connection.bus]
        if least:
            shown = self.steady.levels[connection.bus]
            mask &= union(at for millivolts, at in shown if millivolts >= least)
        for device in connection.through:
            if self.steady.conducts[device] is not self.steady.setting.all:
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
            works[item] = self.working(network.equipment[item], self.fed[item], works)
            if item in self.shed:
                works[item] &= ~self.shed[item]
        return works

    def working(self, equipment: Equipment, fed: Sequence[int], others: Mapping[str, int]) -> int:
        """Whether one piece works, from its supplies and from what else works."""
        mask = reduce(and_, fed) if equipment.needs == "all" and fed else union(fed)
        for requirement in equipment.requires:
            if isinstance(requirement, AnyOf):
                mask &= union(others[other] for other in requirement.any)
            else:
                mask &= others[requirement]
        return mask

    @cached_property
    def offered(self) -> dict[str, Levels]:
        """By source, by node: the volts that the source's own power has there after diodes, mV.

        A converter's output is the converter's power, not that of what feeds it.
        """
        return {source: self._offered_by(source) for source in self.steady.network.sources}

    def _offered_by(self, source: str) -> Levels:
        if source not in self._offers:
            self._offers[source] = self.steady.offered(source)
        return self._offers[source]

    @cached_property
    def reach(self) -> dict[str, dict[str, int]]:
        """By source, by node that it may reach: it produces, and its own power reaches the node."""
        return {
            source: {node: union(mask for _, mask in at) for node, at in offered.items()}
            for source, offered in self.offered.items()
        }

    @cached_property
    def carriers(self) -> dict[str, dict[str, int]]:
        """By node, by source: the source carries load there, alone or with others.

        It offers the highest volts there, or not more than half a volt less.
        """
        found: dict[str, dict[str, int]] = {node: {} for node in self.steady.network.nodes}
        for source, offered in self.offered.items():
            for node, here in offered.items():
                mask = union(
                    where & at
                    for level, where in here
                    for highest, at in self.steady.levels[node]
                    if highest - level <= SHARING_MILLIVOLTS
                )
                if mask:
                    found[node][source] = mask
        return found

    @cached_property
    def volts(self) -> dict[str, tuple[tuple[float, int], ...]]:
        """By node: (volts, mask of the scenarios in which it shows them), highest first.

        In the scenarios that no mask holds it shows 0.
        """
        return {
            node: tuple((millivolts / 1000, mask) for millivolts, mask in self.steady.levels[node])
            for node in self.steady.network.nodes
        }

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
    def surely_works(self) -> dict[str, int]:
        """As `works`, without what is not known to work and what requires it."""
        if not any(self.not_known.values()):
            return self.works
        network = self.steady.network
        surely: dict[str, int] = {}
        for item in network.resolve_order:
            works = self.working(network.equipment[item], self.fed[item], surely)
            surely[item] = works & self.works[item] & ~self.not_known[item]
        return surely

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
        """By source: it carries load at some node from which equipment is fed."""
        network = self.steady.network
        feeding = [self.carriers[n] for n in network.nodes if network.on_bus[n]]
        return {s: union(of_node.get(s, 0) for of_node in feeding) for s in network.sources}

    def working_providers(self, function: Function) -> list[int]:
        """The masks of a function's providers; a group of them counts as one."""
        return self.providing(function.provided_by, self.works)

    def providing(self, providers: Sequence[Provider], works: Mapping[str, int]) -> list[int]:
        """Whether each provider of a function works, from what works of the equipment."""
        every = self.steady.setting.all
        found = []
        for provider in providers:
            if not isinstance(provider, Group):
                mask = works[provider]
            elif provider.any is not None:
                mask = at_least(self.providing(provider.any, works), provider.need, every)[-1]
            else:
                mask = every
                for member in self.providing(provider.all or (), works):
                    mask &= member
            found.append(mask)
        return found

    @cached_property
    def conflicts(self) -> dict[str, int]:
        """By bus: AC sources that are not synchronised meet there, each by its own power."""
        network = self.steady.network
        groups: dict[str, list[str]] = {}
        for source in network.sources.values():
            if source.current == "ac":
                name = source.synchronised
                groups.setdefault(f"name {name}" if name else source.id, []).append(source.id)
        found = {}
        for bus in network.catalogue.buses:
            # Of a hundred sources few are AC: what the others reach is much to keep.
            reached = [
                union(mask for s in group for _, mask in self._offered_by(s)[bus.id])
                for group in groups.values()
            ]
            two = at_least(reached, 2, self.steady.setting.all)[2]
            if two:
                found[bus.id] = two
        return found

    @cached_property
    def not_known(self) -> dict[str, int]:
        """By equipment: it has power, from buses on which AC sources conflict alone, or, where it
        needs all its supplies, from one of these.
        """
        conflicts, network = self.conflicts, self.steady.network
        if not conflicts:
            return dict.fromkeys(self.works, 0)
        found = {}
        for item, works in self.works.items():
            fed = list(zip(network.connections[item], self.fed[item], strict=True))
            unsure = union(mask & conflicts.get(supply.bus, 0) for supply, mask in fed)
            if network.equipment[item].needs != "all":
                unsure &= ~union(mask & ~conflicts.get(supply.bus, 0) for supply, mask in fed)
            found[item] = works & unsure
        return found
