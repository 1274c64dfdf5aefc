"""Voltage drop: what conductors, and a battery's own resistance, take of the volts in one state.

The drop of a conductor is its amps times its ohms (FAA AC 43.13-1B, Table 11-9: copper, 20 C; the
length as the catalogue has it, once). It is reported only, and changes no state: who carries what,
and what closes, stays as without it. Figures are exact fractions.

Volts at a bus
    Along any path the drops add up to the same difference (Kirchhoff's second law). So a bus has at
    least the volts of a source that carries it, less the source's sag and the drops along one path,
    of its sound diodes too; of several paths the one that leaves most says most. Where the amps are
    bounds, the most is used, and the volts are 'at least'. Where something draws an amount that is
    not known, the least is used, and the volts are 'at most'; so they are where a conductor has no
    length, which counts as no drop. A path on which all is known comes first. A path that carries
    nothing, since its diodes drop too much, says nothing, until as much is lost beside it.
    Where a source that carries nothing offers more than is left, it gives some, and the volts are
    'at least' these too.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from sitegen.answers.drop_limits import allowed_drop
from sitegen.answers.loads.net_state import Live
from sitegen.answers.loads.state_amps import NO_AMPS, Amps, CurrentBounds
from sitegen.quantities import Fraction, for_json
from sitegen.solver.load_figures import Figures, exact
from sitegen.solver.network import Network
from sitegen.solver.power import SHARING_MILLIVOLTS

NO_VOLTS = Fraction()
NEGLIGIBLE_VOLTS = Fraction(1, 200)
"""Volts that differ by less are the same."""
LEAST_MORE = Fraction(SHARING_MILLIVOLTS, 1000)
"""More than this is what a path that carries nothing drops more (`simple_paths`), V."""

_Arcs = dict[str, list[tuple[str, int]]]
"""By node: (node at the other end, number of the branch)."""
_PathDrop = tuple[bool, Fraction, bool]
"""(whether a figure is missing, drop in V, whether the drop is a bound)."""


@dataclass(frozen=True)
class WireDrop:
    """What drops along one conductor."""

    amps: Fraction
    volts: Fraction
    at_most: bool = False
    """The amps are the most that it may carry, or would if nothing else shared them."""
    at_least: bool = False
    """Something draws through it an amount that is not known: the amps are the least."""

    @property
    def bound(self) -> str:
        """What goes before its volts: `at least `, `at most `, or nothing."""
        return "at least " if self.at_least else "at most " if self.at_most else ""


@dataclass(frozen=True)
class VoltsUnderLoad:
    """What is left at a bus or at a piece of equipment, V."""

    volts: Fraction
    at_least: bool
    """Some of the amps on the way are the most that may flow."""
    at_most: bool
    """Something on the way has no length, or carries amps that are not known."""

    @property
    def bound(self) -> str:
        """What goes before them: `at least `, `at most `, `about ` if both, or nothing."""
        if self.at_least and self.at_most:
            return "about "
        return "at least " if self.at_least else "at most " if self.at_most else ""

    def less(self, drop: WireDrop | None) -> VoltsUnderLoad:
        """The same at the end of one more conductor; None is not known."""
        if drop is None:
            return VoltsUnderLoad(self.volts, self.at_least, True)
        volts = max(self.volts - drop.volts, NO_VOLTS)
        return VoltsUnderLoad(volts, self.at_least or drop.at_most, self.at_most or drop.at_least)


@dataclass(frozen=True)
class SupplyDrop:
    """One supply of a piece of equipment that has power through it."""

    item: str
    number: int
    """Of the supply."""
    bus: str
    continuous: WireDrop | None
    """Not known without length, gauge or amps."""
    short_time: WireDrop | None
    """Where the short-time amps are more."""
    at_item: VoltsUnderLoad
    """With continuous amps."""
    allowed: tuple[Fraction, Fraction] | None
    """Continuous and intermittent, V; None for a system that Table 11-6 does not have."""

    @property
    def highest(self) -> Fraction:
        """What drops at most, V; 0 where it is not known."""
        return max((d.volts for d in (self.continuous, self.short_time) if d), default=NO_VOLTS)

    @property
    def judged(self) -> list[tuple[WireDrop, Fraction | None]]:
        """The drop with continuous and with short-time amps, each with what is allowed."""
        drops = (self.continuous, self.short_time)
        pairs = zip(drops, self.allowed or (None, None), strict=True)
        return [(drop, allowed) for drop, allowed in pairs if drop is not None]

    @property
    def excess(self) -> Fraction:
        """By how many times the drop is over what is allowed; 1 or less where it is not."""
        return max((d.volts / allowed for d, allowed in self.judged if allowed), default=NO_VOLTS)


@dataclass(frozen=True)
class VoltageDrops:
    """All that drops in one state."""

    sags: dict[str, Fraction]
    """By source with `internal-ohms` that gives something: by how much its volts sag, V."""
    feeders: dict[int, WireDrop]
    """By number of a branch that conducts, whose ohms are known, and some of its amps."""
    nodes: dict[str, VoltsUnderLoad]
    """By live node."""
    limits: dict[str, tuple[Fraction, Fraction] | None]
    """By live node: what may drop from there on (`allowed_drop`)."""
    supplies: dict[tuple[str, int], SupplyDrop]
    """By equipment and number of its supply; what has power through it."""

    def as_json(self, network: Network) -> dict[str, Any]:
        """The `voltage_drops` of `loads --json`; null is not known."""

        def drop(wire: WireDrop | None) -> dict[str, Any] | None:
            if wire is None:
                return None
            volts = {"amps": for_json(wire.amps), "volts": for_json(wire.volts)}
            return {**volts, "at_most": wire.at_most, "at_least": wire.at_least}

        return {
            "feeders": [
                {"from": b.origin, "to": b.target, "through": list(b.through), "drop": drop(wire)}
                for number, wire in self.feeders.items()
                for b in [network.branches[number]]
            ],
            "supplies": [
                {
                    "equipment": s.item,
                    "bus": s.bus,
                    "drop": drop(s.continuous),
                    "short_time": drop(s.short_time),
                    "allowed_volts": s.allowed and [for_json(volts) for volts in s.allowed],
                    "volts": for_json(s.at_item.volts),
                    "at_least": s.at_item.at_least,
                    "at_most": s.at_item.at_most,
                }
                for s in self.highest_first()
            ],
        }

    def too_low(self, network: Network) -> dict[str, VoltsUnderLoad]:
        """By equipment that has less than its `min-volts` on the supplies that it needs: what.

        Where these volts are bounds, it may have less.
        """
        found = {}
        for item, least in network.min_millivolts.items():
            left = [s.at_item for (owner, _), s in self.supplies.items() if owner == item]
            needed = min if network.equipment[item].needs == "all" else max
            volts = needed(left, key=lambda one: one.volts, default=None)
            if volts is not None and volts.volts * 1000 < least:
                found[item] = volts
        return found

    def highest_first(self) -> list[SupplyDrop]:
        """The supplies on which something is known to drop, the highest first."""
        dropping = [s for s in self.supplies.values() if s.highest]
        return sorted(dropping, key=lambda supply: -supply.highest)


def voltage_drops(amps: Amps) -> VoltageDrops:
    """What drops in one state of a net."""
    network = amps.net.sharing.network
    sags = {
        source: given * exact(network.sources[source].internal_ohms or 0)
        for source, given in amps.sources.items()
        if given
        and network.sources[source].internal_ohms
        and network.sources[source].kind != "converter"
    }
    bounds = amps.branch_bounds
    feeders: dict[int, WireDrop] = {}
    for number in amps.net.conducting:
        here = bounds.get(number, CurrentBounds(NO_AMPS, NO_AMPS))
        ohms = network.branches[number].ohms
        if ohms is not None and (here.least or not here.unknown):
            carried = here.least if here.unknown else here.most
            bounded = not here.unknown and here.most > here.least
            feeders[number] = WireDrop(carried, carried * ohms, bounded, here.unknown)
    feeders.update(_in_parallel(amps, feeders))
    nodes = dict(_nodes(amps, feeders, sags))
    volts = {node: amps.net.sharing.state.nodes[node].volts for node in nodes}
    currents = {node: "dc" if node in network.dc_nodes else "ac" for node in nodes}
    limits = {node: allowed_drop(currents[node], volts[node]) for node in nodes}
    supplies = {
        (item, number): _supply(amps, item, amps.powered[item], number, nodes[bus], limits[bus])
        for item in network.equipment
        for number in amps.powered.get(item, ())
        for bus in [network.connections[item][number].bus]
        if bus in nodes
    }
    return VoltageDrops(sags, feeders, nodes, limits, supplies)


def _in_parallel(amps: Amps, feeders: dict[int, WireDrop]) -> dict[int, WireDrop]:
    """What drops along conductors between the same two nodes: on all of them the same, and no more
    than where one of them carries all.
    """
    branches = amps.net.sharing.network.branches
    between: dict[frozenset[str], list[int]] = {}
    for number in amps.net.conducting:
        branch = branches[number]
        if not branch.into_converter:
            between.setdefault(frozenset((branch.origin, branch.target)), []).append(number)
    found: dict[int, WireDrop] = {}
    for numbers in between.values():
        ohms = {n: r for n in numbers if (r := branches[n].ohms) and not branches[n].diodes}
        drops = [feeders[n] for n in numbers if n in feeders and feeders[n].at_most]
        if len(numbers) > 1 and len(ohms) == len(drops) == len(numbers):
            volts = min(d.volts for d in drops)
            found |= {n: WireDrop(volts / r, volts, at_most=True) for n, r in ohms.items()}
    return found


def _nodes(
    amps: Amps, feeders: dict[int, WireDrop], sags: dict[str, Fraction]
) -> Iterator[tuple[str, VoltsUnderLoad]]:
    """What is left at every live node."""
    network = amps.net.sharing.network
    for node, state in amps.net.sharing.state.nodes.items():
        paths = []
        for source in state.carriers:
            at_source = Fraction(network.millivolts[source], 1000) - sags.get(source, NO_VOLTS)
            unknown = bool(source in amps.short_sources and network.sources[source].internal_ohms)
            path = _least_drop(amps, feeders, source, node)
            if path is not None:
                missing, drop, bounded = path
                paths.append((missing or unknown, drop - at_source, bounded))
        if paths:
            missing, lacking, bounded = min(paths)
            # How sources share is by their ratings, not by the ohms on their ways: where their
            # paths end at unlike volts, the node is somewhere between.
            of_others = max(other for unknown, other, _ in paths if unknown == missing)
            if of_others > lacking + NEGLIGIBLE_VOLTS:
                lacking, bounded = of_others, True
            volts = max(-lacking, NO_VOLTS)
            yield node, VoltsUnderLoad(volts, bounded or _is_helped(amps, node, volts), missing)


def _is_helped(amps: Amps, node: str, volts: Fraction) -> bool:
    """Whether a source that carries nothing there offers more than is left: it then gives some."""
    return amps.net.offered_in_reserve(node) > volts + NEGLIGIBLE_VOLTS


def _least_drop(
    amps: Amps, feeders: dict[int, WireDrop], source: str, node: str
) -> _PathDrop | None:
    """Of the paths of a source's current, the one on which least is lost.

    A diode that carries nothing by the bounds conducts after all where the conductors beside it
    drop more: then no more is lost than on its path.
    """
    branches, topology = amps.net.sharing.network.branches, amps.net.topology
    arcs: _Arcs = {}
    for number, passage in topology.between(source, node).items():
        branch = branches[number]
        if passage.along:
            arcs.setdefault(branch.origin, []).append((branch.target, number))
        if passage.against:
            arcs.setdefault(branch.target, []).append((branch.origin, number))
    found = _shortest(amps, feeders, arcs, source, node)
    if found is None or found[0] or found[1] <= LEAST_MORE or not amps.net.diode_volts:
        return found
    every: _Arcs = {}
    for number, (origin, target, both_ways, _) in topology.branches.items():
        every.setdefault(origin, []).append((target, number))
        if both_ways:
            every.setdefault(target, []).append((origin, number))
    other = _shortest(amps, feeders, every, source, node)
    if other is not None and other[:2] < found[:2]:
        return *found[:2], True
    return found


def _shortest(
    amps: Amps, feeders: dict[int, WireDrop], arcs: _Arcs, source: str, node: str
) -> _PathDrop | None:
    """The path with the least drop of conductors and sound diodes (Dijkstra 1959), of those on
    which every conductor has a figure, if there are any.
    """
    waiting: list[tuple[bool, Fraction, bool, str]] = [(False, NO_VOLTS, False, source)]
    done = set()
    while waiting:
        missing, drop, bounded, here = heapq.heappop(waiting)
        if here == node:
            return missing, drop, bounded
        if (missing, here) in done:
            continue
        done.add((missing, here))
        for target, number in arcs.get(here, ()):
            wire = feeders.get(number)
            through = drop + amps.net.diode_volts.get(number, NO_VOLTS)
            more = (True, through, bounded)
            if wire is not None:
                more = (missing or wire.at_least, through + wire.volts, bounded or wire.at_most)
            heapq.heappush(waiting, (*more, target))
    return None


def _supply(
    amps: Amps,
    item: str,
    live: Live,
    number: int,
    at_bus: VoltsUnderLoad,
    allowed: tuple[Fraction, Fraction] | None,
) -> SupplyDrop:
    sharing = amps.net.sharing
    network, connection = sharing.network, sharing.network.connections[item][number]
    figures = amps.figures, network.figures[sharing.column, True]
    steady, short = (drawn_on(amps, item, live, number, columns) for columns in figures)
    alone = network.equipment[item].needs == "all" or len(live) == 1
    continuous, short_time = (
        None
        if drawn is None or connection.ohms is None
        else WireDrop(drawn, drawn * connection.ohms, not alone)
        for drawn in (steady, short)
    )
    if continuous and short_time and short_time.amps <= continuous.amps:
        short_time = None
    at_item = at_bus.less(continuous)
    if not alone:
        # With all of it drawn here, more drops ahead of the bus than is counted there.
        at_item = replace(at_item, at_most=True)
    return SupplyDrop(
        item,
        number,
        connection.bus,
        continuous,
        short_time,
        at_item,
        allowed,
    )


def drawn_on(amps: Amps, item: str, live: Live, number: int, figures: Figures) -> Fraction | None:
    """What equipment draws on one of its live supplies, A; None where it is not known.

    Where any supply will do: all of it, since that one may be the one that is left. Else what the
    load rules draw from it; two supplies from one bus without figures of their own share that.
    """
    network = amps.net.sharing.network
    connections = network.connections[item]
    if network.equipment[item].needs == "any":
        return _sum(drawn for _, drawn in amps.net.draws(item, (number,), figures))
    own = network.supply_figures.get((item, amps.net.sharing.column), ())
    parts = amps.net.draws(item, live, figures)
    if sum(own, NO_AMPS):
        drawing = [i for i in live if own[i]]
        by_number = dict(zip(drawing, (drawn for _, drawn in parts), strict=False))
        return by_number.get(number, NO_AMPS)
    bus = connections[number].bus
    here = _sum(drawn for at, drawn in parts if at == bus)
    sharing = sum(1 for i in live if connections[i].bus == bus)
    return None if here is None else here / sharing


def _sum(parts: Iterable[Fraction | None]) -> Fraction | None:
    """None if any is not known."""
    total = NO_AMPS
    for part in parts:
        if part is None:
            return None
        total += part
    return total
