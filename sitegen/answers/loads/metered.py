"""What loadmeters and ammeters read: amps in every scenario at once.

The rules are those of `sharing.py`. One amp drawn at a node loads the metered place by a share that
depends only on which sources reach the node, so it has few values, each in a mask of scenarios.
Every item's amps times these shares are added up in `sliced_numbers.py`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from sitegen.answers.loads.sliced_numbers import (
    STEPS_IN_AN_AMP,
    Digits,
    add_up,
    add_up_numbers,
    at_least,
    constant,
    numbers,
)
from sitegen.solver.graph import backwards, masked_arcs, spread
from sitegen.solver.network import Branch
from sitegen.solver.power import Power

Shares = Sequence[tuple[float, int]]
"""(amps at the metered place for each amp drawn somewhere, scenarios); the masks may overlap, and
then add up."""


@dataclass(frozen=True)
class Metered:
    """Amps at one place in every scenario."""

    along: Digits
    """What flows along the feeder, or out of the source, in steps."""
    against: Digits
    """What flows in the other direction; the meter reads the difference."""
    unsure: int
    """The scenarios whose amps are not known: an item without a figure draws through here, the
    current has several paths, or a converter feeds its own input."""
    every: int

    def amps(self, count: int) -> list[float]:
        """By scenario, the size of the current, A; of unsure scenarios it means nothing."""
        return [abs(amps) for amps in self.flow(count)]

    def flow(self, count: int) -> list[float]:
        """By scenario, the current along the feeder, A; below zero it flows against it."""
        along, against = numbers(self.along, count), numbers(self.against, count)
        pairs = zip(along, against, strict=True)
        return [(one - other) / STEPS_IN_AN_AMP for one, other in pairs]

    @property
    def forwards(self) -> int:
        """The sure scenarios in which something flows along the feeder."""
        return self.every & ~at_least(self.against, self.along, self.every) & ~self.unsure

    def between(self, least: float, most: float) -> int:
        """The sure scenarios in which the size of the current is in this range, A."""
        low, high = constant(least, self.every), constant(most, self.every)
        small = self._not_over(high, self.along, self.against) & self._not_over(
            high, self.against, self.along
        )
        large = self.every
        if least > 0:
            large = self._over(low, self.along, self.against) | self._over(
                low, self.against, self.along
            )
        return small & large & ~self.unsure

    def _not_over(self, limit: Digits, one: Digits, other: Digits) -> int:
        """The scenarios in which one less the other is at most the limit."""
        return at_least(add_up_numbers(other, limit), one, self.every)

    def _over(self, limit: Digits, one: Digits, other: Digits) -> int:
        """The scenarios in which one less the other is at least the limit."""
        return at_least(one, add_up_numbers(other, limit), self.every)


@dataclass(frozen=True)
class Draws:
    """What equipment draws from which bus, in every scenario."""

    power: Power
    amps: Mapping[tuple[str, int], float]
    """By bus and mask of scenarios: what is drawn there in these, A; masks add up."""
    unknown: Mapping[str, int]
    """By bus: the scenarios in which an item without a figure draws there."""


def draws(power: Power) -> Draws:
    """What all equipment draws, each scenario by its condition's load column."""
    network = power.steady.network
    loads_of = {c.id: c.loads for c in network.catalogue.conditions}
    columns: dict[str | None, int] = {}
    for condition, mask in power.steady.setting.in_condition.items():
        column = loads_of[condition]
        columns[column] = columns.get(column, 0) | mask
    drawn: dict[tuple[str, int], float] = {}
    unknown: dict[str, int] = {}
    for item in network.equipment:
        if item in power.shed:
            continue
        figures = [(network.figures[column, False][item], mask) for column, mask in columns.items()]
        if not any(amps != 0 for amps, _ in figures):
            continue
        for bus, share, where in draws_from(power, item):
            for amps, mask in figures:
                here = where & mask
                if here and amps is None:
                    unknown[bus] = unknown.get(bus, 0) | here
                elif here and amps:
                    drawn[bus, here] = drawn.get((bus, here), 0.0) + amps * share
    return Draws(power, drawn, unknown)


