"""Question 2: how is this fed, where is its breaker, what single failure explains its loss?"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from sitegen.answers.cut_sets import GroupedSet, grouped_cut_sets, ungrouped
from sitegen.answers.named_failures import NamedEffect, named_failures
from sitegen.answers.single_failures import SingleFailure, SingleFailures, single_failures
from sitegen.solver.graph import arcs
from sitegen.solver.network import Branch, Connection, Network
from sitegen.solver.outcome import condition_states
from sitegen.solver.power import Power

MOST_PATHS = 200
"""Paths listed for one bus; a dense net has more than a person can read."""


@dataclass(frozen=True)
class Path:
    """One path of power from a source to a bus."""

    source: str
    nodes: tuple[str, ...]
    """The source, what lies between, and the bus."""
    branches: tuple[Branch, ...]
    """The branches between those nodes, one fewer than they are."""
    live: int
    """Mask over the conditions in which the source produces and everything on the path passes."""

    @property
    def devices(self) -> tuple[str, ...]:
        """All devices on the path, in order from the source."""
        return tuple(
            device
            for branch, start in zip(self.branches, self.nodes, strict=False)
            for device in (branch.through if branch.origin == start else branch.through[::-1])
        )


@dataclass(frozen=True)
class Feed:
    """One supply of the traced thing, and every path to it."""

    connection: Connection
    live: int
    """Mask over the conditions in which power comes through."""
    paths: tuple[Path, ...]
    cut_short: bool
    """There are more paths than are listed."""


@dataclass(frozen=True)
class Cause:
    """One single failure that takes an item, and what else it takes in the same conditions."""

    by: SingleFailure
    also_lost: tuple[str, ...]
    """Other equipment that is then lost as well, in each of these conditions; sorted ids."""


@dataclass(frozen=True)
class Trace:
    """How one piece of equipment is fed. Masks are over the network's conditions."""

    equipment: str
    feeds: tuple[Feed, ...]
    works: int
    on_battery: int
    causes: tuple[Cause, ...]
    comes_on_by: tuple[SingleFailure, ...]
    """The single failures that switch it on."""
    not_known_by: tuple[SingleFailure, ...]
    """Those that leave it, or what it requires, with power only where AC sources meet that are not
    synchronised."""
    named: tuple[NamedEffect, ...]
    """What the named failures do to it at once."""
    condition: str
    """The condition that `sets` are of; empty if the item works in none."""
    sets: tuple[GroupedSet, ...]
    """Its minimal cut sets there, of one to three failures."""

    @property
    def touched(self) -> tuple[str, ...]:
        """The item, its buses, and the nodes on the paths to them."""
        feeds = self.feeds
        nodes = (node for feed in feeds for path in feed.paths for node in path.nodes)
        return tuple(dict.fromkeys((self.equipment, *(f.connection.bus for f in feeds), *nodes)))

    def as_json(self, network: Network) -> dict[str, Any]:
        """The object that `trace --json` prints."""
        conditions = [c.id for c in network.catalogue.conditions]

        def by_condition(mask: int) -> dict[str, bool]:
            return {c: bool(mask >> i & 1) for i, c in enumerate(conditions)}

        return {
            "airframe": network.airframe,
            "equipment": self.equipment,
            "name": network.names[self.equipment],
            "ata": network.equipment[self.equipment].ata,
            "hazards": {i: network.hazards[i] for i in self.touched if i in network.hazards},
            "works": by_condition(self.works),
            "on_battery": by_condition(self.on_battery),
            "supplies": [
                {
                    "bus": feed.connection.bus,
                    "breaker": _breaker_json(network, feed.connection),
                    "through": list(feed.connection.through),
                    "live": by_condition(feed.live),
                    "paths": [
                        {
                            "source": p.source,
                            "nodes": list(p.nodes),
                            "devices": list(p.devices),
                            "live": by_condition(p.live),
                        }
                        for p in feed.paths
                    ],
                    "more_paths": feed.cut_short,
                }
                for feed in self.feeds
            ],
            "causes": [{**c.by.as_json(), "also_lost": list(c.also_lost)} for c in self.causes],
            "comes_on_by": [failure.as_json() for failure in self.comes_on_by],
            "not_known_by": [failure.as_json() for failure in self.not_known_by],
            "named_failures": [effect.as_json() for effect in self.named],
            "sets_in": self.condition or None,
            "sets": [
                [{"id": component, "mode": mode} for component, mode in members]
                for members in ungrouped(network, self.sets)
            ],
        }


