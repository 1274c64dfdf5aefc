"""A rule about batteries whose volts decide something as they go down."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from sitegen.catalogue.checks.context import CheckContext
from sitegen.catalogue.findings import Finding, advice
from sitegen.catalogue.model import Source
from sitegen.words import join_words, quoted

LEAST_LEFT = 0.5
"""Of its volts: below that a battery is flat, and no limit is passed while it lasts."""


class _Limit(NamedTuple):
    """Volts at one node that something goes by."""

    node: str
    volts: float
    words: str


def sensed_batteries_have_a_range(m: CheckContext) -> Iterator[Finding]:
    """A battery has a `volts-range` where a limit in volts below its own may decide."""
    if m.unknown:
        return
    limits = sorted(_limits(m), key=lambda limit: -limit.volts)
    for i, battery in enumerate(m.catalogue.sources):
        if not _lasts(m, battery):
            continue
        by_airframe = {a: _left(m, battery, a) for a in m.airframes if a in m.fitted(battery)}
        passed = {
            limit: [a for a, left in by_airframe.items() if _is_passed(limit, battery, left)]
            for limit in limits
        }
        passed = {limit: airframes for limit, airframes in passed.items() if airframes}
        if passed:
            named = join_words([limit.words for limit in passed], most=2)
            yield advice(
                m.at(("sources", i)),
                f"battery {battery.id}: its minutes are computed at {battery.volts:g} V to the end"
                f"{m.on({a for airframes in passed.values() for a in airframes})}, but {named}.",
                "Write its `volts-range`, from flat to full: the minutes then say what moves or is"
                " lost before it is flat.",
            )


def _lasts(m: CheckContext, source: Source) -> bool:
    """Whether it is a battery whose minutes are computed, at the volts of the catalogue alone."""
    return (
        source.kind == "battery"
        and source.amp_hours is not None
        and source.volts_range is None
        and any(
            source.id in c.sources and c.battery_time is not False for c in m.catalogue.conditions
        )
    )


def _limits(m: CheckContext) -> Iterator[_Limit]:
    """The limits of closing conditions and of equipment."""
    for mention in m.mentions:
        if mention.path[0] == "devices" and mention.path[-2] in ("volts-above", "volts-below"):
            words = f"{mention.owner} goes by {mention.value:g} V at {quoted(mention.id)}"
            yield _Limit(mention.id, mention.value, words)
    for equipment in m.catalogue.equipment:
        for bus in dict.fromkeys(supply.bus for supply in equipment.supplies):
            if equipment.min_volts:
                words = f"equipment {equipment.id} needs {equipment.min_volts:g} V at {quoted(bus)}"
                yield _Limit(bus, equipment.min_volts, words)


def _is_passed(limit: _Limit, battery: Source, left: dict[str, float]) -> bool:
    """Whether a node has more than the limit of the battery, and less before that is flat."""
    at_node = left.get(limit.node, 0)
    return battery.volts * LEAST_LEFT <= limit.volts < at_node


def _left(m: CheckContext, battery: Source, airframe: str) -> dict[str, float]:
    """By node that the battery can reach, its volts there less the drops of diodes on the way."""
    found = {battery.id: battery.volts}
    waiting = [battery.id]
    others = {s.id for s in m.catalogue.sources if s.id != battery.id}
    while waiting:
        node = waiting.pop()
        for feeder in m.catalogue.feeders:
            if node not in (feeder.from_, feeder.to) or airframe not in m.fitted(feeder):
                continue
            drops = [
                d.drop_volts
                for d in m.devices_of(feeder.through, frozenset([airframe]))
                if d.kind == "diode"
            ]
            if drops and node == feeder.to:
                continue
            end = feeder.to if node == feeder.from_ else feeder.from_
            volts = found[node] - sum(drops)
            if found.get(end, 0) < volts:
                found[end] = volts
                waiting.append(end)
    # A source that is asked for its volts shows its own.
    return {node: volts for node, volts in found.items() if node not in others}