def metered(drawn: Draws, at: str) -> Metered:
    """The amps at a source, or through the feeder that a device is in.

    Parameters
    ----------
    drawn : what equipment draws, in solved scenarios.
    at : a source's id, or a device's.
    """
    power = drawn.power
    network = power.steady.network
    if at in network.sources:
        place: _MeteredPlace = _AtSource(power, at)
    else:
        place = _InFeeder(power, [r for r in network.branches if at in r.through])
    shares = _SharesAt(power, place)
    along: dict[int, float] = {}
    against: dict[int, float] = {}
    unsure = 0
    for bus, here in drawn.unknown.items():
        unsure |= shares.touched(bus) & here
    for (bus, here), amps in drawn.amps.items():
        for share, mask in shares.of(bus):
            both = here & mask
            if both:
                side = along if share > 0 else against
                side[both] = side.get(both, 0.0) + amps * abs(share)
        unsure |= shares.unsure(bus) & here
    return Metered(add_up(along), add_up(against), unsure, power.steady.setting.all)


def draws_from(power: Power, item: str) -> Iterator[tuple[str, float, int]]:
    """(bus, share of the item's amps, scenarios): where an item draws, where it is powered."""
    connections = power.steady.network.connections[item]
    fed = power.fed[item]
    if power.steady.network.equipment[item].needs == "all":
        every = power.steady.setting.all
        for mask in fed:
            every &= mask
        fed = (every,) * len(fed)
    yield from highest_of(power, [c.bus for c in connections], fed)


def highest_of(
    power: Power, nodes: Sequence[str], fed: Sequence[int]
) -> Iterator[tuple[str, float, int]]:
    """(node, share, scenarios): equal parts from those of the nodes that show the highest volts.

    Parameters
    ----------
    power : the solved scenarios.
    nodes, fed : the nodes to draw from, and for each the scenarios in which it can be drawn from.
    """
    if len(nodes) == 1:
        if fed[0]:
            yield nodes[0], 1.0, fed[0]
        return
    rest = 0
    for mask in fed:
        rest |= mask
    levels = sorted({v for node in nodes for v, _ in power.volts[node]}, reverse=True)
    for level in levels:
        at_level = [dict(power.volts[n]).get(level, 0) & f for n, f in zip(nodes, fed, strict=True)]
        for chosen, mask in exactly_these(at_level, rest):
            for i in chosen:
                yield nodes[i], 1 / len(chosen), mask
        for mask in at_level:
            rest &= ~mask


def exactly_these(masks: Sequence[int], within: int) -> Iterator[tuple[tuple[int, ...], int]]:
    """(numbers of some masks, the scenarios in which just these hold), but not of none."""
    parts: list[tuple[tuple[int, ...], int]] = [((), within)]
    for number, mask in enumerate(masks):
        split = []
        for chosen, where in parts:
            if where & mask:
                split.append(((*chosen, number), where & mask))
            if where & ~mask:
                split.append((chosen, where & ~mask))
        parts = split
    yield from (part for part in parts if part[0])


class _MeteredPlace:
    """Where a meter is: whether current from a source to a node passes it."""

    def passing(self, source: str, node: str) -> tuple[int, int, int]:
        """(along, against, unsure): scenarios, if the source feeds what is drawn at the node."""
        raise NotImplementedError

    def at_input(self, converter: str) -> tuple[Branch, ...]:
        """The metered branches that lead into this converter's input."""
        return ()


class _AtSource(_MeteredPlace):
    """At one source: all that it gives."""

    def __init__(self, power: Power, source: str) -> None:
        self.every = power.steady.setting.all
        self.source = source

    def passing(self, source: str, node: str) -> tuple[int, int, int]:
        return (self.every if source == self.source else 0), 0, 0


class _InFeeder(_MeteredPlace):
    """In the branches that one device is in (`current_bounds.py` has the rule for each)."""

    def __init__(self, power: Power, branches: Sequence[Branch]) -> None:
        self.power = power
        self.branches = branches
        self.known: dict[tuple[str, str | None], Mapping[str, int]] = {}

    def passing(self, source: str, node: str) -> tuple[int, int, int]:
        along = against = unsure = 0
        if source == node:
            return along, against, unsure
        without = self._from(source, None)[node]
        for branch in self.branches:
            if branch.into_converter:
                continue
            conducts = self._mask(branch)
            near, far = branch.origin, branch.target
            forth = conducts & self._from(far, near)[node] & self._from(source, far)[near]
            back = backwards(branch, conducts, self.power.steady.setting.bypassed)
            if back:
                back &= self._from(near, far)[node] & self._from(source, near)[far]
            # With a path around the branch, how the current divides is not known; and of several
            # poles of one device, the meter shows the sum, which is not known either.
            unsure |= (forth | back) & without | forth & back
            unsure |= (along | against) & (forth | back)
            along |= forth
            against |= back
        # What passes several poles one after the other adds up as well.
        unsure |= self.power.reach[source][node] & ~(without | along | against)
        return along & ~unsure, against & ~unsure, unsure

    def at_input(self, converter: str) -> tuple[Branch, ...]:
        return tuple(r for r in self.branches if r.into_converter and r.target == converter)

    def _mask(self, branch: Branch) -> int:
        steady = self.power.steady
        return steady.branch_masks[steady.network.branches.index(branch)]

    def _from(self, start: str, without: str | None) -> Mapping[str, int]:
        """By node, where a path reaches it from `start` past the metered branches and one node."""
        key = (start, None if start == without else without)
        if key not in self.known:
            steady = self.power.steady
            masks = [
                0 if branch in self.branches else mask
                for branch, mask in zip(steady.network.branches, steady.branch_masks, strict=True)
            ]
            arcs = masked_arcs(steady.network, masks, steady.setting.bypassed, on_line=None)
            passes = dict(steady.passes)
            if key[1] is not None:
                passes[key[1]] = 0
            self.known[key] = spread({start: steady.setting.all}, arcs, passes)
        return self.known[key]


