"""The audit of protection: is every generator, wire, breaker and bus guarded as it should be?

Each rule is one function that returns records; `protection` asks all of them for one airframe.
The rules go by FAA AC 43.13-1B (9/8/98, Change 1 9/27/01): 11-35 (80 % of a generator's output),
11-48 (a breaker opens before its wire's rating is exceeded), Table 11-3 (which for which wire) and
Tables 11-6 and 11-9 (voltage drop).

Loads are continuous ones, with nothing failed, by the rules of `loads`. Equipment without figures
cannot be counted: a record names it, and its sum is the least that flows.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import lru_cache
from typing import Literal, TypeVar

from sitegen.answers.loads.converter_loops import converter_loops
from sitegen.answers.loads.source_loads import Load, loads
from sitegen.answers.loads.state_amps import NO_AMPS, Amps
from sitegen.answers.over_rating import OverRating, over_rating_before
from sitegen.answers.protection.judged import judged
from sitegen.answers.protection.one_infeed import each_alone
from sitegen.answers.protection.protection_records import (
    Judged,
    LongWire,
    NotFirst,
    Overload,
    OverWire,
    Protection,
    UnclearedShort,
)
from sitegen.answers.protection.voltage_audit import low_meters, low_volts, wires_at_worst
from sitegen.answers.protection.wires import allowed_for, row_for, wires
from sitegen.answers.voltage_drop import voltage_drops
from sitegen.answers.voltage_drop_records import VoltageDrops
from sitegen.catalogue.kinds import LOAD_METERS, OVERCURRENT
from sitegen.catalogue.wire_chart import WireRow
from sitegen.quantities import Fraction
from sitegen.solver.graph import directions, infeeds_of_buses, spread
from sitegen.solver.network import Branch, Component, Network
from sitegen.solver.outcome import Outcome, condition_states, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Scenario, every_single, scenarios_of

LOAD_SHARE = 0.8
"""AC 43.13-1B, 11-35: of a generator's rated amps, where nothing watches it."""

LEAST_OVER = 0.005
"""Amps over a rating that may be rounding."""

MOST_NEAREST = 5
"""How many are named of what is nearest to a limit."""

R = TypeVar("R", Overload, LongWire)


def protection(network: Network, table: Sequence[WireRow]) -> Protection:
    """The audit of one airframe.

    Parameters
    ----------
    network : its wiring.
    table : Table 11-3.
    """
    normal, carried, drops, alone, by_supplies = _amps_and_drops(network)
    before, infeeds = normal.before, infeeds_of_buses(network)
    feeders = [worst for carries in alone.values() for worst in _worst(carries)]
    rated_for = [c for (bus, _), c in alone.items() if len(infeeds[bus]) == 1]
    rated_for += by_supplies.values()
    conductors = wires_at_worst(network, drops)
    too_small = (
        *(f for f in feeders if len(infeeds[f.bus]) == 1),
        *inputs_too_small(normal, carried),
        *(worst for carries in by_supplies.values() for worst in _worst(carries)),
    )
    return Protection(
        tuple(generators_over(normal, carried)),
        tuple(over_wire(network, table)),
        too_small,
        tuple(not_first(network, infeeds)),
        tuple(f for f in feeders if len(infeeds[f.bus]) > 1),
        tuple(uncleared_shorts(network, before)),
        tuple(converter_loops(network, before)),
        judged_of(network, table),
        tuple(over_rating(before, {load.component for load in too_small})),
        tuple(wire for wire in conductors if wire.percent > 100),
        tuple(low_volts(network, drops)),
        tuple(low_meters(network, before, drops)),
        tuple(_nearest([max(c, key=lambda o: o.percent) for c in rated_for if c])),
        tuple(_nearest(conductors)),
    )


