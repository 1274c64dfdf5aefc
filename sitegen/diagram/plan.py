"""What a picture shows, and on which level each node is: sources on top, bars below.

The result, a `Plan`, is all that the later stages need; it holds no places yet.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from sitegen.catalogue.model import Bus, Catalogue, Device, Feeder, Source
from sitegen.diagram.parts import PartKey
from sitegen.reachable import reachable


@dataclass(frozen=True)
class Picture:
    """One picture to draw: a part of a catalogue (of one airframe), wide or narrow."""

    title: str
    sources: tuple[Source, ...]
    buses: tuple[Bus, ...]
    feeders: tuple[tuple[int, Feeder], ...]
    """With their index in the catalogue."""
    devices: Mapping[str, Device]
    narrow: bool
    wanted: tuple[str, ...] = ()
    """The buses whose feed this picture shows; none for an overview."""


def overview(catalogue: Catalogue) -> Picture:
    """Everything from the sources to the last bar, for a desk's width or for panning.

    Parameters
    ----------
    catalogue : the share of one airframe (`sitegen.catalogue.fitted.on_airframe`).
    """
    return Picture(
        title=f"{catalogue.aircraft.name}: sources, buses and feeders",
        sources=tuple(catalogue.sources),
        buses=tuple(catalogue.buses),
        feeders=tuple(enumerate(catalogue.feeders)),
        devices={d.id: d for d in catalogue.devices},
        narrow=False,
    )


def feed(catalogue: Catalogue, bus_ids: Collection[str]) -> Picture:
    """Only what can feed these buses, narrow enough for a phone where that is possible.

    A node belongs to the picture if power can flow from a source through it to one of the buses
    without passing any bar twice; diodes let it through from -> to only.

    Parameters
    ----------
    catalogue : the share of one airframe.
    bus_ids : ids of buses; a source's id is taken too (its terminals are a node).
    """
    onward: dict[str, set[str]] = {}
    kinds = {d.id: d.kind for d in catalogue.devices}
    for feeder in catalogue.feeders:
        onward.setdefault(feeder.from_, set()).add(feeder.to)
        if all(kinds.get(device) != "diode" for device in feeder.through):
            onward.setdefault(feeder.to, set()).add(feeder.from_)
    producers = set()
    for source in catalogue.sources:
        if source.kind != "converter":
            producers.add(source.id)
        for supply in source.fed_from:
            onward.setdefault(supply.bus, set()).add(source.id)
    kept = _between(onward, producers, set(bus_ids))
    names = {n.id: n.name for n in (*catalogue.sources, *catalogue.buses)}
    wanted = tuple(n for n in names if n in set(bus_ids))
    return Picture(
        title="What feeds " + ", ".join(names[n] for n in wanted),
        sources=tuple(s for s in catalogue.sources if s.id in kept),
        buses=tuple(b for b in catalogue.buses if b.id in kept),
        feeders=tuple(
            (i, f) for i, f in enumerate(catalogue.feeders) if f.from_ in kept and f.to in kept
        ),
        devices={d.id: d for d in catalogue.devices},
        narrow=True,
        wanted=wanted,
    )


def _between(onward: Mapping[str, set[str]], producers: set[str], wanted: set[str]) -> set[str]:
    """The nodes on some path from a producer to a wanted node that passes no node twice.

    A node is left out when one other node is on every path to it and on every path from it: power
    would have to pass that node twice.
    """
    backward: dict[str, set[str]] = {}
    for start, ends in onward.items():
        for end in ends:
            backward.setdefault(end, set()).add(start)
    kept = (reachable(onward, producers) & reachable(backward, wanted)) | wanted
    for gate in sorted(kept):
        fed = reachable(onward, producers, without=gate)
        feeding = reachable(backward, wanted, without=gate)
        kept -= {n for n in kept if n != gate and n not in fed and n not in feeding}
    return kept | wanted


@dataclass(frozen=True)
class Chain:
    """A feeder from one node down to another (or, as a bridge, over one level)."""

    top: str
    bottom: str
    devices: tuple[tuple[Device, PartKey], ...]
    """From top to bottom."""
    wires: tuple[PartKey, ...]
    """From top to bottom; one more than the devices."""
    upward: bool
    """The feeder's `to` is on top."""
    label: str
    """`from` and `to` in words."""
    bridge: bool = False
    """Both ends are on one level; the wire goes up, over, and down again."""


@dataclass(frozen=True)
class Plan:
    """The level of each node, and what joins them."""

    picture: Picture
    levels: tuple[tuple[tuple[str, ...], ...], ...]
    """Level by level from the top, groups of node ids; a group of several is in one row,
    joined by ties."""
    level_of: Mapping[str, int]
    chains: tuple[Chain, ...]
    ties: Mapping[tuple[str, str], Chain]
    """Ties drawn between neighbours of one group, by (left, right)."""