class _SharesAt:
    """By node, what an amp drawn there does to the metered place; worked out as asked for."""

    def __init__(self, power: Power, place: _MeteredPlace) -> None:
        self.power = power
        self.place = place
        self.found: dict[str, tuple[list[tuple[float, int]], int]] = {}
        self.open: list[str] = []
        """Nodes being worked out: to come back to one is a converter that feeds itself."""

    def of(self, node: str) -> Shares:
        return self._at(node)[0]

    def unsure(self, node: str) -> int:
        return self._at(node)[1]

    def touched(self, node: str) -> int:
        """The scenarios in which what is drawn at the node passes the metered place."""
        shares, unsure = self._at(node)
        for _, mask in shares:
            unsure |= mask
        return unsure

    def _at(self, node: str) -> tuple[list[tuple[float, int]], int]:
        if node in self.found:
            return self.found[node]
        self.open.append(node)
        shares: list[tuple[float, int]] = []
        unsure = 0
        network = self.power.steady.network
        carriers = self.power.carriers[node]
        sources = [network.sources[s] for s in carriers]
        every = self.power.steady.setting.all
        for chosen, mask in exactly_these(list(carriers.values()), every):
            ratings = [sources[i].amps for i in chosen]
            # Without every rating there is no proportion to go by: they share equally.
            weights = [r or 0.0 for r in ratings] if all(ratings) else [1.0] * len(chosen)
            for i, weight in zip(chosen, weights, strict=True):
                part = weight / sum(weights)
                more, doubt = self._from_source(sources[i].id, node, mask)
                shares += [(part * share, m) for share, m in more]
                unsure |= doubt
        self.open.pop()
        self.found[node] = _joined(shares), unsure
        return self.found[node]

    def _from_source(
        self, source: str, node: str, where: int
    ) -> tuple[list[tuple[float, int]], int]:
        along, against, unsure = self.place.passing(source, node)
        shares = [(1.0, along & where), (-1.0, against & where)]
        unsure &= where
        record = self.power.steady.network.sources[source]
        if record.kind == "converter":
            branches = [
                (branch, mask)
                for branch, mask in zip(
                    self.power.steady.network.branches, self.power.steady.branch_masks, strict=True
                )
                if branch.into_converter and branch.target == source
            ]
            fed = [
                mask & where & self.power.steady.live[branch.origin] for branch, mask in branches
            ]
            metered_inputs = self.place.at_input(source)
            parts = list(highest_of(self.power, [branch.origin for branch, _ in branches], fed))
            for origin, part, mask in parts:
                for volts, at_volts in self.power.volts[origin]:
                    here = mask & at_volts
                    if not here:
                        continue
                    if origin in self.open or not volts:
                        unsure |= here
                        continue
                    taken = part * record.volts / (record.efficiency * volts)
                    more, doubt = self._at(origin)
                    shares += [(taken * share, here & m) for share, m in more]
                    unsure |= doubt & here
                    own = [r for r in metered_inputs if r.origin == origin]
                    several = [r for r, _ in branches if r.origin == origin]
                    if own and len(several) == 1:
                        shares.append((taken, here))
                    elif own:
                        unsure |= here
        return [(share, mask) for share, mask in shares if mask], unsure


def _joined(shares: Iterable[tuple[float, int]]) -> list[tuple[float, int]]:
    """Shares of the same scenarios and the same direction, added up."""
    found: dict[tuple[bool, int], float] = {}
    for share, mask in shares:
        found[share > 0, mask] = found.get((share > 0, mask), 0.0) + share
    return [(share, mask) for (_, mask), share in found.items()]