def judged_of(network: Network, table: Sequence[WireRow]) -> Judged:
    """How much of one airframe the audit has figures for."""
    _, carried, drops, alone, by_supplies = _amps_and_drops(network)
    sums = [*by_supplies.values(), *alone.values()]
    return judged(network, table, carried, sums, drops.values())


@lru_cache(maxsize=8)
def _amps_and_drops(
    network: Network,
) -> tuple[
    Outcome,
    list[Load],
    dict[str, VoltageDrops],
    dict[tuple[str, str], list[Overload]],
    dict[str, list[Overload]],
]:
    """The conditions, their loads and drops, and what feeders and supplies carry.

    What is found, and how much was judged, are asked one after the other.
    """
    conditions = [c.id for c in network.catalogue.conditions]
    before = condition_states(network)
    normal = solve(network, scenarios_of([Scenario(c) for c in conditions]), before)
    carried = loads(normal)
    drops = {load.condition: voltage_drops(load.amps) for load in carried}
    alone = carried_alone(before, infeeds_of_buses(network))
    return normal, carried, drops, alone, carried_by_supplies(normal, carried)


def generators_over(normal: Outcome, carried: Sequence[Load]) -> list[Overload]:
    """Generators that give more than 80 % of what they are rated at, with no meter to watch it."""
    network = normal.network
    watched = {i.at for i in network.catalogue.indications if i.kind in LOAD_METERS}
    found = []
    for source in network.sources.values():
        in_its_feeders = {
            device
            for branch in network.branches
            if source.id in (branch.origin, branch.target) and not branch.into_converter
            for device in branch.through
        }
        if source.kind != "generator" or not source.amps or watched & {source.id, *in_its_feeders}:
            continue
        limit = LOAD_SHARE * source.amps
        found += _too_much(normal, carried, source.id, source.id, limit, "sources")
    return found


def over_rating(before: Power, but: Collection[str]) -> list[tuple[str, str, OverRating]]:
    """What is over its rating with nothing failed, where it is furthest; some are left out."""
    worst: dict[str, tuple[str, str, OverRating]] = {}
    for component, condition, over in over_rating_before(before):
        far = worst.get(component)
        if component not in but and (far is None or over.amps > far[2].amps):
            worst[component] = component, condition, over
    return list(worst.values())


def over_wire(network: Network, table: Sequence[WireRow]) -> list[OverWire]:
    """Breakers and fuses rated over what Table 11-3 allows for their wire; DC, as the table is.

    In a feeder, what is downstream of a device that does protect the wire is not checked. Fuse
    links are not in the table; one that is rated no higher than a fuse may be counts as protecting.
    """
    worst: dict[str, OverWire] = {}
    for gauge, devices in wires(network):
        row = row_for(gauge, table)
        if gauge is None or row is None:
            continue
        for device in devices:
            component = network.components[device]
            allowed = allowed_for(component, row)
            if component.kind not in OVERCURRENT or component.amps is None or allowed is None:
                continue
            if component.amps <= allowed:
                break
            before = worst.get(device)
            if component.kind != "fuse-link" and (before is None or allowed < before.allowed):
                worst[device] = OverWire(device, component.amps, gauge, row, allowed)
    return list(worst.values())


def carried_alone(
    before: Power, infeeds: Mapping[str, Sequence[Branch]]
) -> dict[tuple[str, str], list[Overload]]:
    """What a feeder would carry alone: all that its bus then draws, and all that the bus feeds.

    A feeder is as strong as the lowest rating in it.

    Parameters
    ----------
    before : the conditions in steady state, with nothing failed.
    infeeds : by bus, its feeders.
    """
    network = before.steady.network
    conditions = network.catalogue.conditions
    found: dict[tuple[str, str], list[Overload]] = {}
    for alone in each_alone(before, infeeds):
        weakest = _weakest(network, alone.branch)
        if weakest is None:
            continue
        found.setdefault((alone.bus, weakest.id), []).append(
            Overload(
                weakest.id,
                float(sum(alone.amps.nodes.get(node, NO_AMPS) for node in alone.nodes)),
                weakest.amps or 0.0,
                conditions[alone.condition].id,
                _unknown(alone.amps, alone.through_converters),
                alone.bus,
            )
        )
    return found


