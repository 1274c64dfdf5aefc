"""Bounds for what a source gives, in very many scenarios at once.

To know what a source gives in a scenario, its state has to be worked out; among a million scenarios
there are a hundred thousand states. Here amounts are added up by mask, as a whole number that has
one mask for each of its bits, so that a scenario costs next to nothing. The sums are bounds: what
is certainly drawn from the source, and the most that may be. Where they exclude a reading, it can't
be; where they don't, the state has to be asked.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from functools import cache, partial

from sitegen.answers.loads.net_variations import SHARING_ERROR
from sitegen.answers.node_states import column_masks
from sitegen.quantities import Fraction
from sitegen.reachable import reachable
from sitegen.solver.load_figures import exact
from sitegen.solver.network import Network
from sitegen.solver.power import SHARING_MILLIVOLTS, Power
from sitegen.solver.scenarios import union

STEPS = 64
"""Amps are counted in this part of an ampere, rounded away from what would exclude."""

Gains = list[tuple[int, Fraction]]
"""(scenarios, what the source gives there for an ampere drawn); what overlaps adds up."""


class Total:
    """A whole number in every scenario."""

    def __init__(self, every: int) -> None:
        self.every = every
        self.planes: list[int] = []
        """Number i: the scenarios in which bit i of the number is set."""

    def add(self, mask: int, amount: int) -> None:
        """Add an amount, 0 or more, in the scenarios of a mask."""
        carry, i = 0, 0
        while mask and (amount >> i or carry):
            if i == len(self.planes):
                self.planes.append(0)
            plane, addend = self.planes[i], mask if amount >> i & 1 else 0
            self.planes[i] = plane ^ addend ^ carry
            carry = plane & (addend | carry) | addend & carry
            i += 1

    def at_least(self, least: int) -> int:
        """The scenarios in which the number is that or more.

        Examples
        --------
        >>> total = Total(0b111)
        >>> total.add(0b011, 3), total.add(0b110, 2)
        (None, None)
        >>> [bin(total.at_least(n)) for n in (0, 3, 4, 9)]
        ['0b111', '0b11', '0b10', '0b0']
        """
        if least <= 0:
            return self.every
        if least >> len(self.planes):
            return 0
        above, equal = 0, self.every
        for i in reversed(range(len(self.planes))):
            if least >> i & 1:
                equal &= self.planes[i]
            else:
                above |= equal & self.planes[i]
                equal &= ~self.planes[i]
        return above | equal


Masks = Mapping[str, int]
"""Scenarios, by source."""


class _NotBounded(Exception):
    """A converter may feed its own input, or has an input without volts."""


def possible_amps(power: Power, source: str, least: Fraction, most: Fraction) -> int:
    """The scenarios in which a source may give between `least` and `most` amps.

    Those in which something with no figure draws are among them, and those in which the source is
    a battery that charges, if it might give `least`.

    Parameters
    ----------
    power : the scenarios in steady state.
    source : its id.
    least, most : A; what a healthy aircraft may show, as in `meter_bands`, reaches into this.
    """
    try:
        return _Bounds(power, source).between(least, most)
    except _NotBounded:
        return power.steady.setting.all


def charges(power: Power, battery: str) -> int:
    """The scenarios in which a battery may take charge from other sources."""
    if not power.steady.network.sources[battery].charge_amps:
        return 0
    may, always = carrying(power, battery)
    held_up = union(mask for s, mask in may.items() if s != battery) & ~always.get(battery, 0)
    return power.steady.produces[battery] & held_up


def carrying(power: Power, node: str) -> tuple[Masks, Masks]:
    """By source, the scenarios in which it may carry a node, and those in which it always does.

    Each source is anywhere in its `volts-range`, by itself.
    """
    network = power.steady.network
    offered = {s: nodes[node] for s, nodes in power.offered.items() if nodes[node]}
    if network.millivolt_ranges.keys().isdisjoint(offered):
        return power.carriers[node], power.carriers[node]

    def end(source: str, level: int, which: int) -> int:
        return max(level + network.millivolt_changes.get(source, (0, 0))[which], 0)

    def offers(which: int, without: str = "") -> dict[int, int]:
        """By mV with the sources at one end, where some source offers that."""
        found: dict[int, int] = {}
        for source, levels in offered.items():
            for level, where in levels if source != without else ():
                volts = end(source, level, which)
                found[volts] = found.get(volts, 0) | where
        return found

    may, always = {}, {}
    lowest, highest = offers(0), offers(1)
    for source, levels in offered.items():
        # Of itself a source is never too far below, unless it is what moves.
        others = offers(1, source) if source in network.millivolt_ranges else highest
        may[source] = always[source] = 0
        for level, where in levels:
            most, least = (end(source, level, which) + SHARING_MILLIVOLTS for which in (1, 0))
            may[source] |= where & ~union(at for volts, at in lowest.items() if volts > most)
            always[source] |= where & ~union(at for volts, at in others.items() if volts > least)
    return may, always


class _Bounds:
    def __init__(self, power: Power, source: str) -> None:
        self.power = power
        self.source = source
        self.network: Network = power.steady.network
        self.every = power.steady.setting.all
        self.moved = self.network.millivolt_changes
        self.carrying = cache(partial(carrying, power))
        self.direct = cache(self._direct)
        self.through = cache(self._through)
        inputs = self.network.inputs
        upstream = {
            converter: {s for b in branches for s in self.may(b.origin) if s in inputs}
            for converter, branches in inputs.items()
        }
        if any(c in reachable(upstream, others) for c, others in upstream.items()):
            raise _NotBounded
        for converter in inputs:
            self.through(converter)

    def may(self, node: str) -> Masks:
        """By source that may carry a node: where."""
        return {s: mask for s, mask in self.carrying(node)[0].items() if mask}

    def _varying(self, node: str) -> int:
        """Where it depends on the volts of the sources who carries a node, or how they divide it is
        not known: one has no rating, or its power does not reach the terminals of another.
        """
        may, always = self.carrying(node)
        varying = 0 if may is always else union(mask & ~always[s] for s, mask in may.items())
        for source, mask in may.items():
            for other, too in may.items() if len(may) > 1 else ():
                if other != source:
                    rated = self.network.sources[source].amps
                    joined = self.power.reach[source].get(other, 0) if rated else 0
                    varying |= mask & too & ~joined
        return varying

    def certain(self, node: str) -> Gains:
        """The source's part of what is drawn at a node, where the same always carry it."""
        varying = self._varying(node)
        direct = self.direct(node, self.source)
        return [(mask & ~varying, part) for mask, part in direct if mask & ~varying]

    def _direct(self, node: str, source: str) -> Gains:
        """The most of what is drawn at a node that a source gives: by who carries it with it."""
        sources, masks, varying = self.network.sources, self.may(node), self._varying(node)
        classes: list[tuple[int, tuple[str, ...]]] = [(masks.get(source, 0), (source,))]
        for other, mask in masks.items():
            if other != source:
                split = [((m & mask, (*c, other)), (m & ~mask, c)) for m, c in classes]
                classes = [one for both in split for one in both if one[0]]
        found = []
        for mask, carrying in classes:
            # Those without a rating carry it alone, or it varies.
            weights = [exact(sources[s].amps or 1) for s in carrying]
            if mask & ~varying:
                found.append((mask & ~varying, weights[0] / sum(weights)))
        if masks.get(source, 0) & varying:
            found.append((masks[source] & varying, Fraction(1)))
        return found

    def _least_volts(self, node: str, source: str) -> int:
        """The least volts that a node may have where a source carries it, mV."""
        levels = [level for level, _ in self.power.offered[source][node]]
        least = min(levels, default=0) + min(0, self.moved.get(source, (0, 0))[0])
        if least <= 0:
            raise _NotBounded
        return least

    @property
    def _most_volts(self) -> int:
        """The most volts that any node may have, mV."""
        return max(
            volts + max(0, self.moved.get(s, (0, 0))[1])
            for s, volts in self.network.millivolts.items()
            if s in self.network.sources
        )

    def _through(self, converter: str) -> Gains:
        """The most that the source gives for an ampere that a converter gives."""
        record = self.network.sources[converter]
        most = self.network.millivolts[converter] + max(0, self.moved.get(converter, (0, 0))[1])
        output = most / exact(record.efficiency)
        found = []
        for branch in self.network.inputs[converter]:
            on = self.power.steady.live[branch.origin]
            diodes = sum(self.network.millivolts[d] for d in branch.diodes)
            for device in branch.through:
                on &= self.power.steady.conducts[device]
            for carrier, gains in self._by_carrier(branch.origin):
                for mask, part in gains:
                    if mask & on:
                        left = self._least_volts(branch.origin, carrier) - diodes
                        if left <= 0:
                            raise _NotBounded
                        taken = output / left
                        found.append((mask & on, part * taken))
        return found

    def _by_carrier(self, node: str) -> Iterable[tuple[str, Gains]]:
        yield self.source, self.direct(node, self.source)
        for carrier in self.may(node):
            if carrier != self.source and self.network.sources[carrier].kind == "converter":
                direct = self.direct(node, carrier)
                yield (
                    carrier,
                    [
                        (mask & other, part * more)
                        for mask, part in direct
                        for other, more in self.through(carrier)
                        if mask & other
                    ],
                )

    def gains(self, node: str) -> Gains:
        """The most that the source gives for an ampere drawn at a node."""
        return [one for _, gains in self._by_carrier(node) for one in gains]

    def _factors(self, item: str, bus: str) -> tuple[Fraction, Fraction]:
        """By what volts multiply the amps of an item that the source feeds: least and most."""
        taken_at = self.network.load_millivolts
        follows = item in self.network.follow_volts and bus in self.network.dc_nodes
        if not follows or taken_at is None:
            return Fraction(1), Fraction(1)
        low = min((self._least_volts(bus, s) for s in self.may(bus)), default=taken_at)
        ends = Fraction(low, taken_at), Fraction(self._most_volts, taken_at)
        resistive = self.network.equipment[item].load == "resistive"
        return ends if resistive else (1 / ends[1], 1 / ends[0])

    def between(self, least: Fraction, most: Fraction) -> int:
        """See `possible_amps`."""
        power, network, every = self.power, self.network, self.every
        at_most, certain = Total(every), Total(every)
        # What AC sources in conflict give is not known, nor what feeds them.
        unknown = union(power.conflicts.values())
        drawn: dict[tuple[str, int], tuple[Fraction, Fraction]] = {}

        def draws(bus: str, mask: int, low: Fraction, high: Fraction) -> None:
            if mask:
                before = drawn.get((bus, mask), (Fraction(), Fraction()))
                drawn[bus, mask] = before[0] + low, before[1] + high

        for column, here in column_masks(power).items():
            for item, figure in network.figures[column, False].items():
                fed = [mask & here & ~power.shed.get(item, 0) for mask in power.fed[item]]
                buses = [connection.bus for connection in network.connections[item]]
                each = network.supply_figures.get((item, column), ())
                if network.equipment[item].needs == "all":
                    fed = [_all(fed)] * len(fed)
                if figure is None:
                    unknown |= union(fed)
                elif figure and (len(fed) == 1 or sum(each)):
                    for bus, mask, amps in zip(buses, fed, each or (figure,), strict=True):
                        low, high = self._factors(item, bus)
                        draws(bus, mask, amps * low, amps * high)
                elif figure:
                    self._one_of_several(item, figure, buses, fed, at_most, certain)
        for battery, record in network.sources.items():
            if battery != self.source and record.charge_amps:
                mask = charges(power, battery)
                draws(battery, mask, Fraction(), exact(record.charge_amps[1]))
        for (bus, mask), (low, high) in drawn.items():
            for where, part in self.gains(bus):
                at_most.add(mask & where, math.ceil(part * high * STEPS))
            for where, part in self.certain(bus):
                certain.add(mask & where, math.floor(part * low * STEPS))
        shared, error = self._sharing(at_most)
        over = certain.at_least(math.floor(most * STEPS) + 1)
        over &= ~shared | certain.at_least(math.floor((most + error) * STEPS) + 1)
        over &= ~charges(power, self.source)
        return at_most.at_least(math.floor(least * STEPS)) & ~over | unknown

    def _one_of_several(
        self,
        item: str,
        figure: Fraction,
        buses: list[str],
        fed: list[int],
        at_most: Total,
        certain: Total,
    ) -> None:
        """What an item with several supplies draws, from some of them."""
        factors = [self._factors(item, bus) for bus in buses]
        supplies = list(zip(buses, fed, factors, strict=True))
        highest = [
            (part * high, mask & where)
            for bus, mask, (_, high) in supplies
            for where, part in self.gains(bus)
        ]
        by_converter = any(
            self.network.sources[s].kind == "converter" for bus in buses for s in self.may(bus)
        )
        covered = 0
        for part, mask in sorted(highest, reverse=True):
            at_most.add(mask & ~covered, math.ceil(part * figure * STEPS))
            # Of several buses of this source the item does not draw more than from the best of
            # them; through converters the source may give more at one of them.
            covered |= 0 if by_converter else mask
        lowest = [
            (part * low, mask & where)
            for bus, mask, (low, _) in supplies
            for where, part in self.certain(bus)
        ]
        covered = union(
            mask & ~union(where for where, _ in self.certain(bus)) for bus, mask, _ in supplies
        )
        for part, mask in sorted(lowest):
            certain.add(mask & ~covered, math.floor(part * figure * STEPS))
            covered |= mask

    def _sharing(self, at_most: Total) -> tuple[int, Fraction]:
        """Where sources share what this one feeds, and the most that this takes off what it gives.

        What it may give more is added to the most.
        """
        total = Fraction()
        everywhere = 0
        for source, record in self.network.sources.items():
            error = exact(record.amps or 0) * SHARING_ERROR
            shared = union(
                of_node.get(source, 0)
                & union(mask for other, mask in of_node.items() if other != source)
                for of_node in map(self.may, self.network.nodes)
            )
            if source == self.source:
                gains: Gains = [(shared, Fraction(1))]
            elif record.kind == "converter" and shared:
                gains = [(mask & shared, part) for mask, part in self.through(source)]
            else:
                continue
            for mask, part in gains:
                at_most.add(mask, math.ceil(part * error * STEPS))
                total += part * error
                everywhere |= mask
        return everywhere, total


def _all(masks: Iterable[int]) -> int:
    found = -1
    for mask in masks:
        found &= mask
    return max(found, 0)
