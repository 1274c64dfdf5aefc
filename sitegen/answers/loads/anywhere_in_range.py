"""One state of a net as it may be too: its sources elsewhere in their `volts-range`, each by
itself, and a load divided in any way by sources that share it, one of which has no rating, or that
meet only through diodes.

Who carries what is worked out anew from what the sources offer at the ends of their ranges: each
at either end; of more than four, all at the bottom, all at the top, one at the top and the others
at the bottom, one at the bottom and the others at the top. However these divide the load, the amps
that follow volts go by those of what carries, at the ends (`range_ends`); where meters of several
sources are added up, with each source at either end by itself. No device switches, and what has a
supply with the volts that it needs is as at nominal volts.

Without a rating nothing says how a load is divided: it may be all on some of those that share it,
as if these were at the top of a range too small for a voltmeter. Nor does anything where a diode
keeps the power of one from the terminals of another: a few millivolts decide there.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from sitegen.answers.loads.net_state import NetState
from sitegen.answers.loads.range_end import at_top_in_turn, is_at_top, range_ends
from sitegen.answers.loads.sharing import several_supplies
from sitegen.solver.network import Network
from sitegen.solver.power import SHARING_MILLIVOLTS

Offers = tuple[tuple[str, int], ...]
"""(source, what it offers at its nominal volts, mV) at one node."""

Carried = tuple[int, tuple[str, ...]]
"""What one node shows, mV, and the sources that carry it."""


def in_range(net: NetState, each_by_itself: bool = False) -> Iterator[NetState]:
    """The states that differ from the one at nominal volts, and from each other.

    Parameters
    ----------
    net : a state at nominal volts.
    each_by_itself : amps follow the volts of each source by itself, not of all at one end.
    """
    network, nodes = net.sharing.network, net.sharing.state.nodes
    ranged = [s for s in net.sharing.producing if s in network.millivolt_ranges]
    # A source that carries nothing at its own terminals, however it moves, carries nothing
    # elsewhere: what holds these up reaches all that it reaches.
    moving = [s for s in ranged if _may_carry(net, s)]
    apart = [s for s in net.sharing.producing if s in {*moving, *_share_in_any_way(net)}]
    if not apart:
        return
    offers = _offers(net)
    first = [nodes[same[0]] for same in offers.values()]
    nominal = [(state.millivolts, state.carriers) for state in first]
    place = {node: i for i, same in enumerate(offers.values()) for node in same}
    drops = {(place[node], drop) for (_, node), drop in net.sharing.feed_drops.items() if drop}

    def division(parts: Sequence[Carried], carried: Sequence[Carried]) -> object:
        after_diodes = [(max(carried[i][0] - drop, 0), ()) for i, drop in sorted(drops)]
        return _division(network, [*parts, *carried, *after_diodes])

    divided = {division(nominal, nominal): (nominal, nominal)}
    for at_top in at_top_in_turn(apart):
        change = _change(network, moving, at_top)
        carried = [_carried(here, change) for here in offers]
        parts = [_divided(net, one, at_top) for one in carried]
        divided.setdefault(division(parts, carried), (carried, parts))
    ends = [_change(network, moving, top) for top in _at_top(network, moving, each_by_itself)]
    for carried, parts in divided.values():
        moved = dict(nodes)
        if carried is not nominal:
            for same, (mv, whole), (_, part) in zip(offers.values(), carried, parts, strict=True):
                for n in same:
                    # What shares with a battery does not charge it.
                    carriers = whole if n in whole else part
                    moved[n] = replace(nodes[n], volts=mv / 1000, carriers=carriers)
        seen = [[mv for mv, _ in nominal]] if carried is nominal else []
        for change in ends:
            followed = _followed(offers, parts, change)
            # Where no amps follow volts, one of these will do.
            if followed not in seen and not (seen and not _volts_matter(network)):
                seen.append(followed)
                volts = dict.fromkeys(nodes, 0)
                for same, mv in zip(offers.values(), followed, strict=True):
                    volts |= dict.fromkeys(same, mv)
                yield replace(net, sharing=net.sharing.with_nodes(moved, volts), here={})


def _division(network: Network, carried: Sequence[Carried]) -> object:
    """What makes two states divide loads in the same way: who carries, and which volts are higher.

    The higher volts are those from which one of several supplies draws, or some no further from
    these than sources that share.
    """
    carriers = tuple(of_node for _, of_node in carried)
    if not (several_supplies(network) or any(len(each) > 1 for each in network.inputs.values())):
        return carriers
    ranks = sorted({volts for volts, _ in carried})
    return carriers, tuple(
        (bisect_left(ranks, volts), bisect_left(ranks, volts - SHARING_MILLIVOLTS))
        for volts, _ in carried
    )


def _at_top(
    network: Network, moving: Sequence[str], each_by_itself: bool
) -> Iterator[frozenset[str]]:
    """The sources at the top of their range, at each of the ends at which amps are worked out."""
    if not each_by_itself:
        for end in range_ends(network):
            yield frozenset(s for s in moving if is_at_top(network.sources[s].kind, end))
        return
    converters = frozenset(s for s in moving if network.sources[s].kind == "converter")
    for top in at_top_in_turn([s for s in moving if s not in converters]):
        yield from dict.fromkeys((top, top | converters))


def _change(network: Network, moving: Iterable[str], at_top: frozenset[str]) -> dict[str, int]:
    """By source how far its volts are from nominal, mV."""
    return {s: network.millivolt_changes[s][s in at_top] for s in moving}


def _share_in_any_way(net: NetState) -> set[str]:
    """The sources that share some load in a way that nothing says."""
    carriers = {state.carriers for state in net.sharing.state.nodes.values()}
    return {s for sharing in carriers if in_any_way(net, sharing) for s in sharing}


def in_any_way(net: NetState, sharing: Sequence[str]) -> bool:
    """Whether nothing says how sources share: one has no rating, or its power does not reach the
    terminals of another.
    """
    network, nodes = net.sharing.network, net.sharing.state.nodes
    return len(sharing) > 1 and not all(
        network.sources[s].amps and {*sharing} <= {*nodes[s].sources} for s in sharing
    )


def _divided(net: NetState, carried: Carried, at_top: frozenset[str]) -> Carried:
    """Where nothing says how they share, those at the top carry it all."""
    shown, carriers = carried
    if in_any_way(net, carriers):
        carriers = tuple(s for s in carriers if s in at_top) or carriers
    return shown, carriers


def _may_carry(net: NetState, source: str) -> bool:
    """Whether a source may carry at its own terminals with all sources anywhere in their range."""
    network = net.sharing.network
    others = (
        level + network.millivolt_changes.get(s, (0, 0))[0]
        for s, level in _offered_at(net, source)
        if s != source
    )
    return max(others, default=0) - network.millivolt_ranges[source][1] <= SHARING_MILLIVOLTS


def _offers(net: NetState) -> dict[Offers, list[str]]:
    """The live nodes by what is offered there."""
    found: dict[Offers, list[str]] = {}
    for node, state in net.sharing.state.nodes.items():
        if state.sources:
            found.setdefault(_offered_at(net, node), []).append(node)
    return found


def _offered_at(net: NetState, node: str) -> Offers:
    offered = net.power.offered
    return tuple(
        (source, level)
        for source in net.sharing.state.nodes[node].sources
        for level, where in offered[source][node]
        if where >> net.scenario & 1
    )


def _carried(offered: Iterable[tuple[str, int]], change: Mapping[str, int]) -> Carried:
    volts = {source: max(level + change.get(source, 0), 0) for source, level in offered}
    highest = max(volts.values())
    return highest, tuple(s for s, mv in volts.items() if highest - mv <= SHARING_MILLIVOLTS)


def _followed(
    offers: Iterable[Offers], carried: Iterable[Carried], change: Mapping[str, int]
) -> list[int]:
    """What the amps follow of what carries each node: the highest, mV."""
    return [
        _carried([(source, level) for source, level in here if source in carriers], change)[0]
        for here, (_, carriers) in zip(offers, carried, strict=True)
    ]


def _volts_matter(network: Network) -> bool:
    """Whether amps follow volts anywhere."""
    return bool(network.follow_volts or network.inputs)