def inputs_too_small(normal: Outcome, carried: Sequence[Load]) -> list[Overload]:
    """Devices in a converter's input that are rated below what the converter takes.

    Of several inputs each is asked for the whole: it may be the one that is left.
    """
    network = normal.network
    found = []
    for branch in network.branches:
        weakest = _weakest(network, branch)
        if not branch.into_converter or weakest is None:
            continue
        limit = weakest.amps or 0.0
        found += _too_much(normal, carried, branch.target, weakest.id, limit, "converters")
    return found


def carried_by_supplies(normal: Outcome, carried: Sequence[Load]) -> dict[str, list[Overload]]:
    """By breaker or fuse of supplies: what it carries of all the equipment that it feeds at once.

    In each condition in which it feeds any; without a rating the limit is infinite.

    Equipment with several supplies, of which any will do, counts whole for each: it may be the one
    that is left. With `needs: all` each carries its own figure, or an equal part.
    """
    network = normal.network
    behind: dict[str, dict[str, list[int]]] = {}
    for item, connections in network.connections.items():
        for number, connection in enumerate(connections):
            if connection.protector is not None and item in network.equipment:
                behind.setdefault(connection.protector, {}).setdefault(item, []).append(number)
    found: dict[str, list[Overload]] = {}
    for protector, items in behind.items():
        found[protector] = []
        for k, load in enumerate(carried):
            drawn = {}
            for item, numbers in items.items():
                fed = [mask >> k & 1 for mask in normal.after.fed[item]]
                if all(fed) if network.equipment[item].needs == "all" else any(fed):
                    drawn[item] = _drawn(load, item, [n for n in numbers if fed[n]])
            if not drawn:
                continue
            total = sum((amps for amps in drawn.values() if amps is not None), NO_AMPS)
            unknown = tuple(item for item, amps in drawn.items() if amps is None)
            rating = network.components[protector].amps or math.inf
            carries = Overload(protector, float(total), rating, load.condition, unknown)
            found[protector].append(carries)
    return found


def _drawn(load: Load, item: str, numbers: Sequence[int]) -> Fraction | None:
    """What an item draws by these of its supplies, which one breaker protects, A."""
    net, figure = load.amps.net.sharing, load.amps.figures[item]
    parts = [part for n in numbers for _, part in net.draws(item, (n,))]
    known = [part for part in parts if part is not None]
    if figure is None or len(known) < len(parts):
        return None
    if net.network.equipment[item].needs == "any":
        return figure * max(known, default=NO_AMPS)
    own = (item, net.column) in net.network.supply_figures
    return figure * sum(known, NO_AMPS) / (1 if own else len(net.network.connections[item]))


def not_first(network: Network, infeeds: Mapping[str, Sequence[Branch]]) -> list[NotFirst]:
    """Breakers and fuses that need not trip first.

    They are on a bus with one feeder, and are rated no lower than what protects that feeder.
    """
    found = []
    for bus, branches in infeeds.items():
        if len(branches) != 1:
            continue
        upstream = _weakest(network, branches[0], OVERCURRENT)
        if upstream is None or upstream.amps is None:
            continue
        leaving = [
            device
            for branch in network.branches
            for start, _ in directions(branch)
            if start == bus and branch is not branches[0]
            for device in branch.through
        ]
        supplies = [
            connection.protector
            for connections in network.connections.values()
            for connection in connections
            if connection.bus == bus and connection.protector
        ]
        for device in dict.fromkeys([*leaving, *supplies]):
            component = network.components[device]
            if component.kind not in ("breaker", "fuse") or component.amps is None:
                continue
            if component.amps >= upstream.amps:
                found.append(NotFirst(device, component.amps, upstream.id, upstream.amps, bus))
    return found


