"""What varies in one state of the net, every source at certain volts, whatever equipment draws.

How far a meter may be from what is computed by rating is bounded twice. By what the sources may be
off: a tenth of the rating of each, and of what one converter gives more than its share another
source gives less. And by what there is: whatever sources share, each node's load is carried by some
of those that carry it, so that none gives less than what it carries alone, or more than all that it
has a part in. Of what sources share where the meter is, and of what converters share downstream of
it, either may be the closer one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from itertools import chain
from typing import NamedTuple

from sitegen.answers.loads.anywhere_in_range import in_any_way, in_range
from sitegen.answers.loads.net_state import NetState
from sitegen.answers.loads.sharing import Parts
from sitegen.answers.loads.simple_paths import Passage
from sitegen.answers.loads.state_amps import NO_AMPS, Amps
from sitegen.catalogue.kinds import LOAD_METERS
from sitegen.quantities import Fraction
from sitegen.solver.load_figures import exact
from sitegen.solver.network import Network

SHARING_ERROR = Fraction(1, 10)
"""By this part of its rating a source may be off its share. Common practice, no source."""


@dataclass(frozen=True)
class Meter:
    """Where a loadmeter or ammeter is: a source, or a device and the branches that it is in."""

    at: str
    branches: frozenset[int]
    """Empty at a source."""
    source: str | None = None
    """At which it is, or in a feeder of it, where it is asked together with others."""
    sign: int = 1
    """-1 where that source gives amps against the branches."""

    def measured(self, amps: Amps) -> tuple[Fraction | None, int]:
        """(amps, direction), as `Amps.through` has them; None is not known."""
        found, direction = amps.through(self.branches) if self.branches else amps.given_by(self.at)
        return (None if found is None else self.sign * found), self.sign * direction


Meters = tuple[Meter, ...]
"""One, or those of several sources, of which the sum is asked."""


def measured_by(meters: Meters, amps: Amps) -> Fraction | None:
    """What all of them measure, A; None is not known."""
    found = [meter.measured(amps)[0] for meter in meters]
    known = [one for one in found if one is not None]
    return sum(known, NO_AMPS) if len(known) == len(found) else None


Ends = tuple[Fraction, Fraction]
"""The least and the most of an amount."""


class Bound(NamedTuple):
    """One of the bounds of what meters show while sources do not share by rating."""

    of_one_amp: MoreOfOneAmp
    less: Fraction
    more: Fraction
    """By what the sources that share by rating in it may be off, A."""


class _OfOneAmp(dict[str, "Fraction | None"]):
    """By node, what passes meters of one ampere drawn there, worked out when it is asked for."""

    def __init__(self, net: NetVariations, meters: Meters) -> None:
        super().__init__()
        self._net, self._meters = net, meters
        self._like = net.like(meters)

    def __missing__(self, node: str) -> Fraction | None:
        like = self._like[node]
        alone = like == node
        self[node] = measured_by(self._meters, self._net.one_amp(node)) if alone else self[like]
        return self[node]


@dataclass(frozen=True)
class NetVariations:
    """What varies in one state of the net; worked out when it is asked for."""

    net: NetState
    _ones: dict[str, Amps] = field(default_factory=dict)
    _from: dict[str, dict[str, dict[int, Passage]]] = field(default_factory=dict)
    _through: dict[str, dict[int, list[tuple[str, Passage]]]] = field(default_factory=dict)
    _like: dict[frozenset[int], dict[str, str]] = field(default_factory=dict)
    _measured: dict[Meters, _OfOneAmp] = field(default_factory=dict)
    _bounds: dict[Meters, list[Bound]] = field(default_factory=dict)
    _any_way: dict[str, bool] = field(default_factory=dict)

    @cached_property
    def moved(self) -> list[NetVariations]:
        """The same with sources elsewhere in their `volts-range`; of the net at nominal volts."""
        return [NetVariations(net, _from=self._from) for net in in_range(self.net)]

    @cached_property
    def moved_apart(self) -> list[NetVariations]:
        """The same with each source at either end by itself, for meters of several."""
        return [
            NetVariations(net, _from=self._from) for net in in_range(self.net, each_by_itself=True)
        ]

    @cached_property
    def charging(self) -> dict[str, tuple[Fraction, Fraction]]:
        """By battery whose terminals others hold up: the least and the most that it takes, A."""
        sharing = self.net.sharing
        found = {}
        for battery in sharing.producing:
            span, carriers = sharing.network.sources[battery].charge_amps, sharing.carriers(battery)
            if span and carriers and battery not in carriers:
                found[battery] = exact(span[0]), exact(span[1])
        return found

    @cached_property
    def any_inputs(self) -> dict[str, Parts]:
        """By converter that may take all from any of several nodes: `Sharing.any_input`."""
        sharing = self.net.sharing
        each = {converter: sharing.any_input(converter) for converter in sharing.inputs}
        return {converter: nodes for converter, nodes in each.items() if nodes}

    @cached_property
    def shared(self) -> dict[str, Parts]:
        """By node that several sources carry, sharing by rating: their parts."""
        carriers = {n: self.net.sharing.carriers(n) for n in self.net.sharing.state.nodes}
        left_out = self.net.not_shared
        several = {
            n: parts for n, parts in carriers.items() if len(parts) > 1 and n not in left_out
        }
        return {n: parts for n, parts in several.items() if not self.in_any_way(n)}

    def like(self, meters: Meters) -> dict[str, str]:
        """By node the first of which meters show the same, of an ampere drawn there: the same
        sources carry both, and reach both through the same node of each meter's block.
        """
        branches = frozenset[int]().union(*(meter.branches for meter in meters))
        if branches not in self._like:
            topology, not_shared = self.net.topology, self.net.not_shared
            nearest = [topology.nearest(b) for b in branches & topology.branches.keys()]
            first: dict[object, str] = {}
            self._like[branches] = {
                node: first.setdefault(
                    (state.carriers, node in not_shared, *(of.get(node) for of in nearest)), node
                )
                for node, state in self.net.sharing.state.nodes.items()
            }
        return self._like[branches]

    def of_one_amp(self, meters: Meters) -> _OfOneAmp:
        """By node, what passes the meters of one ampere drawn there; None is not known."""
        if meters not in self._measured:
            self._measured[meters] = _OfOneAmp(self, meters)
        return self._measured[meters]

    def one_amp(self, node: str) -> Amps:
        """What flows where one ampere is drawn at a node, and nothing else."""
        if node not in self._ones:
            self._ones[node] = Amps(self.net, {}, {}, {node: Fraction(1)}, {})
        return self._ones[node]

    def metered_inputs(self, meters: Meters) -> Counter[tuple[str, str]]:
        """By converter and node: the number of meters through which it takes what it does there."""
        inputs = self.net.inputs
        each = ({(c, node) for c, n, node, _, _ in inputs if n in m.branches} for m in meters)
        return Counter(chain(*each))

    def _passages(self, node: str) -> dict[int, list[tuple[str, Passage]]]:
        """By branch with a meter, the sources that feed a node through it, and how."""
        if node not in self._through:
            found = self._through[node] = {}
            metered = _with_a_meter(self.net.sharing.network)
            for source in self.net.sharing.carriers(node):
                if source not in self._from:
                    self._from[source] = self.net.topology.from_source(source, metered)
                for branch, passage in self._from[source].get(node, {}).items():
                    found.setdefault(branch, []).append((source, passage))
        return self._through[node]

    def shown(self, meters: Meters, node: str) -> dict[str, int]:
        """By source, how much of an ampere that it gives at a node meters show; left out are those
        of which they show nothing.
        """
        found: dict[str, int] = {}
        for meter in meters:
            uses = (self._passages(node).get(branch, ()) for branch in meter.branches)
            along = [(s, p.along - p.against) for s, p in chain(*uses)]
            if meter.at in self.net.sharing.carriers(node):
                along.append((meter.at, 1))
            for source, amps in along:
                found[source] = found.get(source, 0) + meter.sign * amps
        return {source: amps for source, amps in found.items() if amps}

    def in_any_way(self, node: str) -> bool:
        """Whether nothing says how those that carry a node share it."""
        if node not in self._any_way:
            carriers = self.net.sharing.carriers(node)
            self._any_way[node] = in_any_way(self.net, [*carriers])
        return self._any_way[node]

    def bounds(self, meters: Meters) -> list[Bound]:
        """What bounds meters while sources do not share by rating."""
        if meters not in self._bounds:
            self._bounds[meters] = [*self._bounded(meters)]
        return self._bounds[meters]

    def _bounded(self, meters: Meters) -> Iterator[Bound]:
        off = self._off(meters)
        for any_source in (False, True) if off else (False,):
            for any_converter in (False, True):
                more = MoreOfOneAmp(self, meters, any_source, any_converter)
                besides = [
                    sum(
                        (self._off_upstream(sources, more, end) for sources in self._together),
                        NO_AMPS,
                    )
                    for end in (() if any_converter else (0, 1))
                ]
                less, most = besides or (NO_AMPS, NO_AMPS)
                own = NO_AMPS if any_source else off
                yield Bound(more, own + less, own + most)
                if not any(besides):
                    break

    @cached_property
    def _together(self) -> list[set[str]]:
        """The sources that share, each with all that it shares with, from node to node.

        What one of them gives more the others give less. Those without a converter are left out.
        """
        found: list[set[str]] = []
        for carriers in map(set, self.shared.values()):
            meeting = [sources for sources in found if sources & carriers]
            found = [sources for sources in found if sources not in meeting]
            found.append(carriers.union(*meeting))
        return [sources for sources in found if sources & self.net.sharing.inputs.keys()]

    def _off_upstream(self, sources: set[str], more: MoreOfOneAmp, end: int) -> Fraction:
        """By how much meters are off as converters among these take more or less than by rating, A.

        As what all of them give more adds up to nothing, any amount may be taken off what meters
        show of an ampere of each: the least that is left of all bounds it.
        """
        shown = {source: more.of_converter(source, end) for source in sources}
        return min(
            sum(
                (self._error([s]) * max(abs(k - of_all) for k in ks) for s, ks in shown.items()),
                NO_AMPS,
            )
            for of_all in {*chain(*shown.values())}
        )

    def _error(self, sources: Iterable[str]) -> Fraction:
        rated = (exact(self.net.sharing.network.sources[s].amps or 0) for s in sources)
        return sum(rated, NO_AMPS) * SHARING_ERROR

    def _off(self, meters: Meters) -> Fraction:
        """How far meters are off while sources give more or less than by rating, A.

        What passes a branch varies with the sources on one side of it, and no more than those on
        the other can make up for; what several sources give, no more than with the others.
        """
        sides: tuple[set[str], set[str]] = (set(), set())
        like = self.like(meters)
        for node in dict.fromkeys(like[node] for node in self.shared):
            carriers, shown = self.shared[node], self.shown(meters, node)
            # Of what all passes here, however it is shared, nothing varies.
            if len({*shown.values()}) > 1 or (shown and len(shown) < len(carriers)):
                one, other = sides
                if meters[1:]:
                    one |= carriers.keys() - shown.keys()
                else:
                    one |= {s for s, amps in shown.items() if amps > 0}
                other |= {s for s, amps in shown.items() if amps < 0}
        return min((self._error(side) for side in sides if side), default=NO_AMPS)


class MoreOfOneAmp(dict[str, Ends]):
    """By node, how much more meters show of an ampere drawn there than computed: least and most.

    A converter may take all from any input; sources share by rating, or in any way.
    """

    def __init__(
        self, net: NetVariations, meters: Meters, any_source: bool, any_converter: bool
    ) -> None:
        """Take what shares in any way.

        Parameters
        ----------
        any_source : all sources, as far as the meters show what they give.
        any_converter : converters, as far as the meters show what they take.
        """
        super().__init__()
        self._net, self._meters, self._like = net, meters, net.like(meters)
        self._inputs = net.metered_inputs(meters)
        self._any_source, self._any_converter = any_source, any_converter
        self._within: set[str] = set()
        self._looped = False
        self._comes_round: dict[str, Ends] = {}

    def __missing__(self, node: str) -> Ends:
        if not self._within and node in self._comes_round:
            return self._comes_round[node]
        like = self._like[node]
        if like in self:
            self[node] = self[like]
            return self[node]
        self._within.add(node)
        ends = self._ends(node)
        self._within.discard(node)
        if not self._looped:
            self[node] = self[like] = ends
        elif not self._within:
            # What leaves out what comes round to a node is true of that node alone.
            self._comes_round[node] = ends
            self._looped = False
        return ends

    def _ends(self, node: str) -> Ends:
        sharing = self._net.net.sharing
        parts = {} if node in self._net.net.not_shared else sharing.carriers(node)

        def by_rating(of: Mapping[str, Fraction | int]) -> Fraction:
            return sum((part * of[source] for source, part in parts.items()), NO_AMPS)

        in_any_way_here = self._net.in_any_way(node)
        any_source = self._any_source or in_any_way_here
        any_converter = self._any_converter or in_any_way_here
        through = not sharing.inputs.keys().isdisjoint(parts)
        computed = by_rating({s: self._of_inputs(s, None) for s in parts}) if through else NO_AMPS
        any_part = any_source and len(parts) > 1
        shown = self._net.shown(self._meters, node) if any_part else {}
        ends = [NO_AMPS, NO_AMPS]
        for end, pick in enumerate((min, max)):
            if any_part:
                none = [0] if len(shown) < len(parts) else []
                ends[end] += pick([*shown.values(), *none])
                ends[end] -= sum((parts[s] * amps for s, amps in shown.items()), NO_AMPS)
            if through:
                taken = {source: pick(self.of_converter(source, end)) for source in parts}
                ends[end] += pick(taken.values()) if any_converter else by_rating(taken)
                ends[end] -= computed
        return ends[0], ends[1]

    def of_converter(self, source: str, end: int) -> list[Fraction]:
        """What meters may show of what a source takes while it gives an ampere: of a converter, by
        the nodes from which it may take all.
        """
        each = self._net.any_inputs.get(source)
        if each:
            return [amps * self._at_input(source, node, end) for node, amps in each.items()]
        return [self._of_inputs(source, end)]

    def _of_inputs(self, source: str, end: int | None) -> Fraction:
        sharing = self._net.net.sharing
        inputs = sharing.inputs.get(source, {}) if source not in sharing.circular else {}
        parts = (amps * self._at_input(source, node, end) for node, amps in inputs.items())
        return sum(parts, NO_AMPS)

    def _at_input(self, converter: str, node: str, end: int | None) -> Fraction:
        """Of an ampere that a converter takes at a node; with no end, as computed.

        Converters that may feed each other cannot all take all from one another: what comes round
        to a node adds nothing there.
        """
        shown = self._net.of_one_amp(self._meters)[node] or NO_AMPS
        shown += self._inputs[converter, node]
        if end is None:
            return shown
        if node in self._within:
            self._looped = True
            return shown
        return shown + self[node][end]


@lru_cache(maxsize=8)
def _with_a_meter(network: Network) -> frozenset[int]:
    """The numbers of the branches in which a loadmeter or ammeter is."""
    meters = {i.at for i in network.catalogue.indications if i.kind in LOAD_METERS}
    return frozenset(k for k, b in enumerate(network.branches) if not meters.isdisjoint(b.through))
