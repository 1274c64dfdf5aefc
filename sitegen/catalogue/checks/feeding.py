"""Rules about where power can get to at all, with every device conducting.

The arcs are built here again, not by `solver.graph`: these records are not checked yet, and make no
network.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from sitegen.catalogue.checks.context import Airframes, CheckContext, Path
from sitegen.catalogue.findings import Finding, advice, error
from sitegen.reachable import reachable
from sitegen.words import quoted


def every_bus_can_be_fed(m: CheckContext) -> Iterator[Finding]:
    """On every airframe some source can reach every bus."""
    if any(_is_end(path) for path in m.unknown):
        return  # it may be the one that is meant there
    bare: dict[int, list[str]] = {}
    arcs = list(_arcs(m))
    for airframe in m.airframes:
        reached = _reached(m, airframe, arcs)
        for i, bus in enumerate(m.catalogue.buses):
            if airframe in m.fitted(bus) and bus.id not in reached:
                bare.setdefault(i, []).append(airframe)
    for i, airframes in bare.items():
        bus = m.catalogue.buses[i]
        yield error(
            m.at(("buses", i)),
            f"bus {bus.id}: no source can feed it{m.on(airframes)}, "
            "even with every contactor closed.",
            "Add the feeder that is missing, or turn the diode round.",
        )


@dataclass(frozen=True)
class _Arc:
    """A direction in which a branch can feed."""

    origin: str
    target: str
    fitted: Airframes
    """The airframes on which power can pass."""


def _arcs(m: CheckContext) -> Iterator[_Arc]:
    c = m.catalogue
    for feeder in c.feeders:
        fitted = m.may_be_fitted(feeder)
        yield _Arc(feeder.from_, feeder.to, fitted)
        entries = [entry for name in feeder.through for entry in m.components(name)]
        diodes = [entry.fitted for entry in entries if entry.kind == "diode"]
        yield _Arc(feeder.to, feeder.from_, fitted.difference(*diodes))
    for source in c.sources:
        for feed in source.fed_from:
            # What reaches a converter's input makes it produce; nothing comes back.
            yield _Arc(feed.bus, source.id, m.may_be_fitted(source))


def _reached(m: CheckContext, airframe: str, all_arcs: Iterable[_Arc]) -> set[str]:
    arcs: dict[str, list[str]] = {}
    for arc in all_arcs:
        if airframe in arc.fitted:
            arcs.setdefault(arc.origin, []).append(arc.target)
    sources = [s for s in m.catalogue.sources if airframe in m.may_be_fitted(s)]
    return reachable(arcs, [s.id for s in sources if s.kind != "converter"])


def _is_end(path: Path) -> bool:
    """Whether a node named at this path is the end of a feeder, or feeds a converter."""
    return path[-1] in ("from", "to") or (path[0] == "sources" and path[-1] == "bus")


def every_source_feeds_something(m: CheckContext) -> Iterator[Finding]:
    """A source has a feeder, or a converter on its terminals."""
    if any(_is_end(path) for path in m.unknown):
        return  # it may be the one that is meant there
    c = m.catalogue
    used = {end for f in c.feeders for end in (f.from_, f.to)}
    used |= {feed.bus for s in c.sources for feed in s.fed_from}
    arcs = list(_arcs(m))
    onward = {arc.origin for arc in arcs if arc.fitted}
    for i, source in enumerate(c.sources):
        if source.id not in used:
            yield advice(
                m.at(("sources", i)),
                f"source {source.id} feeds nothing: no feeder begins at it.",
                "Add its feeder, or delete it.",
            )
        elif source.id not in onward:
            k = next(k for k, feeder in enumerate(c.feeders) if feeder.to == source.id)
            other = c.feeders[k].from_
            if any(other not in _reached(m, airframe, arcs) for airframe in m.airframes):
                continue  # that bus is reported
            yield advice(
                m.at(("feeders", k)),
                f"source {source.id} feeds nothing: the diode in this feeder lets current only"
                " into it.",
                f"Turn the feeder round: from {quoted(source.id)} to {quoted(other)}.",
            )


def every_bus_has_something_on_it(m: CheckContext) -> Iterator[Finding]:
    """A bus has a supply, a converter or a second feeder."""
    if any(_is_end(path) or path[-1] == "bus" for path in m.unknown):
        return  # it may be the one that is meant there
    c = m.catalogue
    fed_buses = {one.supply.bus for one in m.supplies}
    fed_buses |= {feed.bus for s in c.sources for feed in s.fed_from}
    feeders: dict[str, int] = {}
    for feeder in c.feeders:
        for end in (feeder.from_, feeder.to):
            feeders[end] = feeders.get(end, 0) + 1
    for i, bus in enumerate(c.buses):
        if bus.id not in fed_buses and feeders.get(bus.id, 0) < 2:
            yield advice(
                m.at(("buses", i)),
                f"bus {bus.id}: nothing is fed from it.",
                "Add the equipment that it supplies, or delete it.",
            )


def equipment_is_supplied_everywhere(m: CheckContext) -> Iterator[Finding]:
    """Equipment has a supply on every airframe to which it is fitted."""
    for i, equipment in enumerate(m.catalogue.equipment):
        fitted = m.fitted(equipment)
        supplied = frozenset[str]().union(*(m.may_be_fitted(s) for s in equipment.supplies))
        bare = fitted - supplied
        if bare:
            yield error(
                m.at(("equipment", i, "supplies")),
                f"equipment {equipment.id} has no supply{m.on(bare)}.",
                "Add a supply that is fitted there, or fix the `fitted-to` of the equipment.",
            )


def every_airframe_has_a_condition(m: CheckContext) -> Iterator[Finding]:
    """Without a condition there is no answer for an airframe."""
    covered = frozenset[str]().union(*(m.may_be_fitted(c) for c in m.catalogue.conditions))
    for i, airframe in enumerate(m.catalogue.airframes):
        if airframe.id not in covered:
            yield error(
                m.at(("airframes", i)),
                f"airframe {airframe.id}: no condition is fitted to it.",
                "Add one, or widen the `fitted-to` of one.",
            )


def conditions_list_no_converters(m: CheckContext) -> Iterator[Finding]:
    """A converter follows its input, so a condition does not put it on line."""
    converters = {s.id for s in m.catalogue.sources if s.kind == "converter"}
    for i, condition in enumerate(m.catalogue.conditions):
        for j, source in enumerate(condition.sources):
            if source in converters:
                yield advice(
                    m.at(("conditions", i, "sources", j)),
                    f"condition {condition.id}: the converter {quoted(source)} need not be listed; "
                    "it follows its input.",
                    "Delete it from the list.",
                )
