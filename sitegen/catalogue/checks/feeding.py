"""Rules about where power can get to at all, with every device conducting."""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.catalogue.checks.material import Material, advice, error
from sitegen.catalogue.findings import Finding
from sitegen.catalogue.wording import shown


def every_bus_can_be_fed(m: Material) -> Iterator[Finding]:
    """On every airframe some source can reach every bus."""
    bare: dict[int, list[str]] = {}
    for airframe in m.airframes:
        reached = _reached(m, airframe)
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


def _reached(m: Material, airframe: str) -> set[str]:
    c = m.catalogue
    ways: dict[str, list[str]] = {}
    here = frozenset({airframe})
    for feeder in c.feeders:
        if airframe in m.fitted(feeder):
            ways.setdefault(feeder.from_, []).append(feeder.to)
            if not any(d.kind == "diode" for d in m.devices_of(feeder.through, here)):
                ways.setdefault(feeder.to, []).append(feeder.from_)
    sources = [s for s in c.sources if airframe in m.fitted(s)]
    for source in sources:
        for feed in source.fed_from:
            # What reaches a converter's input makes it produce; nothing comes back.
            ways.setdefault(feed.bus, []).append(source.id)
    waiting = [s.id for s in sources if s.kind != "converter"]
    reached = set(waiting)
    while waiting:
        for node in ways.get(waiting.pop(), ()):
            if node not in reached:
                reached.add(node)
                waiting.append(node)
    return reached


def every_source_feeds_something(m: Material) -> Iterator[Finding]:
    """A source has a feeder, or a converter on its terminals."""
    c = m.catalogue
    used = {end for f in c.feeders for end in (f.from_, f.to)}
    used |= {feed.bus for s in c.sources for feed in s.fed_from}
    for i, source in enumerate(c.sources):
        if source.id not in used:
            yield advice(
                m.at(("sources", i)),
                f"source {source.id} feeds nothing: no feeder begins at it.",
                "Add its feeder, or delete it.",
            )


def every_bus_has_something_on_it(m: Material) -> Iterator[Finding]:
    """A bus has a supply, a converter or a second feeder."""
    c = m.catalogue
    hanging = {one.supply.bus for one in m.supplies}
    hanging |= {feed.bus for s in c.sources for feed in s.fed_from}
    feeders: dict[str, int] = {}
    for feeder in c.feeders:
        for end in (feeder.from_, feeder.to):
            feeders[end] = feeders.get(end, 0) + 1
    for i, bus in enumerate(c.buses):
        if bus.id not in hanging and feeders.get(bus.id, 0) < 2:
            yield advice(
                m.at(("buses", i)),
                f"bus {bus.id}: nothing hangs on it.",
                "Add the equipment that it supplies, or delete it.",
            )


def equipment_is_supplied_everywhere(m: Material) -> Iterator[Finding]:
    """Equipment has a supply on every airframe to which it is fitted."""
    for i, equipment in enumerate(m.catalogue.equipment):
        fitted = m.fitted(equipment)
        supplied = frozenset[str]().union(*(m.fitted(s) for s in equipment.supplies))
        bare = fitted - supplied
        if bare:
            yield error(
                m.at(("equipment", i, "supplies")),
                f"equipment {equipment.id} has no supply{m.on(bare)}.",
                "Add a supply that is fitted there, or mend the `fitted-to` of the equipment.",
            )


def every_airframe_has_a_condition(m: Material) -> Iterator[Finding]:
    """Without a condition nothing can be told of an airframe."""
    covered = frozenset[str]().union(*(m.fitted(c) for c in m.catalogue.conditions))
    for i, airframe in enumerate(m.catalogue.airframes):
        if airframe.id not in covered:
            yield error(
                m.at(("airframes", i)),
                f"airframe {airframe.id}: no condition is fitted to it.",
                "Add one, or widen the `fitted-to` of one.",
            )


def conditions_list_no_converters(m: Material) -> Iterator[Finding]:
    """A converter follows its input, so a condition does not put it on line."""
    converters = {s.id for s in m.catalogue.sources if s.kind == "converter"}
    for i, condition in enumerate(m.catalogue.conditions):
        for j, source in enumerate(condition.sources):
            if source in converters:
                yield advice(
                    m.at(("conditions", i, "sources", j)),
                    f"condition {condition.id}: the converter {shown(source)} need not be listed; "
                    "it follows its input.",
                    "Delete it from the list.",
                )
