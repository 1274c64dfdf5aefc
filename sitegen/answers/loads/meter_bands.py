"""How far a loadmeter or ammeter may be from what is computed, in a healthy aircraft.

Four things vary while nothing has failed: the volts of each source within its `volts-range`, and
with them who carries what (`anywhere_in_range`) and the amps that follow volts; what a battery
takes to charge, its `charge-amps`, which is a load at its terminals while others hold these up; how
sources divide a load that they share, each by a tenth of its rating, or in any way where one of
them has none; and how much of what it draws an item, or a converter, takes from each of several
buses no further apart than sources that share: all of it, or none. Charging, sharing and dividing
are those of each state of the volts; a meter may show anything from the least to the most over all
of these. No switching device moves with any of it.

Meters of several sources are asked together too: what these give in all varies less than each.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import NamedTuple

from sitegen.answers.loads.anywhere_in_range import in_range
from sitegen.answers.loads.net_state import NetState
from sitegen.answers.loads.sharing import Parts, added, several_supplies, times
from sitegen.answers.loads.simple_paths import Passage
from sitegen.answers.loads.state_amps import NO_AMPS, Amps
from sitegen.catalogue.kinds import LOAD_METERS
from sitegen.quantities import Fraction
from sitegen.solver.load_figures import exact
from sitegen.solver.network import Network

SHARING_ERROR = Fraction(1, 10)
"""By this part of its rating a source may be off its share. Common practice, no source."""


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


class Errors(NamedTuple):
    """How far meters are off while sources do not share by rating."""

    off: Fraction
    """By what these give, A."""
    of_converters: list[tuple[Fraction, Fraction]]
    """By what converters take: (how much meters show of an ampere that one gives, how many it may
    give more or less than its share, A).
    """


class _OfOneAmp(dict[str, "Fraction | None"]):
    """By node, what passes meters of one ampere drawn there, worked out when it is asked for."""

    def __init__(self, net: NetVariations, meters: Meters) -> None:
        super().__init__()
        self._net, self._meters = net, meters

    def __missing__(self, node: str) -> Fraction | None:
        self[node] = measured_by(self._meters, self._net.one_amp(node))
        return self[node]


@dataclass(frozen=True)
class NetVariations:
    """What varies in one state of the net, every source at certain volts, whatever equipment draws.

    It is worked out when it is asked for.
    """

    net: NetState
    _ones: dict[str, Amps] = field(default_factory=dict)
    _from: dict[str, dict[str, dict[int, Passage]]] = field(default_factory=dict)
    _through: dict[str, dict[int, list[tuple[str, Passage]]]] = field(default_factory=dict)
    _measured: dict[Meters, _OfOneAmp] = field(default_factory=dict)
    _errors: dict[tuple[Meters, frozenset[str]], Errors] = field(default_factory=dict)

    @cached_property
    def moved(self) -> list[NetVariations]:
        """The same with sources elsewhere in their `volts-range`; of the net at nominal volts."""
        return [NetVariations(net, _from=self._from) for net in in_range(self.net)]

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

    def metered_inputs(self, converter: str, meter: Meter) -> set[str]:
        """The nodes from which a converter takes what it does through the meter."""
        inputs = self.net.inputs
        return {node for c, n, node, _, _ in inputs if c == converter and n in meter.branches}

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

    def sharing_error(self, meters: Meters, shared: frozenset[str]) -> Errors:
        """How far meters are off while sources do not share these nodes by rating.

        What passes a branch varies with the sources on one side of it, and no more than those on
        the other can make up for; what several sources give, with these and the others.
        """
        key = meters, shared
        if key not in self._errors:
            self._errors[key] = self._sharing_error(meters, shared)
        return self._errors[key]

    def _sharing_error(self, meters: Meters, shared: frozenset[str]) -> Errors:
        sharing = self.net.sharing
        together = {m.source for m in meters} if len(meters) > 1 else set()

        def error(sources: Iterable[str]) -> Fraction:
            rated = (exact(sharing.network.sources[s].amps or 0) for s in sources)
            return sum(rated, NO_AMPS) * SHARING_ERROR

        along, against = set(), set()
        converters: set[str] = set()
        for node in shared:
            carriers = sharing.carriers(node).keys()
            converters |= carriers & sharing.inputs.keys()
            if together:
                # What they share among themselves does not vary; with others, no more than those.
                against |= carriers - together if carriers & together else set()
                continue
            [meter] = meters
            along |= carriers & {meter.at}
            passages = self._passages(node)
            uses = [(s, p) for b in meter.branches for s, p in passages.get(b, ())]
            # Of what all passes here, however it is shared, nothing varies.
            if uses and len({s for s, _ in uses}) < len(carriers):
                along |= {s for s, p in uses if p.along}
                against |= {s for s, p in uses if p.against}
        off = min((error(sources) for sources in (along, against) if sources), default=NO_AMPS)
        of_converters = []
        # What a converter gives more or less than its share, it takes more or less.
        for converter in converters:
            for origin, taken in sharing.inputs[converter].items():
                of_one = self.of_one_amp(meters)[origin] or NO_AMPS
                of_one += sum(origin in self.metered_inputs(converter, m) for m in meters)
                of_converters.append((abs(of_one) * taken, error([converter])))
        return Errors(off, of_converters)


@dataclass(frozen=True)
class AtVolts:
    """What flows, and what varies, with every source at certain volts."""

    amps: Amps
    of_net: NetVariations

    def ends(self, meters: Meters) -> tuple[Fraction, Fraction] | None:
        """The least and the most that meters may show; None is not known."""
        computed = measured_by(meters, self.amps)
        if computed is None:
            return None
        least = most = computed
        of_one_amp = self.of_net.of_one_amp(meters)
        for battery, ends in self.of_net.charging.items():
            of_one = of_one_amp[battery]
            if of_one is None:
                return None
            of_one -= sum(m.at == battery for m in meters)
            least += min(of_one * end for end in ends)
            most += max(of_one * end for end in ends)
        passing: Parts = {}
        for node in self._dividing:
            of_one = of_one_amp[node]
            if of_one is None:
                return None
            if of_one:
                passing[node] = of_one
        for taken, each in self.divided if passing else ():
            now = [amps * passing[n] for n, amps in taken.items() if n in passing]
            all_from = [amps * passing[n] for n, amps in each.items() if n in passing]
            if now or all_from:
                if len(all_from) < len(each):
                    all_from.append(NO_AMPS)
                least += min(all_from) - sum(now, NO_AMPS)
                most += max(all_from) - sum(now, NO_AMPS)
        for drawn, if_all in self._own_feeds(meters):
            least += min(if_all) - drawn
            most += max(if_all) - drawn
        less, more = self._sharing_error(meters)
        # Sharing leaves a source with nothing at the least, and turns no current round.
        low = max(least - less, NO_AMPS) if least >= 0 else least - less
        high = min(most + more, NO_AMPS) if most <= 0 and least < 0 else most + more
        return low, high

    def _own_feeds(self, meters: Meters) -> Iterator[tuple[Fraction, list[Fraction]]]:
        """Of meters in feeds of a converter that may take all from any of several nodes: what they
        show of it, and what they would with all of it from each, A.
        """
        sharing = self.of_net.net.sharing
        for converter, inputs in sharing.inputs.items():
            given, each = self.amps.sources[converter], sharing.any_input(converter)
            for meter in meters if given and each else ():
                here = self.of_net.metered_inputs(converter, meter)
                if here:
                    now = given * sum((inputs.get(n, NO_AMPS) for n in here), NO_AMPS)
                    yield now, [given * p if n in here else NO_AMPS for n, p in each.items()]

    def _sharing_error(self, meters: Meters) -> tuple[Fraction, Fraction]:
        """By how much meters may show less, and more, while sources do not share by rating, A.

        No source gives less than nothing of what it shares, or more than all of it.
        """
        if not self._shared:
            return NO_AMPS, NO_AMPS
        off, of_converters = self.of_net.sharing_error(meters, self._shared)
        taken = [amps for node, amps in self.amps.taken.items() if node in self._shared]
        varying = [most for _, most in self.of_net.charging.values()]
        for _, each in self.divided:
            varying.append(max((a for n, a in each.items() if n in self._shared), default=NO_AMPS))
        own = all_of_it = sum((*taken, *varying), NO_AMPS)
        others = all_of_it
        [meter, *more] = meters
        if not (more or meter.branches):
            here = (
                a for (s, n), a in self.amps.flows.items() if s == meter.at and n in self._shared
            )
            share = sum(here, NO_AMPS)
            own, others = share + sum(varying, NO_AMPS), all_of_it - share
        besides = sum((part * min(error, all_of_it) for part, error in of_converters), NO_AMPS)
        return min(off, own) + besides, min(off, others) + besides

    @cached_property
    def divided(self) -> list[tuple[Parts, Parts]]:
        """Of what may draw from several nodes: what it draws, and what from each if all there, A.

        By node. Where one supply is enough, and the nodes are no further apart than sources that
        share, any of them may supply all of it.
        """
        net, amps = self.of_net.net, self.amps
        found = []
        for item in several_supplies(net.sharing.network):
            figure, live = amps.figures[item], amps.powered.get(item, ())
            each = net.sharing.any_supply(item, live) if figure else {}
            if figure and each:
                taken: Parts = {}
                for node, part in net.sharing.draws(item, live):
                    added(taken, node, part or NO_AMPS)
                found.append((times(figure, taken), times(figure, each)))
        for converter, inputs in net.sharing.inputs.items():
            each = net.sharing.any_input(converter)
            if each and amps.sources[converter]:
                given = amps.sources[converter]
                found.append((times(given, inputs), times(given, each)))
        return found

    @cached_property
    def _dividing(self) -> frozenset[str]:
        """The nodes from which any of it draws, or may."""
        return frozenset(node for parts in self.divided for of in parts for node in of)

    @cached_property
    def _shared(self) -> frozenset[str]:
        """The nodes that several sources feed with something."""
        fed = self.amps.taken.keys() | self.of_net.charged_through
        fed |= {node for _, each in self.divided for node in each}
        carriers = self.amps.net.sharing.carriers
        return frozenset(n for n in fed if len(carriers(n)) > 1)

    def moved(self, of_net: NetVariations) -> AtVolts:
        """The same supplies live, with the sources at other volts."""
        return AtVolts(self.amps.at_volts(of_net.net), of_net)


@dataclass(frozen=True)
class Variations:
    """What varies in one state of a healthy aircraft."""

    nominal: AtVolts
    _flows: dict[Meters, Flow | None] = field(default_factory=dict)

    @cached_property
    def states(self) -> tuple[AtVolts, ...]:
        """At nominal volts, and with sources elsewhere in their `volts-range`."""
        return self.nominal, *map(self.nominal.moved, self.nominal.of_net.moved)

    def flow(self, *meters: Meter) -> Flow | None:
        """What flows at a meter, and what it may show in any of the states; None is not known.

        Of several the sum.
        """
        if meters not in self._flows:
            self._flows[meters] = self._flow(meters)
        return self._flows[meters]

    def _flow(self, meters: Meters) -> Flow | None:
        computed = measured_by(meters, self.nominal.amps)
        least, most = [], []
        for state in self.states if computed is not None else ():
            ends = state.ends(meters)
            if ends is None:
                return None
            least.append(ends[0])
            most.append(ends[1])
        return None if computed is None else Flow(computed, min(least), max(most))


@lru_cache(maxsize=8)
def _with_a_meter(network: Network) -> frozenset[int]:
    """The numbers of the branches in which a loadmeter or ammeter is."""
    meters = {i.at for i in network.catalogue.indications if i.kind in LOAD_METERS}
    return frozenset(k for k, b in enumerate(network.branches) if not meters.isdisjoint(b.through))


@dataclass(frozen=True)
class KnownVariations:
    """What varies in states of one network, by the identity of each: it is in here as well."""

    of_nets: dict[int, NetVariations] = field(default_factory=dict)
    of_states: dict[int, Variations] = field(default_factory=dict)


def variations(states: Sequence[Amps], known: KnownVariations | None = None) -> list[Variations]:
    """What varies in states.

    Parameters
    ----------
    known : what has been worked out of these states before, and is added to.
    """
    known = known or KnownVariations()
    for amps in states:
        if id(amps) not in known.of_states:
            if id(amps.net) not in known.of_nets:
                known.of_nets[id(amps.net)] = NetVariations(amps.net)
            varying = Variations(AtVolts(amps, known.of_nets[id(amps.net)]))
            known.of_states[id(amps)] = varying
    return [known.of_states[id(amps)] for amps in states]