def plan(picture: Picture) -> Plan:
    """Assign a level to every node of a picture and turn every feeder downward."""
    ids = [s.id for s in picture.sources] + [b.id for b in picture.buses]
    known = set(ids)
    tops = {s.id for s in picture.sources if s.kind != "converter" or not s.fed_from}
    chains = [c for c in _chains(picture) if c.top in known and c.bottom in known]
    tie_numbers = {i for i, f in picture.feeders if f.tie and tops.isdisjoint((f.from_, f.to))}
    tied = [c for c in chains if _is_tie(c, tie_numbers)]
    downward = [c for c in chains if not _is_tie(c, tie_numbers)]
    groups = _groups(ids, tied)
    group_of = {n: k for k, group in enumerate(groups) for n in group}
    level_of_group = _levels(groups, group_of, downward, tops)
    level_of = {n: level_of_group[group_of[n]] for n in ids}

    ties: dict[tuple[str, str], Chain] = {}
    neighbours = {pair for g in groups for pair in pairwise(g)}
    for chain in tied:
        along = chain if (chain.top, chain.bottom) in neighbours else _turned(chain)
        pair = (along.top, along.bottom)
        if pair in neighbours and pair not in ties:
            ties[pair] = along
        else:
            downward.append(replace(chain, bridge=True))
    levelled = []
    for chain in downward:
        if level_of[chain.top] == level_of[chain.bottom]:
            levelled.append(replace(chain, bridge=True))
        elif level_of[chain.top] > level_of[chain.bottom]:
            levelled.append(_turned(chain))
        else:
            levelled.append(chain)
    depth = max(level_of.values(), default=0) + 1
    levels: list[list[tuple[str, ...]]] = [[] for _ in range(depth)]
    for k, group in enumerate(groups):
        levels[level_of_group[k]].append(group)
    return Plan(
        picture=picture,
        levels=tuple(tuple(level) for level in levels),
        level_of=level_of,
        chains=tuple(levelled),
        ties=ties,
    )


def _is_tie(chain: Chain, tie_numbers: set[int]) -> bool:
    wire = chain.wires[0]
    return wire.converter is None and wire.feeder in tie_numbers


def _chains(picture: Picture) -> Iterable[Chain]:
    names = {n.id: n.name for n in (*picture.sources, *picture.buses)}

    def chain(start: str, end: str, through: list[str], i: int, converter: str | None) -> Chain:
        devices = tuple(
            (picture.devices[d], PartKey("device", d, i, k, converter))
            for k, d in enumerate(through)
            if d in picture.devices
        )
        wires = tuple(
            PartKey("wire", f"{start}..{end}", i, k, converter) for k in range(len(devices) + 1)
        )
        label = f"{names.get(start, start)} to {names.get(end, end)}"
        return Chain(start, end, devices, wires, upward=False, label=label)

    for i, feeder in picture.feeders:
        yield chain(feeder.from_, feeder.to, feeder.through, i, None)
    for source in picture.sources:
        for i, supply in enumerate(source.fed_from):
            yield chain(supply.bus, source.id, supply.through, i, source.id)


def _turned(chain: Chain) -> Chain:
    return replace(
        chain,
        top=chain.bottom,
        bottom=chain.top,
        devices=chain.devices[::-1],
        wires=chain.wires[::-1],
        upward=not chain.upward,
    )


def _groups(ids: list[str], tied: list[Chain]) -> list[tuple[str, ...]]:
    """Nodes joined by ties, in the author's order, or along the path that the ties form."""
    joined: dict[str, list[str]] = {n: [] for n in ids}
    for chain in tied:
        if chain.bottom not in joined[chain.top] and chain.top != chain.bottom:
            joined[chain.top].append(chain.bottom)
            joined[chain.bottom].append(chain.top)
    groups = []
    seen: set[str] = set()
    for first in ids:
        if first in seen:
            continue
        together = reachable(joined, [first])
        seen |= together
        group = [n for n in ids if n in together]
        ends = [n for n in group if len(joined[n]) == 1]
        if len(ends) == 2 and all(len(joined[n]) <= 2 for n in group):
            group = [ends[0]]
            while len(group) < len(together):
                group.append(next(n for n in joined[group[-1]] if n not in group))
        groups.append(tuple(group))
    return groups


def _levels(
    groups: list[tuple[str, ...]],
    group_of: Mapping[str, int],
    chains: list[Chain],
    tops: set[str],
) -> list[int]:
    """The level of each group: as many steps below the sources as its longest feed needs.

    A ring of feeders has no top; it is opened at the feeder that leads back to where the walk,
    in the author's order, came from. What leads up to a source charges it and counts
    as leading down from it.
    """
    onward: dict[int, list[int]] = {k: [] for k in range(len(groups))}
    for chain in chains:
        top, bottom = chain.top, chain.bottom
        if bottom in tops:
            if top in tops:
                continue
            top, bottom = bottom, top
        if group_of[top] != group_of[bottom]:
            onward[group_of[top]].append(group_of[bottom])
    source_groups = [k for k, g in enumerate(groups) if g[0] in tops]
    finished: list[int] = []
    state = dict.fromkeys(onward, "new")
    forward: dict[int, list[int]] = {k: [] for k in onward}
    for root in (*source_groups, *onward):
        if state[root] != "new":
            continue
        state[root] = "open"
        walk = [(root, iter(onward[root]))]
        while walk:
            here, rest = walk[-1]
            for following in rest:
                if state[following] == "open":
                    continue
                forward[here].append(following)
                if state[following] == "new":
                    state[following] = "open"
                    walk.append((following, iter(onward[following])))
                    break
            else:
                state[here] = "done"
                finished.append(here)
                walk.pop()
    level = {k: 0 if k in source_groups else 1 for k in onward}
    for k in reversed(finished):
        for following in forward[k]:
            level[following] = max(level[following], level[k] + 1)
    return [level[k] for k in range(len(groups))]
