"""Who carries what: how an ampere drawn at a bus falls on the sources, in one scenario.

Rules (design of the answers): what has several live supplies draws from those whose bus shows the
highest volts, equally. A bus's load is carried by the highest-volts sources that reach it, in
proportion to their rated amps. A converter draws output volts x amps / (efficiency x input volts).

Load is linear while no device switches: from one ampere follows any number of amps.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import Protocol

from sitegen.answers.drop import NodeState
from sitegen.reachable import reachable
from sitegen.solver.network import Branch, Network

Parts = dict[str, float]
"""Amps for each ampere drawn, by source or by node."""


class State(Protocol):
    """The state of a net in one scenario, as far as loads need it. A `Loss` is one."""

    @property
    def nodes(self) -> Mapping[str, NodeState]:
        """By node."""

    @property
    def conducts(self) -> Mapping[str, bool]:
        """By device."""


class Sharing:
    """Who carries what in one scenario; computed when it is asked for."""

    def __init__(self, network: Network, state: State) -> None:
        self.network = network
        self.state = state
        self._carriers: dict[str, Parts] = {}
        self._source_amps: dict[str, Parts] = {}

    @cached_property
    def producing(self) -> tuple[str, ...]:
        """The sources that produce, in the author's order."""
        nodes = self.state.nodes
        return tuple(s for s in self.network.sources if s in nodes[s].sources)

    def drawn_from(self, buses: Sequence[str]) -> Iterator[tuple[str, float]]:
        """(bus, part): equal parts of one ampere, from the buses that show the highest volts."""
        if len(buses) < 2:
            yield from ((bus, 1.0) for bus in buses)
            return
        highest = max(self.state.nodes[bus].volts for bus in buses)
        carrying = [bus for bus in buses if self.state.nodes[bus].volts == highest]
        yield from ((bus, 1 / len(carrying)) for bus in carrying)

    def carriers(self, node: str) -> Parts:
        """By source: its part of an ampere drawn at the node; none at a dead one."""
        if node not in self._carriers:
            carrying = [self.network.sources[s] for s in self.state.nodes[node].carriers]
            # Without every rating there is no proportion to go by: they share equally.
            rated = all(s.amps for s in carrying)
            weights = {s.id: (s.amps or 0.0) if rated else 1.0 for s in carrying}
            total = sum(weights.values())
            self._carriers[node] = {s: weight / total for s, weight in weights.items()}
        return self._carriers[node]

    def live_inputs(self, converter: str) -> list[Branch]:
        """The branches that power a converter's input; two may come from one node."""
        return [
            branch
            for branch in self.network.inputs[converter]
            if self.state.nodes[branch.origin].live
            and all(map(self.state.conducts.get, branch.through))
        ]

    @cached_property
    def inputs(self) -> dict[str, Parts]:
        """By converter that produces: what it takes from each node while it gives one ampere."""
        found: dict[str, Parts] = {}
        for converter in self.producing:
            record = self.network.sources[converter]
            if record.kind == "converter":
                origins = [branch.origin for branch in self.live_inputs(converter)]
                volts = max((self.state.nodes[n].volts for n in origins), default=0.0)
                taken = found[converter] = {}
                # Of an input without volts no amps follow: see `circular`.
                for node, part in self.drawn_from(origins) if volts else ():
                    amps = part * record.volts / (record.efficiency * volts)
                    taken[node] = taken.get(node, 0.0) + amps
        return found

    @cached_property
    def circular(self) -> tuple[str, ...]:
        """The converters whose output feeds their own input, directly or through others.

        An example is an inverter on a bus that a transformer-rectifier feeds, which the inverter
        feeds itself: the amps have no sum. Nor have they where the input has no volts left.
        """
        upstream = {
            converter: {s for node in nodes for s in self.carriers(node) if s in self.inputs}
            for converter, nodes in self.inputs.items()
        }
        return tuple(
            c
            for c, nodes in self.inputs.items()
            if not nodes or c in reachable(upstream, upstream[c])
        )

    def source_amps(self, node: str) -> Parts:
        """By source: what it gives for an ampere drawn at the node, through converters too.

        The inputs of circular converters are left out.
        """
        if node not in self._source_amps:
            found = dict(self.carriers(node))
            for converter, part in self.carriers(node).items():
                if converter in self.inputs and converter not in self.circular:
                    for origin, amps in self.inputs[converter].items():
                        for source, more in self.source_amps(origin).items():
                            found[source] = found.get(source, 0.0) + part * amps * more
            self._source_amps[node] = found
        return self._source_amps[node]
