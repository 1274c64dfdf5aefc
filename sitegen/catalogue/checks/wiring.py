"""Rules about feeders, supplies and the devices in them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sitegen.catalogue.checks.context import (
    NODES,
    Airframes,
    CheckContext,
    OneSupply,
    Path,
    records_of,
)
from sitegen.catalogue.checks.devices_used_twice import protector_kind, shared_protector
from sitegen.catalogue.findings import Finding, advice, error
from sitegen.catalogue.kinds import COIL_OPERATED, SWITCHING
from sitegen.catalogue.model import Bus, Device, Feed, Feeder, Indication, Source, Supply, Terms
from sitegen.catalogue.wire_chart import wire_resistances
from sitegen.words import quoted, with_article


def feeder_joins_two_nodes(m: CheckContext) -> Iterator[Finding]:
    """A feeder runs from one node to another."""
    for i, feeder in enumerate(m.catalogue.feeders):
        if feeder.from_ == feeder.to:
            yield error(
                m.at(("feeders", i, "to")),
                f"The feeder from {quoted(feeder.from_)} ends where it begins.",
                "Name another bus or source at one of its ends.",
            )
    for i, source in enumerate(m.catalogue.sources):
        for j, feed in enumerate(source.fed_from):
            if feed.bus == source.id:
                yield error(
                    m.at(("sources", i, "fed-from", j, "bus")),
                    f"source {source.id} is fed from itself.",
                    "Name the bus that feeds it.",
                )


def feeder_keeps_to_one_current(m: CheckContext) -> Iterator[Finding]:
    """No feeder joins AC to DC; a converter does that."""
    for i, feeder in enumerate(m.catalogue.feeders):
        joined = _of_two_currents(m, feeder)
        if joined:
            origin, target = joined
            yield error(
                m.at(("feeders", i)),
                f"The feeder joins {quoted(origin.id)} ({origin.current.upper()}) to "
                f"{quoted(target.id)} ({target.current.upper()}).",
                "Fix the `current` of one of the two, or put a converter between them.",
            )


def _of_two_currents(m: CheckContext, feeder: Feeder) -> tuple[Source | Bus, Source | Bus] | None:
    fitted = m.fitted(feeder)
    for origin in _nodes(m, feeder.from_, fitted):
        for target in _nodes(m, feeder.to, fitted & m.fitted(origin)):
            if origin.current != target.current:
                return origin, target
    return None


def _nodes(m: CheckContext, name: str, airframes: Airframes) -> list[Source | Bus]:
    return [
        e.record
        for e in m.components(name)
        if isinstance(e.record, (Source, Bus)) and e.kind in NODES and e.fitted & airframes
    ]


def wirings(m: CheckContext) -> Iterator[tuple[str, Path, Feeder | Feed | Supply]]:
    """Every conductor, with words for the record it is in, and its path."""
    for _, words, path, record in records_of(m.catalogue):
        if isinstance(record, Feeder):
            yield words, path, record
    for i, source in enumerate(m.catalogue.sources):
        for j, feed in enumerate(source.fed_from):
            yield f"source {source.id}", ("sources", i, "fed-from", j), feed
    for one in m.supplies:
        yield one.owner_words, one.path, one.supply


def lengths_have_a_gauge(m: CheckContext) -> Iterator[Finding]:
    """A conductor with a length has a gauge that Table 11-9 has: else no drop follows from it."""
    known = wire_resistances()
    for words, path, wiring in wirings(m):
        if wiring.length is None:
            continue
        if wiring.wire is None:
            yield advice(
                m.key_at((*path, "length")),
                f"{words}: a `length` without `wire`, so no voltage drop follows from it.",
                "Write the gauge: `wire: 20`.",
            )
        elif wiring.wire not in known:
            near = sorted(known, key=lambda gauge: abs(gauge - (wiring.wire or 0)))[:2]
            yield advice(
                m.at((*path, "wire")),
                f"{words}: AC 43.13-1B, Table 11-9, has no gauge {wiring.wire}, so its voltage"
                " drop is not known.",
                f"Check the gauge: the table has {min(near)} and {max(near)}.",
            )


def feeders_are_unique(m: CheckContext) -> Iterator[Finding]:
    """Two feeders between the same nodes differ in the devices in them."""
    firsts: dict[tuple[object, ...], int] = {}
    for i, feeder in enumerate(m.catalogue.feeders):
        for airframe in sorted(m.fitted(feeder)):
            key = (airframe, feeder.from_, feeder.to, *feeder.through)
            first = firsts.setdefault(key, i)
            if first != i:
                yield advice(
                    m.at(("feeders", i)),
                    f"The feeder from {quoted(feeder.from_)} to {quoted(feeder.to)} is defined "
                    f"twice; first at {m.at(('feeders', first))}.",
                    "Delete one of the two.",
                )
                break


def one_protector_a_supply(m: CheckContext) -> Iterator[Finding]:
    """A supply has a breaker or a fuse, not both."""
    for one in m.supplies:
        if one.supply.breaker is not None and one.supply.fuse is not None:
            yield error(
                m.key_at((*one.path, "fuse")),
                f"{one.owner_words}: the supply from {quoted(one.supply.bus)} has both a breaker "
                "and a fuse.",
                "Delete one; a second device in the line belongs to a feeder to a bus of its own.",
            )


def supplies_are_unique(m: CheckContext) -> Iterator[Finding]:
    """Two supplies of one owner differ in their bus or in their breaker."""
    seen: dict[tuple[Path, str, str], OneSupply] = {}
    for one in m.supplies:
        shared = shared_protector(one)
        if shared is None:
            continue
        earlier = seen.setdefault((one.path[:2], one.supply.bus, shared), one)
        if earlier is not one and earlier.fitted & one.fitted:
            yield error(
                m.at(one.path),
                f"{one.owner_words}: this supply comes from the same bus through the same "
                f"{protector_kind(one)} {quoted(shared)} as an earlier one.",
                "Delete it, or name the bus or breaker that is meant.",
            )


def switching_devices_have_terms(m: CheckContext) -> Iterator[Finding]:
    """Contactors, relays and switches say what closes them; no other device closes."""
    for i, device in enumerate(m.catalogue.devices):
        path = ("devices", i)
        if device.kind in SWITCHING and device.closes_when is None:
            yield error(
                m.at(path),
                f"{device.kind} {device.id}: nothing says what closes it.",
                "Write closes-when: {switches: {a-switch: a position}, live: [a bus]}.",
            )
        yield from terms_say_something(
            m, device.closes_when, (*path, "closes-when"), f"{device.kind} {device.id}", "closed"
        )
        if device.kind not in SWITCHING and device.closes_when is not None:
            yield not_of_kind(m, device, (*path, "closes-when"))
        if device.protective and device.kind not in COIL_OPERATED:
            yield error(
                m.key_at((*path, "protective")),
                f"{device.kind} {device.id}: only a contactor or relay can be `protective`.",
                "Delete it, or fix the `kind`.",
            )


def not_of_kind(m: CheckContext, record: Device | Indication, path: Path) -> Finding:
    """A field that its record's kind does not have."""
    return error(
        m.key_at(path),
        f"{record.kind} {record.id}: {with_article(record.kind)} has no `{path[-1]}`.",
        "Delete it, or fix the `kind`.",
    )