def trace(network: Network, equipment: str, condition: str | None = None) -> Trace:
    """How a piece of equipment is fed in every condition, and what takes it.

    Parameters
    ----------
    network, equipment : what is asked about.
    condition : where the sets of several failures are looked for; left out, the first condition in
        which the item works.
    """
    before = condition_states(network)
    conditions = [c.id for c in network.catalogue.conditions]
    failures = single_failures(network, before)
    works = before.works[equipment]
    chosen = condition or next((c for i, c in enumerate(conditions) if works >> i & 1), "")
    sets = grouped_cut_sets(network, chosen, [equipment], before=before) if chosen else {}
    return Trace(
        equipment,
        tuple(
            feed(before, connection, fed)
            for connection, fed in zip(
                network.connections[equipment], before.fed[equipment], strict=True
            )
        ),
        works,
        before.on_battery[equipment],
        causes(failures, equipment),
        tuple(failures.where(lambda outcome: outcome.comes_on[equipment])),
        tuple(failures.where(lambda outcome: outcome.unsure[equipment])),
        named_failures(network, before).on_item(equipment),
        chosen,
        sets.get(equipment, ()),
    )


def feed(before: Power, connection: Connection, fed: int) -> Feed:
    """One supply with its paths, from the conditions in steady state."""
    paths, cut_short = paths_to(before, connection.bus)
    return Feed(connection, fed, paths, cut_short)


def paths_to(before: Power, bus: str) -> tuple[tuple[Path, ...], bool]:
    """Every path from a source to a bus that passes no node twice, shortest first.

    A converter is passed through to what feeds it: a path begins at a generator, a battery or
    external power. A path with an open device counts too; `live` says where it passes.

    Returns
    -------
    The paths, and whether there are more than are listed.
    """
    network, steady = before.steady.network, before.steady
    into: dict[str, list[tuple[str, Branch, int]]] = {n: [] for n in network.nodes}
    for number, start, end in arcs(network):
        branch, mask = network.branches[number], steady.branch_masks[number]
        if branch.into_converter:
            # A converter passes power on only while it is fit to produce.
            mask &= steady.setting.on_line[end]
        into[end].append((start, branch, mask))
    found: list[Path] = []
    partial: list[tuple[tuple[str, ...], tuple[Branch, ...], int]] = [
        ((bus,), (), steady.passes[bus])
    ]
    cut_short = False
    while partial:
        longer: list[tuple[tuple[str, ...], tuple[Branch, ...], int]] = []
        for nodes, branches, mask in partial:
            first = nodes[0]
            source = network.sources.get(first)
            if source is not None and source.kind != "converter":
                found.append(Path(first, nodes, branches, mask & steady.produces[first]))
            longer.extend(
                ((start, *nodes), (branch, *branches), mask & passing & steady.passes[start])
                for start, branch, passing in into[first]
                if start not in nodes
            )
        cut_short = len(found) > MOST_PATHS or len(longer) > MOST_PATHS * 20
        partial = [] if cut_short else longer
    return tuple(found[:MOST_PATHS]), cut_short


def carried_on(before: Power, path: Path) -> int:
    """The conditions in which the source of a live path carries what is at its end.

    Through a converter: the source carries the converter's input, and the converter its bus.
    """
    mask, producer = path.live, path.source
    for node, branch in zip(path.nodes, path.branches, strict=False):
        if branch.into_converter:
            mask &= before.carriers[node].get(producer, 0)
            producer = branch.target
    return mask & before.carriers[path.nodes[-1]].get(producer, 0)


def causes(failures: SingleFailures, equipment: str) -> tuple[Cause, ...]:
    """The single failures that take a piece of equipment, and what else each takes."""
    found = []
    for failure in failures.where(lambda outcome: outcome.lost[equipment]):
        by_others: dict[tuple[str, ...], list[str]] = {}
        for condition in failure.conditions:
            outcome = failures.outcomes[failure.answer]
            scenarios = outcome.scenarios
            here = scenarios.failed[failure.fault] & scenarios.in_condition[condition]
            others = sorted(e for e, mask in outcome.lost.items() if mask & here and e != equipment)
            by_others.setdefault(tuple(others), []).append(condition)
        found += [
            Cause(replace(failure, conditions=tuple(conditions)), others)
            for others, conditions in by_others.items()
        ]
    return tuple(found)


def _breaker_json(network: Network, connection: Connection) -> dict[str, Any] | None:
    if connection.protector is None:
        return None
    c = network.components[connection.protector]
    return {"id": c.id, "name": c.name, "amps": c.amps, "panel": c.panel, "at": c.at}
