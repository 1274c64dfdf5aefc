"""One state of a net: who carries what, by which paths, and what equipment draws where."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from graphlib import TopologicalSorter

from sitegen.answers.loads.sharing import Parts, Sharing
from sitegen.answers.loads.simple_paths import Topology
from sitegen.quantities import Fraction
from sitegen.solver.load_figures import Figures
from sitegen.solver.power import Power

Live = tuple[int, ...]
"""The numbers of the live supplies of a piece of equipment."""


Drawn = Sequence[tuple[str, Fraction | None]]
"""(node, amps) of a piece of equipment; None is not known."""


@dataclass(frozen=True)
class NetState:
    """Who carries what, and by which paths."""

    sharing: Sharing
    topology: Topology
    everywhere: dict[tuple[int, str, Live], Drawn]
    """What equipment draws in every state of the net; the states of a batch share it."""
    diode_volts: Mapping[int, Fraction]
    """By number of a branch with sound diodes: what these drop, V."""
    power: Power
    scenario: int
    """One in which the net is in this state, at nominal volts."""
    here: dict[tuple[int, str, Live], Drawn] = field(default_factory=dict)

    @cached_property
    def not_shared(self) -> dict[str, tuple[str, ...]]:
        """By node of which nothing says who carries it, the sources that reach it.

        AC sources that are not synchronised meet there, or a converter feeds its own input.
        """
        sharing, nodes = self.sharing, self.sharing.state.nodes
        found = [*self.conflicts]
        for converter in sharing.circular:
            found += (branch.origin for branch in sharing.live_inputs(converter))
        return {node: nodes[node].sources for node in found}

    @cached_property
    def conflicts(self) -> tuple[str, ...]:
        """The buses at which AC sources that are not synchronised meet."""
        conflicts = self.power.conflicts.items()
        return tuple(bus for bus, mask in conflicts if mask >> self.scenario & 1)

    @cached_property
    def inputs(self) -> list[tuple[str, int, str, bool, bool]]:
        """Of converters that produce: the branches of their inputs that may carry something.

        (converter, number of the branch, its origin, whether no other comes from there, whether
        the converter draws from there.)
        """
        found = []
        sharing = self.sharing
        numbers = {id(branch): k for k, branch in enumerate(sharing.network.branches)}
        for converter in sharing.inputs:
            feeding = sharing.feeding(converter)
            origins = [branch.origin for branch in feeding]
            fed_from = dict(sharing.fed_from(converter))
            found += [
                (
                    converter,
                    numbers[id(b)],
                    b.origin,
                    origins.count(b.origin) == 1,
                    b.origin in fed_from,
                )
                for b in feeding
            ]
        return found

    @cached_property
    def converters(self) -> list[tuple[Parts, Parts]]:
        """Of converters that produce and are not circular, none before what it feeds: (by node
        that it carries, its part of an ampere drawn there; by node that it draws from, what it
        takes there for each ampere that it gives).
        """
        sharing = self.sharing
        inputs = {c: taken for c, taken in sharing.inputs.items() if c not in sharing.circular}
        carried: dict[str, Parts] = {c: {} for c in inputs}
        upstream: dict[str, set[str]] = {c: set() for c in inputs}
        for node, state in sharing.state.nodes.items():
            for c in inputs.keys() & state.carriers:
                carried[c][node] = sharing.carriers(node)[c]
        for c, taken in inputs.items():
            upstream[c].update(s for node in taken for s in sharing.carriers(node) if s in inputs)
        order = reversed([*TopologicalSorter(upstream).static_order()])
        return [(carried[c], inputs[c]) for c in order]

    @cached_property
    def conducting(self) -> tuple[int, ...]:
        """The numbers of the branches that conduct; of those into converters, the live inputs."""
        sharing = self.sharing
        inputs = {id(branch) for c in sharing.inputs for branch in sharing.live_inputs(c)}
        conducts = sharing.state.conducts
        return tuple(
            number
            for number, branch in enumerate(sharing.network.branches)
            if (id(branch) in inputs or not branch.into_converter)
            and all(conducts[d] for d in branch.through)
        )

    def offered_in_reserve(self, node: str) -> Fraction:
        """The most that sources which carry nothing at a node offer there, V; 0 without any."""
        state = self.sharing.state.nodes[node]
        levels = (
            level
            for source in state.sources
            if source not in state.carriers
            for level, where in self.power.offered[source][node]
            if where >> self.scenario & 1
        )
        return Fraction(max(levels, default=0), 1000)

    def draws(self, item: str, live: Live, figures: Figures) -> Drawn:
        """What a piece of equipment with these live supplies draws where."""
        network = self.sharing.network
        fixed = len(live) == 1 and item not in network.follow_volts
        known = self.everywhere if fixed else self.here
        key = id(figures), item, live
        if key not in known:
            figure = figures[item]
            known[key] = tuple(
                (bus, None if figure is None or part is None else part * figure)
                for bus, part in (self.sharing.draws(item, live) if figure != 0 else ())
            )
        return known[key]
