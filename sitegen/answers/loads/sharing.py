"""Who carries what: how an ampere drawn at a bus falls on the sources, in one scenario.

What has several live supplies draws from those whose bus shows the highest volts, equally; with a
figure for each of its supplies it draws each of them. A bus's load is carried by the sources that
offer it the highest volts, and by those within half a volt of these, in proportion to rated amps,
equally if one has no rating. A converter takes output volts x amps / (efficiency x input volts);
these are the volts of the bus that feeds it, less the drops of the sound diodes in its feed.

Load is linear while no device switches: from one ampere follows any number of amps. All figures are
exact fractions, so that no order of adding them up changes a digit.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache

from sitegen.answers.node_states import NodeState
from sitegen.quantities import Fraction
from sitegen.reachable import reachable
from sitegen.solver.load_figures import exact
from sitegen.solver.network import Branch, Network
from sitegen.solver.power import SHARING_MILLIVOLTS

Parts = dict[str, Fraction]
"""Amps for each ampere drawn, by source or by node."""

Flows = dict[tuple[str, str], Fraction]
"""By source and node: what the source gives at the node, for each ampere drawn somewhere."""


ONE = Fraction(1)


def added(parts: Parts, key: str, amps: Fraction) -> None:
    """Add amps to what a key has."""
    parts[key] = parts.get(key, Fraction()) + amps


def times(amps: Fraction, parts: Parts) -> Parts:
    """The parts of an amount of amperes."""
    return {key: amps * part for key, part in parts.items()}


@lru_cache(maxsize=8)
def several_supplies(network: Network) -> tuple[str, ...]:
    """The equipment that has several supplies."""
    return tuple(item for item in network.equipment if len(network.connections[item]) > 1)


@dataclass(frozen=True)
class State:
    """The state of a net in one scenario, as far as loads need it."""

    nodes: Mapping[str, NodeState]
    conducts: Mapping[str, bool]
    shorted: frozenset[str] = frozenset()
    """The diodes that have failed shorted; others may be named too."""


@dataclass(frozen=True)
class Known:
    """What follows from who carries a node alone: states of one network may share it."""

    carriers: dict[tuple[str, ...], Parts] = field(default_factory=dict)
    """By the sources that carry a node."""
    flows: dict[tuple[str, tuple[str, ...]], Flows] = field(default_factory=dict)
    """By a node and the sources that carry it, no converter among them."""


class Sharing:
    """Who carries what in one scenario; computed when it is asked for."""

    def __init__(
        self,
        network: Network,
        state: State,
        column: str | None = None,
        millivolts: Mapping[str, int] | None = None,
        known: Known | None = None,
        left: Mapping[tuple[str, str], int] | None = None,
    ) -> None:
        """Take a state of a network.

        Parameters
        ----------
        network, state : the wiring, and what is live and conducts in it.
        column : the load column; it says how what has own figures for its supplies divides.
        millivolts : by node, what amps follow where that is not what the node shows.
        known : what other states of the network have worked out.
        left : by equipment or converter and node, what the amps that it draws there follow where
            conductors leave less, mV.
        """
        self.network = network
        self.state = state
        self.column = column
        self._millivolts = millivolts
        self._known = known or Known()
        self._left = left or {}
        self._flows: dict[str, Flows] = {}

    def with_nodes(
        self, nodes: dict[str, NodeState], millivolts: Mapping[str, int] | None = None
    ) -> Sharing:
        """The same net and devices, with other volts and carriers."""
        state = replace(self.state, nodes=nodes)
        return Sharing(self.network, state, self.column, millivolts, self._known)

    def with_volts_left(self, left: Mapping[tuple[str, str], int]) -> Sharing:
        """The same, where what draws at a node has less than the node shows."""
        known, at_nodes = self._known, self._millivolts
        return Sharing(self.network, self.state, self.column, at_nodes, known, left)

    @cached_property
    def producing(self) -> tuple[str, ...]:
        """The sources that produce, in the author's order."""
        nodes = self.state.nodes
        return tuple(s for s in self.network.sources if s in nodes[s].sources)

    def millivolts(self, node: str) -> int:
        """What the amps at a node follow, mV."""
        if self._millivolts is not None:
            return self._millivolts[node]
        return self.state.nodes[node].millivolts

    def volts_left(self, taker: str, node: str) -> int:
        """What the amps that equipment or a converter draws at a node follow, mV."""
        return self._left.get((taker, node), self._after_diodes(self.millivolts(node), taker, node))

    def other_volts(self, other: Sharing) -> list[str]:
        """The nodes at which equipment may draw other than in another state of the network."""
        shown, others = self.state.nodes, other.state.nodes
        if self._left or other._left:
            return [*shown]
        return [
            n
            for n, state in shown.items()
            # Within a batch, nodes in one state share it.
            if (state is not others[n] and state.millivolts != others[n].millivolts)
            or (
                (self._millivolts or other._millivolts)
                and self.millivolts(n) != other.millivolts(n)
            )
        ]

    def _after_diodes(self, millivolts: int, taker: str, node: str) -> int:
        return max(millivolts - self.feed_drops.get((taker, node), 0), 0)

    @cached_property
    def feed_drops(self) -> dict[tuple[str, str], int]:
        """By converter and node with a live input from there: what its sound diodes drop, the least
        of several, mV.
        """
        found: dict[tuple[str, str], int] = {}
        for converter in self.network.inputs:
            for branch in self.live_inputs(converter):
                drop, key = self._drop(branch), (converter, branch.origin)
                found[key] = min(found.get(key, drop), drop)
        return found

    def _drop(self, branch: Branch) -> int:
        sound = (d for d in branch.diodes if d not in self.state.shorted)
        return sum(self.network.millivolts[d] for d in sound)

    def feeding(self, converter: str) -> list[Branch]:
        """The live inputs that may carry something: where two come from one node, none whose diodes
        drop more than half a volt more.
        """
        drops = self.feed_drops
        return [
            branch
            for branch in self.live_inputs(converter)
            if self._drop(branch) - drops[converter, branch.origin] <= SHARING_MILLIVOLTS
        ]

    def fed_from(self, converter: str) -> list[tuple[str, Fraction]]:
        """(node, part) of what a converter takes at its input."""
        return self.drawn_from([branch.origin for branch in self.feeding(converter)], converter)

    def drawn_from(self, nodes: Sequence[str], taker: str = "") -> list[tuple[str, Fraction]]:
        """(node, part): equal parts of one ampere, from the nodes that leave the highest volts."""
        if len(nodes) < 2:
            return [(node, ONE) for node in nodes]
        shown = self.state.nodes
        volts = [self._after_diodes(shown[node].millivolts, taker, node) for node in nodes]
        carrying = [node for node, mv in zip(nodes, volts, strict=True) if mv == max(volts)]
        return [(node, Fraction(1, len(carrying))) for node in carrying]

    def near_highest(self, nodes: Sequence[str], taker: str = "") -> list[str]:
        """Those that leave the highest volts, or so little less that any may be the one that feeds;
        each once, none where there is one alone.
        """
        shown = self.state.nodes
        volts = {node: self._after_diodes(shown[node].millivolts, taker, node) for node in nodes}
        highest = max(volts.values(), default=0)
        near = [node for node, mv in volts.items() if highest - mv <= SHARING_MILLIVOLTS]
        return near if len(near) > 1 else []

    def any_supply(self, item: str, live: Sequence[int]) -> Parts:
        """By bus that may supply equipment alone: what it draws there for an ampere of its figure.

        None where it has one such bus, or figures for its supplies. What needs all of them may
        draw from any, whatever their volts.
        """
        buses = [self.network.connections[item][i].bus for i in live]
        if len(buses) < 2 or any(self.network.supply_figures.get((item, self.column), ())):
            return {}
        if self.network.equipment[item].needs != "all":
            buses = self.near_highest(buses)
        follows = item in self.network.follow_volts
        factors = {bus: self._follows_volts(item, bus) if follows else ONE for bus in buses}
        known = {bus: factor for bus, factor in factors.items() if factor is not None}
        return known if len(known) > 1 else {}

    def any_input(self, converter: str) -> Parts:
        """By node from which a converter may take all: what it takes there for an ampere given.

        None where it has one such node; what it feeds itself is none.
        """
        origins = [branch.origin for branch in self.feeding(converter)]
        if len(origins) < 2 or converter in self.circular:
            return {}
        others = [n for n in origins if converter not in self._upstream_of(n)]
        nodes = self.near_highest(others, converter)
        return {n: self._taken(converter, n) for n in nodes if self.volts_left(converter, n)}

    def _upstream_of(self, node: str) -> set[str]:
        """The sources that carry a node, and the converters among them through their inputs."""
        upstream = {c: {s for n in of for s in self.carriers(n)} for c, of in self.inputs.items()}
        return reachable(upstream, self.carriers(node))

    def draws(self, item: str, live: Sequence[int]) -> list[tuple[str, Fraction | None]]:
        """(bus, amps): what equipment draws for each ampere of its figure.

        None instead of amps where it would draw constant power from a bus without volts.

        Parameters
        ----------
        item : equipment that has the supply that it needs.
        live : the numbers of its live supplies.
        """
        connections = self.network.connections[item]
        of_supplies = self.network.supply_figures.get((item, self.column), ())
        total = sum(of_supplies, Fraction())
        if total:
            parts = [(connections[i].bus, of_supplies[i] / total) for i in live if of_supplies[i]]
        else:
            parts = self.drawn_from([connections[i].bus for i in live])
        if item not in self.network.follow_volts:
            return [*parts]
        factors = [self._follows_volts(item, bus) for bus, _ in parts]
        return [
            (bus, None if factor is None else part * factor)
            for (bus, part), factor in zip(parts, factors, strict=True)
        ]

    def _follows_volts(self, item: str, bus: str) -> Fraction | None:
        """By what the volts of a DC bus multiply the amps of equipment; None at no volts."""
        taken_at, here = self.network.load_millivolts, self.volts_left(item, bus)
        if taken_at is None or bus not in self.network.dc_nodes:
            return ONE
        if self.network.equipment[item].load == "resistive":
            return Fraction(here, taken_at)
        return Fraction(taken_at, here) if here else None

    def carriers(self, node: str) -> Parts:
        """By source: its part of an ampere drawn at the node; none at a dead one."""
        ids = self.state.nodes[node].carriers
        if ids not in self._known.carriers:
            carrying = [self.network.sources[s] for s in ids]
            # Without every rating there is no proportion to go by: they share equally.
            rated = all(s.amps for s in carrying)
            weights = {s.id: exact(s.amps) if rated and s.amps else Fraction(1) for s in carrying}
            total = sum(weights.values(), Fraction())
            self._known.carriers[ids] = {s: weight / total for s, weight in weights.items()}
        return self._known.carriers[ids]

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
            if self.network.sources[converter].kind == "converter":
                taken = found[converter] = {}
                for node, part in self.fed_from(converter):
                    # Of an input without volts no amps follow: see `circular`.
                    if self.volts_left(converter, node):
                        added(taken, node, part * self._taken(converter, node))
        return found

    def _taken(self, converter: str, node: str) -> Fraction:
        """What a converter takes at a node with volts while it gives one ampere, all from there."""
        efficiency = exact(self.network.sources[converter].efficiency)
        return self._output(converter) / efficiency / self.volts_left(converter, node)

    def _output(self, converter: str) -> int:
        """The volts that a converter gives, mV: those of its terminals where it alone carries them,
        since these may be anywhere in its range.
        """
        if self.state.nodes[converter].carriers == (converter,):
            return self.millivolts(converter)
        return self.network.millivolts[converter]

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

    def flows(self, node: str) -> Flows:
        """What an ampere drawn at the node takes from every source, through converters too.

        The inputs of circular converters are left out.
        """
        carrying = self.state.nodes[node].carriers
        if self.inputs.keys().isdisjoint(carrying):
            key = node, carrying
            if key not in self._known.flows:
                parts = self.carriers(node)
                self._known.flows[key] = {(source, node): part for source, part in parts.items()}
            return self._known.flows[key]
        if node not in self._flows:
            found: Flows = {}
            for source, part in self.carriers(node).items():
                found[source, node] = found.get((source, node), Fraction()) + part
                if source in self.inputs and source not in self.circular:
                    for origin, amps in self.inputs[source].items():
                        for flow, more in self.flows(origin).items():
                            found[flow] = found.get(flow, Fraction()) + part * amps * more
            self._flows[node] = found
        return self._flows[node]

    def source_amps(self, node: str) -> Parts:
        """By source: what it gives for an ampere drawn at the node, through converters too."""
        found: Parts = {}
        for (source, _), amps in self.flows(node).items():
            added(found, source, amps)
        return found
