"""Voltage drop: what conductors, and a battery's own resistance, take of the volts in one state.

The drop of a conductor is its amps times its ohms (FAA AC 43.13-1B, Table 11-9: copper, 20 C; the
length as the catalogue has it, once). It is reported only, and changes no state: who carries what,
and what closes, stays as without it. Amps that follow the volts are those at the volts that are
left. Figures are exact fractions.

Volts at a bus
    Along any path the drops add up to the same difference (Kirchhoff's second law). So a bus has at
    least the volts of a source that carries it, less the source's sag and the drops along one path,
    of its sound diodes too; of several paths the one that leaves most says most. Where the amps are
    bounds, the most is used, and the volts are 'at least'. Where something draws an amount that is
    not known, the least is used, and the volts are 'at most'; so they are where a conductor has no
    length, which counts as no drop. Of the paths of one source one on which all is known comes
    first. A path that carries nothing, since its diodes drop too much, says nothing, until as much
    is lost beside it. Where the paths of several sources end at unlike volts, or a source that
    carries nothing offers more, the bus is between.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator
from dataclasses import replace

from sitegen.answers.drop_limits import allowed_drop
from sitegen.answers.loads.carried import CurrentBounds
from sitegen.answers.loads.net_state import Live
from sitegen.answers.loads.state_amps import NO_AMPS, Amps
from sitegen.answers.voltage_drop_records import (
    NEGLIGIBLE_VOLTS,
    NO_VOLTS,
    SupplyDrop,
    VoltageDrops,
    VoltsUnderLoad,
    WireDrop,
)
from sitegen.quantities import Fraction, rounded
from sitegen.solver.load_figures import Figures, exact
from sitegen.solver.power import SHARING_MILLIVOLTS

LEAST_MORE = Fraction(SHARING_MILLIVOLTS, 1000)
"""More than this is what a path that carries nothing drops more (`simple_paths`), V."""

MOST_ROUNDS = 50
"""In which amps follow the volts that they leave; two or three are usual."""

_Ends = dict[tuple[str, str], tuple[int, int]]
"""By what follows the volts, and the node where it draws: the least and the most there, mV."""
_Arcs = dict[str, list[tuple[str, int]]]
"""By node: (node at the other end, number of the branch)."""
_PathDrop = tuple[bool, Fraction, bool, Fraction]
"""(whether a figure is missing, drop in V, whether the drop is a bound, the least that drops)."""
_Steps = tuple[tuple[int, bool], ...]
"""The branches of a path, each along its direction or against it."""
_Paths = dict[str, tuple[_PathDrop, _Steps]]
"""By node, the path of a source to it on which least is lost."""


def voltage_drops(amps: Amps) -> VoltageDrops:
    """What drops in one state of a net, with the amps at the volts that are left.

    Amps follow the volts that they leave, round by round; where these are bounds, once with the
    most that may be drawn, and once with the least.
    """
    network = amps.net.sharing.network
    following = [item for item in network.equipment if item in network.follow_volts]
    drawn, ends = [amps], _Ends()
    for _ in range(MOST_ROUNDS if following or amps.net.inputs else 0):
        drops = [_drops(one, following) for one in drawn]
        before, ends = ends, _ends(amps, drops[0], drops[-1])
        if _as_before(amps, before, ends):
            break
        drawn = [_drawn_at(amps, ends, most=True)]
        if any(low != high for low, high in ends.values()):
            drawn.append(_drawn_at(amps, ends, most=False))
    most, *others = [_drops(one, network.equipment) for one in drawn]
    return most.between(others[0]) if others else most


def _as_before(amps: Amps, before: _Ends, now: _Ends) -> bool:
    """Whether no volts differ by more than a millivolt; what the nodes show is first."""
    for (taker, node), ends in now.items():
        then = before.get((taker, node)) or (amps.net.sharing.volts_left(taker, node),) * 2
        if any(abs(end - other) > 1 for end, other in zip(ends, then, strict=True)):
            return False
    return True


def _ends(amps: Amps, most: VoltageDrops, least: VoltageDrops) -> _Ends:
    """The volts of what draws by them, with the most that may be drawn and with the least.

    They are taken as half those of the node where less is left: no load lasts there.
    """
    network = amps.net.sharing.network
    left = [
        ((item, s.bus), s.at_item.volts, least.supplies[item, number].at_item.most)
        for (item, number), s in most.supplies.items()
        if s.bus in network.dc_nodes
    ]
    for converter, number, origin, _, fed in amps.net.inputs:
        if fed and origin in most.nodes:
            here, other = (d.nodes[origin].less(d.feeders.get(number)) for d in (most, least))
            diodes = amps.net.diode_volts.get(number, NO_VOLTS)
            left.append(((converter, origin), here.volts - diodes, other.most - diodes))
    found: _Ends = {}
    for key, lowest, highest in left:
        half = amps.net.sharing.volts_left(*key) // 2
        low, high = (max(int(rounded(v * 1000)), half) for v in (lowest, highest))
        # Of several supplies from one bus.
        before = found.get(key, (low, high))
        found[key] = min(low, before[0]), max(high, before[1])
    return found


def _drawn_at(amps: Amps, ends: _Ends, most: bool) -> Amps:
    """What flows with the most, or the least, that is drawn at these volts."""
    equipment, sharing = amps.net.sharing.network.equipment, amps.net.sharing
    resistive = {i for i, _ in ends if i in equipment and equipment[i].load == "resistive"}
    left = {key: here[most == (key[0] in resistive)] for key, here in ends.items()}
    return amps.at_volts(replace(amps.net, sharing=sharing.with_volts_left(left), here={}))


def _drops(amps: Amps, equipment: Iterable[str]) -> VoltageDrops:
    """What drops with these amps, on the supplies of some equipment."""
    network = amps.net.sharing.network
    sags = {
        source: given * exact(network.sources[source].internal_ohms or 0)
        for source, given in amps.sources.items()
        if given
        and network.sources[source].internal_ohms
        and network.sources[source].kind != "converter"
    }
    bounds, nothing = amps.branch_bounds, CurrentBounds(NO_AMPS, NO_AMPS)
    feeders: dict[int, WireDrop] = {}
    for number in amps.net.conducting:
        here = bounds.get(number, nothing)
        ohms = network.branches[number].ohms
        if ohms is not None and (here.least or not here.unknown):
            carried = here.least if here.unknown else here.most
            bounded = not here.unknown and here.most > here.least
            low, high = here.along or (NO_AMPS, NO_AMPS)
            least = low * ohms, -high * ohms
            feeders[number] = WireDrop(carried, carried * ohms, bounded, here.unknown, least)
    feeders.update(_in_parallel(amps, feeders))
    nodes = dict(_nodes(amps, feeders, sags))
    volts = {node: amps.net.sharing.state.nodes[node].volts for node in nodes}
    currents = {node: "dc" if node in network.dc_nodes else "ac" for node in nodes}
    limits = {node: allowed_drop(currents[node], volts[node]) for node in nodes}
    supplies = {
        (item, number): _supply(amps, item, amps.powered[item], number, nodes[bus], limits[bus])
        for item in equipment
        for number in amps.powered.get(item, ())
        for bus in [network.connections[item][number].bus]
        if bus in nodes
    }
    return VoltageDrops(amps, sags, feeders, nodes, limits, supplies)


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
            found |= {n: replace(feeders[n], amps=volts / r, volts=volts) for n, r in ohms.items()}
    return found


def _nodes(
    amps: Amps, feeders: dict[int, WireDrop], sags: dict[str, Fraction]
) -> Iterator[tuple[str, VoltsUnderLoad]]:
    """What is left at every live node."""
    network, arcs = amps.net.sharing.network, _every_arc(amps)
    anywhere: dict[str, _Paths] = {}
    for node, state in amps.net.sharing.state.nodes.items():
        ends = []
        for source in state.carriers:
            at_source = Fraction(network.millivolts[source], 1000) - sags.get(source, NO_VOLTS)
            unknown = bool(source in amps.short_sources and network.sources[source].internal_ohms)
            if source not in anywhere:
                anywhere[source] = _least_drops(amps, feeders, arcs, source)
            path = _least_drop(amps, feeders, anywhere[source], source, node)
            if path is not None:
                missing, drop, bounded, least = path
                ends.append((at_source - drop, bounded, missing or unknown, at_source - least))
        if ends:
            # How sources share is by their ratings, not by the ohms on their ways: where their
            # paths end at unlike volts, the node is somewhere between. A source that carries
            # nothing and offers more than is left gives some.
            lowest = max(min(volts for volts, _, _, _ in ends), NO_VOLTS)
            offered = amps.net.offered_in_reserve(node)
            highest = max(offered, *(most for _, _, _, most in ends))
            unlike = max(offered, *(volts for volts, _, _, _ in ends)) > lowest + NEGLIGIBLE_VOLTS
            at_least = unlike or any(bounded for _, bounded, _, _ in ends)
            missing = any(missing for _, _, missing, _ in ends)
            yield node, VoltsUnderLoad(lowest, at_least, missing, max(highest, lowest))


def _least_drop(
    amps: Amps, feeders: dict[int, WireDrop], anywhere: _Paths, source: str, node: str
) -> _PathDrop | None:
    """Of the paths of a source's current, the one on which least is lost.

    A diode that carries nothing by the bounds conducts after all where the conductors beside it
    drop more: then no more is lost than on its path.

    Parameters
    ----------
    anywhere : the same along all branches, whatever carries.
    """
    branches, topology = amps.net.sharing.network.branches, amps.net.topology
    between = topology.between(source, node)
    other = anywhere.get(node)
    if other and all(
        number in between and (between[number].along if along else between[number].against)
        for number, along in other[1]
    ):
        return other[0]
    arcs: _Arcs = {}
    for number, passage in between.items():
        branch = branches[number]
        if passage.along:
            arcs.setdefault(branch.origin, []).append((branch.target, number))
        if passage.against:
            arcs.setdefault(branch.target, []).append((branch.origin, number))
    own = _least_drops(amps, feeders, arcs, source).get(node)
    found = own and own[0]
    if found is None or found[0] or found[1] <= LEAST_MORE or not amps.net.diode_volts:
        return found
    if other is not None and other[0][:2] < found[:2]:
        return *found[:2], True, min(found[3], other[0][3])
    return found


def _every_arc(amps: Amps) -> _Arcs:
    found: _Arcs = {}
    for number, (origin, target, both_ways, _) in amps.net.topology.branches.items():
        found.setdefault(origin, []).append((target, number))
        if both_ways:
            found.setdefault(target, []).append((origin, number))
    return found


def _least_drops(amps: Amps, feeders: dict[int, WireDrop], arcs: _Arcs, source: str) -> _Paths:
    """By node, the path with the least drop of conductors and sound diodes (Dijkstra 1959), of
    those on which every conductor has a figure, if there are any. What flows towards the source is
    a rise.
    """
    branches = amps.net.sharing.network.branches
    nothing = (False, NO_VOLTS, False, NO_VOLTS)
    waiting: list[tuple[bool, Fraction, str, _PathDrop, _Steps]] = [
        (False, NO_VOLTS, source, nothing, ())
    ]
    done, paths = set(), _Paths()
    while waiting:
        missing, length, here, found, steps = heapq.heappop(waiting)
        if (missing, here) in done:
            continue
        done.add((missing, here))
        paths.setdefault(here, (found, steps))
        for target, number in arcs.get(here, ()):
            wire = feeders.get(number)
            lacks = missing or wire is None or wire.at_least
            if (lacks, target) in done:
                continue
            along = branches[number].origin == here
            diodes = amps.net.diode_volts.get(number, NO_VOLTS)
            # A diode that may carry nothing need not drop anything.
            least, most = diodes if diodes and _certain(amps, number) else NO_VOLTS, diodes
            if wire is not None:
                of_wire = wire.towards(not along)
                least, most = least + of_wire[0], most + of_wire[1]
            bounded = found[2] or (wire is not None and wire.at_most)
            further = length + diodes + (wire.volts if wire is not None else NO_VOLTS)
            drop = lacks, found[1] + most, bounded, found[3] + least
            heapq.heappush(waiting, (lacks, further, target, drop, (*steps, (number, along))))
    return paths


def _certain(amps: Amps, number: int) -> bool:
    """Whether something flows along a branch for certain."""
    here = amps.branch_bounds.get(number)
    return here is not None and here.along is not None and here.along[0] > 0


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
