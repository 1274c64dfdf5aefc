"""How far a loadmeter or ammeter may be from what is computed, in a healthy aircraft.

Three things vary while nothing has failed: the volts of a source within its `volts-range`, and with
them the amps that follow volts; what a battery takes to charge, its `charge-amps`, which is a load
at its terminals while others hold these up; and how sources divide a load that they share, each by
a tenth of its rating. No switching device moves with any of these.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from typing import Literal, NamedTuple

from sitegen.answers.loads.sharing import Sharing
from sitegen.answers.loads.simple_paths import Passage
from sitegen.answers.loads.state_amps import NO_AMPS, Amps, NetState
from sitegen.catalogue.kinds import LOAD_METERS
from sitegen.quantities import Fraction
from sitegen.solver.load_figures import exact
from sitegen.solver.network import Network
from sitegen.solver.power import Power

SHARING_ERROR = Fraction(1, 10)
"""By this part of its rating a source may give more or less than its share. Common practice, no
source."""

RangeEnd = Literal[0, 1]
"""Sources at the bottom of their `volts-range`, or at the top."""


class Flow(NamedTuple):
    """Amps at one place: along the feeder, or out of the source; below zero against it."""

    amps: Fraction
    """As computed: at nominal volts, shared by rating, without charging."""
    least: Fraction
    most: Fraction
    """What a healthy aircraft may show is between these two."""


@dataclass(frozen=True)
class Meter:
    """Where a loadmeter or ammeter is: a source, or a device and the branches that it is in."""

    at: str
    branches: frozenset[int]
    """Empty at a source."""

    def measured(self, amps: Amps) -> tuple[Fraction | None, bool]:
        """(amps, whether some flow); None is not known."""
        return amps.through(self.branches) if self.branches else amps.given_by(self.at)


@dataclass(frozen=True)
class NetVariations:
    """What varies in one state of the net, whatever equipment draws; worked out when asked for."""

    net: NetState
    _ones: dict[str, Amps] = field(default_factory=dict)
    _from: dict[str, dict[str, dict[int, Passage]]] = field(default_factory=dict)
    _through: dict[str, dict[int, list[tuple[str, Passage]]]] = field(default_factory=dict)
    _measured: dict[tuple[str, str], Fraction | None] = field(default_factory=dict)
    _errors: dict[tuple[str, frozenset[str]], Fraction] = field(default_factory=dict)

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
    def charged_through(self) -> frozenset[str]:
        """The nodes at which sources give what batteries charge."""
        return frozenset(
            node
            for battery, (_, most) in self.charging.items()
            if most
            for _, node in self.net.sharing.flows(battery)
        )

    def of_one_amp(self, node: str, meter: Meter) -> Fraction | None:
        """What passes a meter of one ampere drawn at a node; None is not known."""
        key = node, meter.at
        if key not in self._measured:
            if node not in self._ones:
                self._ones[node] = Amps(self.net, {}, {}, {node: Fraction(1)}, {})
            self._measured[key] = meter.measured(self._ones[node])[0]
        return self._measured[key]

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

    def sharing_error(self, meter: Meter, shared: frozenset[str]) -> Fraction:
        """How far a meter is off, A, while sources do not share these nodes by rating.

        What passes a branch varies with the sources on one side of it, and no more than those on
        the other can make up for.
        """
        key = meter.at, shared
        if key not in self._errors:
            self._errors[key] = self._sharing_error(meter, shared) if shared else NO_AMPS
        return self._errors[key]

    def _sharing_error(self, meter: Meter, shared: frozenset[str]) -> Fraction:
        sharing = self.net.sharing

        def error(sources: Iterable[str]) -> Fraction:
            rated = (exact(sharing.network.sources[s].amps or 0) for s in sources)
            return sum(rated, NO_AMPS) * SHARING_ERROR

        along, against = set(), set()
        converters: set[str] = set()
        for node in shared:
            carriers = sharing.carriers(node).keys()
            converters |= carriers & sharing.inputs.keys()
            along |= carriers & {meter.at}
            passages = self._passages(node)
            uses = [(s, p) for b in meter.branches for s, p in passages.get(b, ())]
            # Of what all passes here, however it is shared, nothing varies.
            if uses and len({s for s, _ in uses}) < len(carriers):
                along |= {s for s, p in uses if p.along}
                against |= {s for s, p in uses if p.against}
        off = min((error(sources) for sources in (along, against) if sources), default=NO_AMPS)
        # What a converter gives more or less than its share, it takes more or less.
        for converter in converters:
            for origin, taken in sharing.inputs[converter].items():
                of_one = self.of_one_amp(origin, meter) or NO_AMPS
                off += abs(of_one) * taken * error([converter])
        return off


@dataclass(frozen=True)
class Variations:
    """What varies in one state of a healthy aircraft."""

    amps: Amps
    at_range_ends: tuple[Amps, ...]
    """The same with sources at the ends of their `volts-range`, where that changes any amps."""
    of_net: NetVariations

    def flow(self, meter: Meter, computed: Fraction) -> Flow | None:
        """What a meter may show, around the amps computed there; None is not known."""
        least = most = computed
        for amps in self.at_range_ends:
            measured, _ = meter.measured(amps)
            if measured is None:
                return None
            least, most = min(least, measured), max(most, measured)
        for battery, ends in self.of_net.charging.items():
            of_one = self.of_net.of_one_amp(battery, meter)
            if of_one is None:
                return None
            if meter.at == battery:
                of_one -= 1
            least += min(of_one * end for end in ends)
            most += max(of_one * end for end in ends)
        error = self.of_net.sharing_error(meter, self._shared)
        # Sharing leaves a source with nothing at the least, and turns no current round.
        low = max(least - error, NO_AMPS) if least >= 0 else least - error
        high = min(most + error, NO_AMPS) if most <= 0 and least < 0 else most + error
        return Flow(computed, low, high)

    @cached_property
    def _shared(self) -> frozenset[str]:
        """The nodes that several sources feed with something."""
        fed = self.amps.taken.keys() | self.of_net.charged_through
        carriers = self.amps.net.sharing.carriers
        return frozenset(n for n in fed if len(carriers(n)) > 1)


@lru_cache(maxsize=8)
def _with_a_meter(network: Network) -> frozenset[int]:
    """The numbers of the branches in which a loadmeter or ammeter is."""
    meters = {i.at for i in network.catalogue.indications if i.kind in LOAD_METERS}
    return frozenset(k for k, b in enumerate(network.branches) if not meters.isdisjoint(b.through))


def variations(power: Power, states: Sequence[Amps]) -> list[Variations]:
    """What varies in states, each that of the scenario with its number."""
    of_nets: dict[int, NetVariations] = {}
    return [
        Variations(
            amps,
            tuple(_at_range_ends(power, amps, scenario)),
            of_nets.setdefault(id(amps.net), NetVariations(amps.net)),
        )
        for scenario, amps in enumerate(states)
    ]


def _at_range_ends(power: Power, amps: Amps, scenario: int) -> Iterator[Amps]:
    network, sharing = power.steady.network, amps.net.sharing
    carrying = {s for node in sharing.state.nodes.values() for s in node.carriers}
    following = {i: live for i, live in amps.powered.items() if i in network.follow_volts}
    if carrying.isdisjoint(network.millivolt_ranges) or not (following or sharing.inputs):
        return
    ends: tuple[RangeEnd, RangeEnd] = (0, 1)
    for end in ends:
        volts = volts_at_range_end(power, scenario, end)
        if volts is None or all(volts[n] == sharing.millivolts(n) for n in network.nodes):
            continue
        moved = Sharing(network, sharing.state, sharing.column, volts)
        net = NetState(moved, amps.net.topology, amps.net.everywhere, amps.net.diode_volts)
        others = amps.with_supplies(dict.fromkeys(following))
        yield replace(others, net=net).with_supplies(following)


def volts_at_range_end(power: Power, scenario: int, end: RangeEnd) -> Mapping[str, int] | None:
    """By node, what amps follow with sources at an end of their range, mV; None: the same."""
    network = power.steady.network
    moved = {s: span[end] - network.millivolts[s] for s, span in network.millivolt_ranges.items()}
    if not moved:
        return None
    found = {}
    for node in network.nodes:
        offered = [
            level + moved.get(source, 0)
            for source, mask in power.carriers[node].items()
            if mask >> scenario & 1
            for level, where in power.offered[source][node]
            if where >> scenario & 1
        ]
        found[node] = max([0, *offered])
    return found
