"""How far a loadmeter or ammeter may be from what is computed, in a healthy aircraft.

Three things vary while nothing has failed: the volts of a source within its `volts-range`, and with
them the amps that follow volts; what a battery takes to charge, its `charge-amps`, which is a load
at its terminals while others hold these up; and how sources divide a load that they share, each by
a tenth of its rating. No switching device moves with any of these.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal, NamedTuple

from sitegen.answers.loads.sharing import Sharing
from sitegen.answers.loads.state_amps import NO_AMPS, Amps, NetState
from sitegen.quantities import Fraction
from sitegen.solver.load_figures import exact
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
class Variations:
    """What varies in one state of a healthy aircraft."""

    amps: Amps
    at_range_ends: tuple[Amps, ...]
    """The same with sources at the ends of their `volts-range`, where that changes any amps."""
    _one_amp_at: dict[str, Amps] = field(default_factory=dict)

    def flow(self, meter: Meter) -> Flow | None:
        """What a meter may show; None is not known."""
        figures = [meter.measured(amps)[0] for amps in (self.amps, *self.at_range_ends)]
        known = [figure for figure in figures if figure is not None]
        if len(known) < len(figures):
            return None
        least, most = min(known), max(known)
        for battery, ends in self._charging.items():
            of_one = self._of_one_amp(battery, meter)
            if of_one is None:
                return None
            if meter.at == battery:
                of_one -= 1
            least += min(of_one * end for end in ends)
            most += max(of_one * end for end in ends)
        error = self._error(meter)
        # Sharing leaves a source with nothing at the least, and turns no current round.
        low = max(least - error, NO_AMPS) if least >= 0 else least - error
        high = min(most + error, NO_AMPS) if most <= 0 and least < 0 else most + error
        return Flow(known[0], low, high)

    @cached_property
    def _charging(self) -> dict[str, tuple[Fraction, Fraction]]:
        """By battery whose terminals others hold up: the least and the most that it takes, A."""
        sharing = self.amps.net.sharing
        found = {}
        for battery in sharing.producing:
            span, carriers = sharing.network.sources[battery].charge_amps, sharing.carriers(battery)
            if span and carriers and battery not in carriers:
                found[battery] = exact(span[0]), exact(span[1])
        return found

    @cached_property
    def _errors(self) -> dict[str, dict[str, Fraction]]:
        """By node that several sources feed with something: each with its sharing error, A."""
        sharing = self.amps.net.sharing
        fed = {node for (_, node), amps in self.amps.flows.items() if amps}
        for battery, (_, most) in self._charging.items():
            fed |= {node for _, node in sharing.flows(battery) if most}
        rated = {s.id: exact(s.amps or 0) for s in sharing.network.sources.values()}
        return {
            node: {source: rated[source] * SHARING_ERROR for source in carriers}
            for node in sorted(fed)
            if len(carriers := sharing.carriers(node)) > 1
        }

    def _error(self, meter: Meter) -> Fraction:
        """How far sources that do not share by rating put a meter off, A.

        What passes a branch varies with the sources on one side of it, and no more than those on
        the other can make up for.
        """
        sharing, between = self.amps.net.sharing, self.amps.net.topology.between
        sides: tuple[dict[str, Fraction], dict[str, Fraction]] = ({}, {})
        off = NO_AMPS
        for node, errors in self._errors.items():
            if meter.at in errors:
                sides[0][meter.at] = errors[meter.at]
            passing = {s: meter.branches & between(s, node).keys() for s in errors}
            if all(passing.values()):
                continue
            for source, numbers in passing.items():
                for passage in (between(source, node)[number] for number in numbers):
                    for side, used in zip(sides, (passage.along, passage.against), strict=True):
                        if used:
                            side[source] = errors[source]
        # What a converter gives more or less than its share, it takes more or less.
        for converter in {
            s for errors in self._errors.values() for s in errors if s in sharing.inputs
        }:
            error = exact(sharing.network.sources[converter].amps or 0) * SHARING_ERROR
            for origin, taken in sharing.inputs[converter].items():
                off += abs(self._of_one_amp(origin, meter) or NO_AMPS) * taken * error
        return off + min((sum(side.values(), NO_AMPS) for side in sides if side), default=NO_AMPS)

    def _of_one_amp(self, node: str, meter: Meter) -> Fraction | None:
        """What passes a meter of one ampere drawn at a node."""
        if node not in self._one_amp_at:
            net, figures = self.amps.net, self.amps.figures
            self._one_amp_at[node] = Amps(net, figures, {}, {node: Fraction(1)}, {})
        return meter.measured(self._one_amp_at[node])[0]


def variations(power: Power, amps: Amps, scenario: int) -> Variations:
    """What varies in a state that holds in this scenario, among others."""
    return Variations(amps, tuple(_at_range_ends(power, amps, scenario)))


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
        net = NetState(moved, amps.net.topology, amps.net.everywhere)
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
