"""How far a loadmeter or ammeter may be from what is computed, in a healthy aircraft.

Four things vary while nothing has failed: the volts of each source within its `volts-range`, and
with them who carries what (`anywhere_in_range`) and the amps that follow volts; what a battery
takes to charge, its `charge-amps`, which is a load at its terminals while others hold these up; how
sources divide a load that they share, each by a tenth of its rating, or in any way where one of
them has none or they meet only through diodes (`net_variations`); and how much of what it draws an
item, or a converter, takes from each of several buses no further apart than sources that share: all
of it, or none. Charging, sharing and dividing are those of each state of the volts; a meter may
show anything from the least to the most over all of these. No switching device moves with any of
it.

Meters of several sources are asked together too: what these give in all varies less than each.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from sitegen.answers.loads.net_variations import (
    Ends,
    Meter,
    Meters,
    MoreOfOneAmp,
    NetVariations,
    measured_by,
)
from sitegen.answers.loads.sharing import Parts, added, several_supplies, times
from sitegen.answers.loads.state_amps import NO_AMPS, Amps
from sitegen.quantities import Fraction


class Flow(NamedTuple):
    """Amps at one place: along the feeder, or out of the source; below zero against it."""

    amps: Fraction
    """As computed: at nominal volts, shared by rating, without charging."""
    least: Fraction
    most: Fraction
    """What a healthy aircraft may show is between these two."""


@dataclass(frozen=True)
class AtVolts:
    """What flows, and what varies, with every source at certain volts."""

    amps: Amps
    of_net: NetVariations

    def ends(self, meters: Meters) -> Ends | None:
        """The least and the most that meters may show; None is not known."""
        computed = measured_by(meters, self.amps)
        of_one_amp = self.of_net.of_one_amp(meters)
        if computed is None or None in (of_one_amp[node] for node in self._varying):
            return None
        bounds = self.of_net.bounds(meters)
        ends = [self._ends(meters, computed, bound.of_one_amp) for bound in bounds]
        least = max(low - bound.less for (low, _), bound in zip(ends, bounds, strict=True))
        most = min(high + bound.more for (_, high), bound in zip(ends, bounds, strict=True))
        return least, most

    def _ends(self, meters: Meters, computed: Fraction, more: MoreOfOneAmp) -> Ends:
        """The least and the most, if meters show this more of an ampere than computed."""
        of_one_amp = self.of_net.of_one_amp(meters)
        ends = [computed, computed]
        for end, pick in enumerate((min, max)):
            for node, amps in self._drawn.items():
                if more[node][end]:
                    ends[end] += amps * more[node][end]
            shown = {n: (of_one_amp[n] or NO_AMPS) + more[n][end] for n in self._varying}
            for battery, span in self.of_net.charging.items():
                part = shown[battery] - sum(m.sign for m in meters if m.at == battery)
                ends[end] += pick(part * amps for amps in span)
            for _, each in self.divided:
                ends[end] += pick(amps * shown[node] for node, amps in each.items())
            for node, amps in self._divided_as_computed.items():
                ends[end] -= amps * shown[node]
        return ends[0], ends[1]

    @cached_property
    def divided(self) -> list[tuple[Parts, Parts]]:
        """Of equipment that may draw from several nodes: what it draws, and what from each if all
        there, A.

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
        return found

    @cached_property
    def _divided_as_computed(self) -> Parts:
        """By node: what all of that equipment draws there, A."""
        found: Parts = {}
        for taken, _ in self.divided:
            for node, amps in taken.items():
                added(found, node, amps)
        return found

    @cached_property
    def _drawn(self) -> Parts:
        """By node whose carriers are known, what equipment draws there of all that has a figure."""
        left_out = self.amps.net.not_shared
        return {n: amps for n, amps in self.amps.known.items() if amps and n not in left_out}

    @cached_property
    def _varying(self) -> frozenset[str]:
        """The nodes at which what is drawn varies, or is drawn elsewhere instead."""
        found = {node for parts in self.divided for of in parts for node in of}
        for converter, each in self.of_net.any_inputs.items():
            if self.amps.sources[converter]:
                found |= {*each, *self.of_net.net.sharing.inputs[converter]}
        return frozenset(found | self.of_net.charging.keys())

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

    @cached_property
    def apart(self) -> tuple[AtVolts, ...]:
        """The same with each source elsewhere by itself: the one with more, the other with less."""
        return self.nominal, *map(self.nominal.moved, self.nominal.of_net.moved_apart)

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
        states = self.apart if meters[1:] else self.states
        for state in states if computed is not None else ():
            ends = state.ends(meters)
            if ends is None:
                return None
            least.append(ends[0])
            most.append(ends[1])
        return None if computed is None else Flow(computed, min(least), max(most))


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
