"""Amps in one state of a net: what equipment draws, what sources give, what branches carry."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from sitegen.answers.loads.sharing import Flows, Sharing
from sitegen.answers.loads.simple_paths import Topology
from sitegen.quantities import Fraction
from sitegen.solver.load_figures import Figures

NO_AMPS = Fraction()

Live = tuple[int, ...]
"""The numbers of the live supplies of a piece of equipment."""


@dataclass(frozen=True)
class CurrentBounds:
    """Amps through a device or a branch in one state."""

    least: Fraction
    """What it carries for certain, A."""
    most: Fraction
    """What it could carry, A; the same where the current has one path."""
    unknown: bool = False
    """Something without a figure may draw through it: `most` leaves that out."""


Drawn = Sequence[tuple[str, Fraction | None]]
"""(node, amps) of a piece of equipment; None is not known."""


@dataclass(frozen=True)
class NetState:
    """Who carries what, and by which paths."""

    sharing: Sharing
    topology: Topology
    everywhere: dict[tuple[int, str, Live], Drawn]
    """What equipment draws in every state of the net; the states of a batch share it."""
    here: dict[tuple[int, str, Live], Drawn] = field(default_factory=dict)

    @cached_property
    def inputs(self) -> list[tuple[str, int, str, bool, bool]]:
        """Of converters that produce: the live branches of their inputs.

        (converter, number of the branch, its origin, whether no other comes from there, whether
        the converter draws from there.)
        """
        found = []
        sharing = self.sharing
        numbers = {branch: k for k, branch in enumerate(sharing.network.branches)}
        for converter in sharing.inputs:
            branches = sharing.live_inputs(converter)
            origins = [branch.origin for branch in branches]
            drawn_from = dict(sharing.drawn_from(origins))
            found += [
                (
                    converter,
                    numbers[b],
                    b.origin,
                    origins.count(b.origin) == 1,
                    b.origin in drawn_from,
                )
                for b in branches
            ]
        return found

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


@dataclass(frozen=True)
class Amps:
    """What flows in one distinct state."""

    net: NetState
    figures: Figures
    """By equipment, A."""
    powered: Mapping[str, Live]
    """By equipment that has the supply that it needs and is not turned off: its live supplies."""
    known: Mapping[str, Fraction]
    """By node: what equipment draws there, A."""
    without_figure: Mapping[str, int]
    """By node: how many pieces of equipment draw there an amount that is not known."""

    def with_supplies(self, powered: Mapping[str, Live | None]) -> Amps:
        """The same state of the net, where the live supplies of some equipment differ."""
        now, known, unknown = dict(self.powered), dict(self.known), dict(self.without_figure)
        for item, live in powered.items():
            before = now.pop(item, None)
            if live is not None:
                now[item] = live
            for sign, supplies in ((-1, before), (1, live)):
                if supplies is None:
                    continue
                for node, amps in self.net.draws(item, supplies, self.figures):
                    if amps is None:
                        unknown[node] = unknown.get(node, 0) + sign
                    else:
                        known[node] = known.get(node, NO_AMPS) + sign * amps
        return Amps(self.net, self.figures, now, known, unknown)

    @cached_property
    def flows(self) -> Flows:
        """By source and node, what the source gives there of all that has a figure, A."""
        found: Flows = {}
        for node, amps in self.known.items():
            if amps:
                for flow, part in self.net.sharing.flows(node).items():
                    found[flow] = found.get(flow, NO_AMPS) + part * amps
        return found

    @cached_property
    def unknown_nodes(self) -> frozenset[str]:
        """The nodes from which something draws an amount that is not known itself."""
        sharing = self.net.sharing
        nodes = {node for node, number in self.without_figure.items() if number}
        for converter in sharing.circular:
            origins = [branch.origin for branch in sharing.live_inputs(converter)]
            nodes |= {node for node, _ in sharing.drawn_from(origins)}
        return frozenset(nodes)

    @cached_property
    def unknown_flows(self) -> frozenset[tuple[str, str]]:
        """(source, node) of all that something unknown takes, through converters too."""
        return frozenset(f for node in self.unknown_nodes for f in self.net.sharing.flows(node))

    @cached_property
    def sources(self) -> dict[str, Fraction]:
        """By source that produces: what it gives, A."""
        found = dict.fromkeys(self.net.sharing.producing, NO_AMPS)
        for (source, _), amps in self.flows.items():
            found[source] += amps
        return found

    @cached_property
    def _inputs(self) -> list[tuple[int, Fraction, bool, bool]]:
        """(branch, amps, certain, unknown) of what converters take through their live inputs."""
        found = []
        sharing = self.net.sharing
        short = {source for source, _ in self.unknown_flows}
        for converter, number, origin, alone, fed in self.net.inputs:
            circular = converter in sharing.circular
            taken = NO_AMPS if circular else sharing.inputs[converter].get(origin, NO_AMPS)
            unknown = fed and (circular or converter in short)
            found.append((number, taken * self.sources[converter], alone, unknown))
        return found

    @cached_property
    def branch_bounds(self) -> dict[int, CurrentBounds]:
        """By number of a branch that carries something, or may: how much."""
        low: dict[int, Fraction] = {}
        high: dict[int, Fraction] = {}
        endless: dict[int, set[bool]] = {}
        between = self.net.topology.between
        for (source, node), amps in self.flows.items():
            for number, passage in between(source, node).items():
                # Along the branch counts up, against it down: what two sources send each other's
                # buses cancels.
                if passage.along:
                    high[number] = high.get(number, NO_AMPS) + amps
                    if passage.must:
                        low[number] = low.get(number, NO_AMPS) + amps
                if passage.against:
                    low[number] = low.get(number, NO_AMPS) - amps
                    if passage.must:
                        high[number] = high.get(number, NO_AMPS) - amps
        for source, node in self.unknown_flows:
            for number, passage in between(source, node).items():
                directions = endless.setdefault(number, set())
                directions.update(d for d in (True, False) if (passage.against, passage.along)[d])
        found = {}
        for number in low.keys() | high.keys() | endless.keys():
            lowest, highest = low.get(number, NO_AMPS), high.get(number, NO_AMPS)
            unknown = endless.get(number, set())
            least = max(
                NO_AMPS if False in unknown else lowest,
                NO_AMPS if True in unknown else -highest,
                NO_AMPS,
            )
            found[number] = CurrentBounds(least, max(highest, -lowest), bool(unknown))
        for number, amps, certain, more in self._inputs:
            found[number] = CurrentBounds(amps if certain else NO_AMPS, amps, more)
        return found

    def given_by(self, source: str) -> tuple[Fraction | None, bool]:
        """(amps, whether some flow) of a source; None is not known."""
        if any(giving == source for giving, _ in self.unknown_flows):
            return None, True
        return self.sources.get(source, NO_AMPS), bool(self.sources.get(source))

    def through(self, branches: frozenset[int]) -> tuple[Fraction | None, bool]:
        """(amps, whether some flow) along the branches of one device, of several poles the sum.

        None where the amps are not known: something without a figure draws through it, or the
        current has several paths, or passes several poles one after the other.
        """
        total, unsure = NO_AMPS, False
        directions: set[int] = set()
        certain = False
        between = self.net.topology.between
        flows: list[tuple[str, str, Fraction | None]] = [
            *((*flow, amps) for flow, amps in self.flows.items() if amps),
            *((*flow, None) for flow in self.unknown_flows),
        ]
        for source, node, amps in flows:
            passages = between(source, node)
            used = [passages[b] for b in branches & passages.keys()]
            for passage in used:
                directions.update(d for d in (1, -1) if (passage.against, passage.along)[d > 0])
                certain |= passage.certain
                if amps is None or not passage.must or len(used) > 1:
                    unsure = True
                else:
                    total += amps if passage.along else -amps
        for number, amps, alone, unknown in self._inputs:
            if number in branches and (amps or unknown):
                directions.add(1)
                unsure |= unknown or not alone
                certain = True
                total += amps
        if unsure:
            return None, certain and len(directions) == 1
        return total, bool(total)