def uncleared_shorts(network: Network, before: Power) -> list[UnclearedShort]:
    """Buses whose short no protective device parts from a source that matters elsewhere.

    A source that fed the bus and could feed nothing else is lost to nobody, so its loss is no
    reason for a record; to take another node, or to draw in another source, is. Converters are
    not counted against DC buses.
    """
    conditions = [c.id for c in network.catalogue.conditions]
    buses = network.catalogue.buses
    short, dead = (
        solve(network, every_single(conditions, [(b.id, mode) for b in buses]), before).after
        for mode in ("shorted", "dead")
    )
    used = [*(b.id for b in buses), *(s for s in network.sources if network.on_bus[s])]
    found: dict[str, UnclearedShort] = {}
    for k in range(len(conditions) * len(buses)):
        c, bus = k // len(buses), buses[k % len(buses)]
        sources = tuple(
            source.id
            for source in network.sources.values()
            if (dead.steady.produces[source.id] & short.steady.stalled.get(source.id, 0)) >> k & 1
            and (source.kind != "converter" or bus.current == "ac")
        )
        if not sources:
            continue
        one = UnclearedShort(
            bus.id,
            sources,
            tuple(s for s in sources if not before.reach[s].get(bus.id, 0) >> c & 1),
            tuple(n for n in used if (dead.steady.live[n] & ~short.steady.live[n]) >> k & 1),
            conditions[c],
        )
        most = found.get(bus.id)
        if one.breadth > (most.breadth if most else 0):
            found[bus.id] = one
    return [found[bus.id] for bus in buses if bus.id in found]


def _too_much(
    normal: Outcome,
    carried: Sequence[Load],
    source: str,
    component: str,
    limit: float,
    amps: Literal["sources", "converters"],
) -> list[Overload]:
    """The worst that a component carries of what a source gives, or of what it takes."""
    steady = normal.after.steady
    fed = spread({source: steady.produces[source]}, steady.arcs(), steady.passes)
    return _worst(
        Overload(
            component,
            float(getattr(load, amps).get(source, NO_AMPS)),
            limit,
            load.condition,
            _unknown(load.amps, {n for n, mask in fed.items() if mask >> k & 1}),
        )
        for k, load in enumerate(carried)
    )


def _worst(overloads: Iterable[Overload]) -> list[Overload]:
    """The one that is furthest over its limit, if any is over."""
    over = [o for o in overloads if o.amps > o.limit + LEAST_OVER]
    return [max(over, key=lambda o: o.amps)] if over else []


def _nearest(records: Iterable[R]) -> list[R]:
    """Those that are nearest to their limit and not over it, the nearest first."""
    within = [r for r in records if 0 < r.percent <= 100]
    return sorted(within, key=lambda r: r.percent, reverse=True)[:MOST_NEAREST]


def _unknown(amps: Amps, nodes: Iterable[str]) -> tuple[str, ...]:
    """The equipment without figures that is fed from any of these nodes."""
    network, wanted = amps.net.sharing.network, set(nodes)
    unknown = {
        item
        for item in {item for node in wanted for item, _ in network.on_bus[node]}
        if any(network.connections[item][n].bus in wanted for n in amps.powered.get(item, ()))
        and not amps.has_figure(item)
    }
    return tuple(item for item in network.equipment if item in unknown) if unknown else ()


def _weakest(network: Network, branch: Branch, kinds: Collection[str] = ()) -> Component | None:
    """The device in a branch with the lowest rating, of any kind or of some."""
    rated = [
        component
        for component in (network.components[d] for d in branch.through)
        if component.amps is not None and (not kinds or component.kind in kinds)
    ]
    # Of equal ratings, the one that is there to open.
    return min(rated, key=lambda c: (c.amps or 0.0, c.kind not in OVERCURRENT), default=None)
