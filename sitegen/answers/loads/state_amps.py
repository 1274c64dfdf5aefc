"""Amps in one state of a net: what equipment draws, what sources give, what branches carry."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from sitegen.answers.loads.carried import CurrentBounds
from sitegen.answers.loads.net_state import Drawn, Live, NetState
from sitegen.answers.loads.sharing import ONE, Flows, Parts
from sitegen.answers.loads.simple_paths import Passage
from sitegen.quantities import Fraction
from sitegen.solver.load_figures import Figures

NO_AMPS = Fraction()


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
    beside: Amps | None = field(default=None, compare=False)
    """Another in the same state of the net, from which what branches carry is less to work out."""

    def with_supplies(self, powered: Mapping[str, Live | None]) -> Amps:
        """The same state of the net, where the live supplies of some equipment differ."""
        now, known, unknown = dict(self.powered), dict(self.known), dict(self.without_figure)
        for item, live in powered.items():
            before = now.pop(item, None)
            if live is not None:
                now[item] = live
            for sign, supplies in ((-1, before), (1, live)):
                if supplies is not None:
                    _count(self.net.draws(item, supplies, self.figures), sign, known, unknown)
        return Amps(self.net, self.figures, now, known, unknown)

    def at_volts(self, net: NetState) -> Amps:
        """The same supplies live, in another state of the same network, or at other volts."""
        known, unknown = dict(self.known), dict(self.without_figure)
        differing = net.sharing.other_volts(self.net.sharing)
        for item in dict.fromkeys(i for bus in differing for i in self._follow.get(bus, ())):
            before = self.net.draws(item, self.powered[item], self.figures)
            now = net.draws(item, self.powered[item], self.figures)
            if now != before:
                _count(before, -1, known, unknown)
                _count(now, 1, known, unknown)
        return Amps(net, self.figures, self.powered, known, unknown)

    @cached_property
    def _follow(self) -> dict[str, list[str]]:
        """By bus, the equipment that may draw another amount there at other volts."""
        found: dict[str, list[str]] = {}
        network = self.net.sharing.network
        for item, live in self.powered.items():
            if len(live) > 1 or item in network.follow_volts:
                for bus in {network.connections[item][i].bus for i in live}:
                    found.setdefault(bus, []).append(item)
        return found

    @cached_property
    def taken(self) -> dict[str, Fraction]:
        """By node: what equipment and converters draw from it of all that has a figure, A.

        Left out are the nodes of which nothing says who carries them.
        """
        left_out = self.net.not_shared
        found = {n: amps for n, amps in self.known.items() if amps and n not in left_out}
        for nodes, inputs in self.net.converters:
            given = sum((found[n] * part for n, part in nodes.items() if n in found), NO_AMPS)
            for origin, amps in inputs.items() if given else ():
                if origin not in left_out:
                    found[origin] = found.get(origin, NO_AMPS) + given * amps
        return found

    @cached_property
    def _by_carriers(self) -> list[tuple[Parts, Parts]]:
        """(by source, its part; by node, amps): what is drawn where the same sources carry it."""
        return self._grouped(self.taken)

    def _grouped(self, taken: Mapping[str, Fraction]) -> list[tuple[Parts, Parts]]:
        sharing = self.net.sharing
        nodes = sharing.state.nodes
        found: dict[int, tuple[Parts, Parts]] = {}
        # To compare who carries a node takes long: most nodes share it.
        by_carriers: dict[int, tuple[Parts, Parts]] = {}
        for node, amps in taken.items():
            key = id(nodes[node].carriers)
            if key not in by_carriers:
                carriers = sharing.carriers(node)
                by_carriers[key] = found.setdefault(id(carriers), (carriers, {}))
            by_carriers[key][1][node] = amps
        return list(found.values())

    @cached_property
    def flows(self) -> Flows:
        """By source and node, what the source gives there of all that has a figure, A."""
        return {
            (source, node): part * amps
            for parts, taken in self._by_carriers
            for node, amps in taken.items()
            for source, part in parts.items()
        }

    @cached_property
    def unknown_nodes(self) -> frozenset[str]:
        """The nodes from which something draws an amount that is not known itself."""
        return frozenset(node for node, number in self.without_figure.items() if number)

    @cached_property
    def unknown_flows(self) -> frozenset[tuple[str, str]]:
        """(source, node) of all that something unknown takes, through converters too."""
        sharing, not_shared = self.net.sharing, self.net.not_shared
        found = set[tuple[str, str]]()
        waiting = [*self.unknown_nodes, *not_shared]
        while waiting:
            node = waiting.pop()
            for source in not_shared.get(node, sharing.carriers(node)):
                if (source, node) not in found:
                    found.add((source, node))
                    waiting += sharing.inputs.get(source, ())
        return frozenset(found)

    @cached_property
    def sources(self) -> dict[str, Fraction]:
        """By source that produces: what it gives, A."""
        found = dict.fromkeys(self.net.sharing.producing, NO_AMPS)
        for parts, taken in self._by_carriers:
            amps = sum(taken.values(), NO_AMPS)
            for source, part in parts.items():
                found[source] += part * amps
        return found

    @cached_property
    def _inputs(self) -> list[tuple[int, Fraction, bool, bool]]:
        """(branch, amps, certain, unknown) of what converters take through their live inputs."""
        found = []
        sharing = self.net.sharing
        short = self.short_sources
        for converter, number, origin, alone, fed in self.net.inputs:
            circular = converter in sharing.circular
            taken = NO_AMPS if circular else sharing.inputs[converter].get(origin, NO_AMPS)
            unknown = fed and (circular or converter in short)
            found.append((number, taken * self.sources[converter], alone, unknown))
        return found

    def _parts(self, item: str) -> list[Fraction | None]:
        return [part for _, part in self.net.draws(item, self.powered[item], self.figures)]

    def has_figure(self, item: str) -> bool:
        """Whether it is known what powered equipment draws."""
        return self.figures[item] is not None and None not in self._parts(item)

    @cached_property
    def _draws(self) -> tuple[dict[str, Fraction], list[str]]:
        drawn: dict[str, Fraction] = {}
        without: list[str] = []
        # In the author's order: that of `powered` goes by what other batches have asked.
        for item in self.net.sharing.network.equipment:
            if item not in self.powered:
                continue
            if self.has_figure(item):
                drawn[item] = sum((part or NO_AMPS for part in self._parts(item)), NO_AMPS)
            else:
                without.append(item)
        return drawn, without

    @property
    def drawn(self) -> dict[str, Fraction]:
        """By equipment that is powered and has figures: what it draws, A."""
        return self._draws[0]

    @property
    def unknown(self) -> tuple[str, ...]:
        """Powered equipment without figures, and converters that feed their own input."""
        return (*self._draws[1], *self.net.sharing.circular)

    @cached_property
    def nodes(self) -> dict[str, Fraction]:
        """By node: what equipment and converters draw from it, A."""
        found = {node: taken for node, taken in self.known.items() if taken}
        for converter, inputs in self.net.sharing.inputs.items():
            for bus, part in inputs.items() if converter in self._fed_from_elsewhere else ():
                found[bus] = found.get(bus, NO_AMPS) + part * self.sources[converter]
        return found

    @cached_property
    def converters(self) -> dict[str, Fraction]:
        """By converter that produces: what it takes at its input, A; 0 if it is not known."""
        elsewhere = self._fed_from_elsewhere
        return {
            c: sum((part * self.sources[c] for part in inputs.values() if c in elsewhere), NO_AMPS)
            for c, inputs in self.net.sharing.inputs.items()
        }

    @property
    def _fed_from_elsewhere(self) -> set[str]:
        """The converters that do not feed their own input."""
        return {*self.net.sharing.inputs} - {*self.net.sharing.circular}

    @cached_property
    def short_sources(self) -> frozenset[str]:
        """The sources from which something unknown draws."""
        return frozenset(source for source, _ in self.unknown_flows)

    @cached_property
    def short_nodes(self) -> frozenset[str]:
        """The nodes from which something unknown draws, through converters too."""
        inputs = self.net.sharing.inputs
        return self.unknown_nodes.union(n for s in self.short_sources for n in inputs.get(s, ()))

    def _passed(
        self, groups: Iterable[tuple[Parts, Parts]] | None = None
    ) -> Iterator[tuple[dict[int, Passage], Fraction]]:
        """(passages, amps) of all that has a figure, or of these groups."""
        for parts, taken in self._by_carriers if groups is None else groups:
            yield from self.net.topology.passed(parts, taken)

    def _passed_unknown(self) -> Iterator[dict[int, Passage]]:
        """The passages of what is not known."""
        for node in {node for _, node in self.unknown_flows}:
            reaching = self.net.not_shared.get(node)
            parts = dict.fromkeys(reaching, ONE) if reaching else self.net.sharing.carriers(node)
            yield from (p for p, _ in self.net.topology.passed(parts, {node: ONE}))

    @cached_property
    def _along(self) -> tuple[dict[int, Fraction], dict[int, Fraction]]:
        """By branch: what flows along it at least and at most of all that has a figure, A."""
        low: dict[int, Fraction] = {}
        high: dict[int, Fraction] = {}
        groups, other = None, self.beside
        if other and other.taken.keys() == self.taken.keys():  # the same paths carry some
            low, high = map(dict, other._along)
            more = {n: amps - other.taken[n] for n, amps in self.taken.items()}
            groups = self._grouped({n: amps for n, amps in more.items() if amps})
        # What other sources carry may take the same passages.
        totals: dict[int, tuple[dict[int, Passage], Fraction]] = {}
        for passages, amps in self._passed(groups):
            key = id(passages)
            totals[key] = passages, totals[key][1] + amps if key in totals else amps
        for passages, amps in totals.values():
            for number, passage in passages.items():
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
        return low, high

    @cached_property
    def branch_bounds(self) -> dict[int, CurrentBounds]:
        """By number of a branch that carries something, or may: how much."""
        low, high = self._along
        endless: dict[int, set[bool]] = {}
        for passages in self._passed_unknown():
            for number, passage in passages.items():
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
            most, along = max(highest, -lowest), (lowest, highest)
            found[number] = CurrentBounds(least, most, bool(unknown), along)
        for number, amps, certain, more in self._inputs:
            least = amps if certain else NO_AMPS
            found[number] = CurrentBounds(least, amps, more, (least, amps))
        return found

    @property
    def cancels(self) -> bool:
        """Whether amps that must pass a branch are subtracted from others that run against them.

        Less of them is then more in that branch.
        """
        ways, musts = (defaultdict[int, set[bool]](set) for _ in range(2))
        for passages, amps in self._passed():
            for number, passage in passages.items() if amps else ():
                here = {way for way in (True, False) if (passage.against, passage.along)[way]}
                ways[number] |= here
                if passage.must:
                    musts[number] |= here
        return any(must and len(ways[number]) > 1 for number, must in musts.items())

    def given_by(self, source: str, least: Fraction = NO_AMPS) -> tuple[Fraction | None, int]:
        """(amps, direction) of a source; None is not known.

        The direction is 1 where some flow for certain, `least` or more, else 0.
        """
        if source in self.short_sources:
            return None, 1
        amps = self.sources.get(source, NO_AMPS)
        return amps, 1 if amps and amps >= least else 0

    def through(
        self, branches: frozenset[int], least: Fraction = NO_AMPS
    ) -> tuple[Fraction | None, int]:
        """(amps, direction) along the branches of one device, of several poles the sum.

        None where the amps are not known: something without a figure draws through it, or the
        current has several paths, or passes several poles one after the other. The direction is 1
        where some flow along the branches for certain, -1 against them, else 0.

        Parameters
        ----------
        branches : their numbers.
        least : as much has to flow for certain, A. What has no figure counts as that, but past the
            terminals of a battery as nothing.
        """
        total, unsure = NO_AMPS, False
        directions: set[int] = set()
        certain = NO_AMPS
        trickle = self._into_battery(branches)
        for passages, amps in self._flows_through(branches):
            used = [passages[b] for b in branches & passages.keys()]
            for passage in used:
                directions.update(d for d in (1, -1) if (passage.against, passage.along)[d > 0])
                if passage.certain and amps is not None:
                    certain += amps
                elif passage.certain and not (passage.against, False, passage.along)[trickle + 1]:
                    certain += max(least, ONE)
                if amps is None or not passage.must or len(used) > 1:
                    unsure = True
                else:
                    total += amps if passage.along else -amps
        for number, amps, alone, unknown in self._inputs:
            if number in branches and (amps or unknown):
                directions.add(1)
                unsure |= unknown or not alone
                certain += max(least, ONE) if unknown else amps
                total += amps
        if unsure:
            shows = certain and certain >= least and len(directions) == 1
            return None, directions.pop() if shows else 0
        return total, (total > 0) - (total < 0) if abs(total) >= least else 0

    def _into_battery(self, branches: frozenset[int]) -> int:
        """The direction along a branch that leads to the terminals of a battery; 0: neither."""
        network = self.net.sharing.network
        batteries = {s for s, record in network.sources.items() if record.kind == "battery"}
        ends = [(network.branches[b].target, network.branches[b].origin) for b in branches]
        found = [(target in batteries) - (origin in batteries) for target, origin in ends]
        return found[0] if len(found) == 1 else 0

    def _flows_through(
        self, branches: frozenset[int]
    ) -> Iterable[tuple[dict[int, Passage], Fraction | None]]:
        """(passages, amps) of what flows through any of these branches, None of what is unknown."""
        if len(branches) == 1:
            [number] = branches
            return self._by_branch.get(number, ())
        # Whether one flow passes several poles is seen only on its whole path.
        between = self.net.topology.between
        return [
            *((between(*flow), amps) for flow, amps in self.flows.items() if amps),
            *((between(*flow), None) for flow in self.unknown_flows),
        ]

    @cached_property
    def _by_branch(self) -> dict[int, list[tuple[dict[int, Passage], Fraction | None]]]:
        found: dict[int, list[tuple[dict[int, Passage], Fraction | None]]] = {}
        for passages, amps in self._passed():
            for number in passages if amps else ():
                found.setdefault(number, []).append((passages, amps))
        for passages in self._passed_unknown():
            for number in passages:
                found.setdefault(number, []).append((passages, None))
        return found


def _count(drawn: Drawn, sign: int, known: dict[str, Fraction], unknown: dict[str, int]) -> None:
    """Add what a piece of equipment draws to what is drawn by node, or take it off."""
    for node, amps in drawn:
        if amps is None:
            unknown[node] = unknown.get(node, 0) + sign
        else:
            known[node] = known.get(node, NO_AMPS) + sign * amps