def terms_say_something(
    m: CheckContext, structures: Sequence[Terms] | None, path: Path, owner: str, what: str
) -> Iterator[Finding]:
    """Terms of which there is none hold at all times."""
    nothing = Terms()
    for i, terms in enumerate(structures or ()):
        if terms == nothing:
            yield advice(
                m.at((*path, i)),
                f"{owner}: there is no term here, so it is {what} at all times.",
                "Write the terms, such as live: [a bus].",
            )


def converters_have_an_input(m: CheckContext) -> Iterator[Finding]:
    """A converter is fed from a bus; no other source is."""
    for i, source in enumerate(m.catalogue.sources):
        path = ("sources", i)
        if source.kind == "converter" and not source.fed_from:
            yield error(
                m.at(path),
                f"source {source.id}: nothing says what the converter is fed from.",
                "Write fed-from: {bus: a bus, through: [its breaker]}.",
            )
        if source.kind != "converter" and source.fed_from:
            yield error(
                m.key_at((*path, "fed-from")),
                f"source {source.id}: {with_article(source.kind)} is not fed from a bus; only "
                "a converter is.",
                "Delete `fed-from`, or fix the `kind`.",
            )


def sources_are_rated(m: CheckContext) -> Iterator[Finding]:
    """A battery has its capacity and any other source its rated amps."""
    for i, source in enumerate(m.catalogue.sources):
        if source.kind == "battery" and source.amp_hours is None:
            yield advice(
                m.at(("sources", i)),
                f"source {source.id}: the battery has no `amp-hours`.",
                "Without them no battery time can be computed.",
            )
        if source.kind != "battery" and source.amps is None:
            yield advice(
                m.at(("sources", i)),
                f"source {source.id}: it has no rated `amps`.",
                "Without them its load cannot be shown in percent.",
            )


def devices_in_feeders(m: CheckContext) -> frozenset[str]:
    """The ids of the devices in feeders."""
    return frozenset(name for feeder in m.catalogue.feeders for name in feeder.through)


def devices_in_branches(m: CheckContext) -> frozenset[str]:
    """The ids of the devices in feeders and in the inputs of converters."""
    feeds = [feed for source in m.catalogue.sources for feed in source.fed_from]
    return devices_in_feeders(m).union(*(feed.through for feed in feeds))
