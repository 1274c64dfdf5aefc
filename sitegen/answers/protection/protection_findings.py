"""What the audit of protection finds, as advice to the author: each subject once, at its worst."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from sitegen.answers.protection.protection_audit import LOAD_SHARE, protection
from sitegen.answers.protection.protection_records import Overload, OverWire, Protection
from sitegen.catalogue.findings import Finding, Place
from sitegen.catalogue.fitted import is_fitted
from sitegen.catalogue.model import Catalogue, Equipment, Indication, Named
from sitegen.catalogue.read import ReadResult
from sitegen.catalogue.wire_chart import WireRow
from sitegen.quantities import PLAIN, Figure, rounded, whole
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import condition_states
from sitegen.solver.scenarios import bits
from sitegen.words import MOST_LISTED, counted, join_words

CIRCULAR = "FAA AC 43.13-1B"


_Subject = tuple[str, Place]
"""A component's name in messages, and the place of its record."""

_Advice = tuple[str, str, float, str, str]
"""Rule, component, how bad it is, what is wrong, and a hint."""


def protection_findings(reading: ReadResult, table: Sequence[WireRow]) -> Iterator[Finding]:
    """Advice on what protects what, over all airframes, in the order of the places.

    Parameters
    ----------
    reading : a catalogue without errors.
    table : Table 11-3 of the circular.
    """
    catalogue = reading.catalogue
    assert catalogue is not None
    # The worst of each rule about each subject; of equal ones the first.
    worst: dict[tuple[str, _Subject], tuple[float, Finding]] = {}
    for airframe in catalogue.airframes:
        network = build(catalogue, airframe.id)
        subjects = dict(_subjects(reading, catalogue, network))
        on = f" on {airframe.id}" if len(catalogue.airframes) > 1 else ""
        found = _advice(network, protection(network, table), subjects, on, table)
        for rule, component, badness, message, hint in found:
            words, place = subjects[component]
            key = rule, subjects[component]
            if key not in worst or badness > worst[key][0]:
                code = f"protection-{rule}"
                worst[key] = badness, Finding("advice", place, f"{words}: {message}", hint, code)
    yield from sorted((finding for _, finding in worst.values()), key=lambda f: f.place)


def _advice(
    network: Network,
    audit: Protection,
    subjects: Mapping[str, _Subject],
    on: str,
    table: Sequence[WireRow],
) -> Iterator[_Advice]:
    """What is wrong on one airframe; `on` names it where there are several."""
    for source in audit.generators:
        rated = source.limit / LOAD_SHARE
        yield (
            "generator",
            source.component,
            source.amps / source.limit,
            f"it gives {_sum(source)} of its {_amps(rated)} in {source.condition}{on},"
            f" over {LOAD_SHARE * 100:g} %, and no meter watches it.",
            f"Enter its loadmeter or ammeter, or check the loads ({CIRCULAR}, 11-35).",
        )
    for component, condition, over in audit.ratings:
        carries = "may carry" if over.bound == "up to " else "carries"
        yield (
            "rating",
            component,
            float(over.percent),
            f"with nothing failed it {carries} {over.bound}{_amps(over.amps)} in {condition}{on},"
            f" {whole(over.percent)} % of its {_amps(over.rating)}.",
            "Check its rating, and the amps of what it feeds.",
        )
    for wire in audit.wires:
        yield _wire(network, wire, table)
    for load in audit.loads:
        yield _too_small("load", load, on, "of what it feeds.")
    for order in audit.order:
        yield (
            "order",
            order.component,
            order.rating / order.upstream_rating,
            f"its {_amps(order.rating)} is no less than the {_amps(order.upstream_rating)} of"
            f" {order.upstream}, which feeds {order.bus}{on}: a fault downstream of it may take"
            " the whole bus.",
            "Check both ratings: the one nearest the fault should open first.",
        )
    for side in audit.sides:
        below = (
            "on the bus and below it: once the other feeder is gone, this one is over its rating."
        )
        yield _too_small("side", side, f"{on} when it alone feeds {side.bus}", below)
    for short in audit.shorts:
        drawn_in, also = (
            join_words([subjects[node][0] for node in nodes], most=MOST_LISTED)
            for nodes in (short.drawn_in, short.also)
        )
        yield (
            "short",
            short.bus,
            short.breadth,
            f"a short on it reaches {join_words(short.sources, most=MOST_LISTED)} in"
            f" {short.condition}{on} through no protective device"
            + (f", and takes {also} too" if also else "")
            + (f"; {drawn_in} did not feed it before the fault" if drawn_in else "")
            + ".",
            "Enter the breaker, fuse or fuse link between them, or `protective: true` on a"
            " contactor with its own fault sensing.",
        )
    yield from _voltage(network, audit, on)
    before = condition_states(network)
    for bus, mask in before.conflicts.items():
        first = bits(mask)[0]
        sources = [
            source
            for source, reach in before.reach.items()
            if network.sources[source].current == "ac" and reach.get(bus, 0) >> first & 1
        ]
        yield (
            "conflict",
            bus,
            1.0,
            f"in {network.catalogue.conditions[first].id}{on} {join_words(sources)} meet on it with"
            " nothing failed and are not synchronised: whether what it feeds works is not known.",
            "Give them one `synchronised` name, or enter what keeps them apart.",
        )
    for loop in audit.loops:
        failed = " and ".join(f"{component} {mode}" for component, mode in loop.failed)
        yield (
            "loop",
            loop.converter,
            0.0 if failed else 1.0,
            f"in {loop.condition}{on}{f' with {failed}' if failed else ''} its own output carries"
            " what it draws at its input, so its amps and all that add to them are not known.",
            "Check `fed-from`, or enter what keeps the two apart: a diode, a contactor.",
        )


def _voltage(network: Network, audit: Protection, on: str) -> Iterator[_Advice]:
    for wire in audit.long_wires:
        amps = f"{'short-time ' if wire.short_time else ''}{_amps(float(wire.drop.amps))}"
        yield (
            "voltage-drop",
            wire.item or f"feeder {wire.branch}",
            float(wire.drop.volts / wire.allowed),
            f"{f'its supply from {wire.bus}' if wire.item else 'it'} drops {wire.drop.bound}"
            f"{PLAIN.drop(wire.drop.volts)} at {amps} in {wire.condition}{on}, over the"
            f" {float(wire.allowed):g} V allowed.",
            f"Check `length`, `wire` and the amps ({CIRCULAR}, Tables 11-6 and 11-9).",
        )
    for low in audit.low_volts:
        volts = PLAIN.volts_left(low.left.volts, low.left.at_least, low.left.at_most)
        has = "may have as little as"
        if low.left.most < low.least:
            has = "has at most" if low.left.bound else "has"
            volts = PLAIN.volts_left(low.left.most, at_most=bool(low.left.bound))
        yield (
            "min-volts",
            low.item,
            low.least / max(float(low.left.volts), 0.001),
            f"it {has} {volts} in {low.condition}{on} at the end of its"
            f" conductors; its `min-volts` is {low.least:g}.",
            "Check the lengths and gauges on the way, `internal-ohms` and `min-volts`.",
        )
    for meter in audit.low_meters:
        volts = PLAIN.volts_left(meter.left.volts, meter.left.at_least, meter.left.at_most)
        shows = "may show as little as" if meter.left.at_least else "shows"
        yield (
            "volts-range",
            meter.source,
            meter.least / max(float(meter.left.volts), 0.001),
            f"in {meter.condition}{on} voltmeter {meter.meter} {shows} {volts} under load; with"
            f" 1.5 V or 5 % less than {meter.least:g} V `troubleshoot` looks for a failure.",
            "Check lengths, gauges and `internal-ohms`, or widen its `volts-range`.",
        )


def _too_small(rule: str, found: Overload, where: str, check: str) -> _Advice:
    return (
        rule,
        found.component,
        found.amps / found.limit,
        f"its {_amps(found.limit)} is less than the {_sum(found)} that it feeds in"
        f" {found.condition}{where}.",
        f"Check its rating and the continuous amps {check}",
    )


def _wire(network: Network, found: OverWire, table: Sequence[WireRow]) -> _Advice:
    kind = network.components[found.component].kind
    wanted = [
        row.gauge
        for row in table
        if ((row.breaker if kind == "breaker" else row.fuse) or 0.0) >= found.rating
    ]
    thicker = f"; {_amps(found.rating)} needs gauge {max(wanted)} or thicker" if wanted else ""
    nearest = "" if found.row.gauge == found.gauge else f" (as for gauge {found.row.gauge})"
    return (
        "wire",
        found.component,
        found.rating / found.allowed,
        f"{_amps(found.rating)} is too much for its wire: gauge {found.gauge} takes a {kind} of"
        f" {_amps(found.allowed)} at most{nearest}.",
        f"Check both against the approved data{thicker} ({CIRCULAR}, Table 11-3, copper).",
    )


def _subjects(
    reading: ReadResult, catalogue: Catalogue, network: Network
) -> Iterator[tuple[str, _Subject]]:
    """By component id: its name in messages, and the place of its record."""
    named: list[tuple[str, Named]] = [
        *(("source", source) for source in catalogue.sources),
        *(("bus", bus) for bus in catalogue.buses),
        *((device.kind, device) for device in catalogue.devices),
    ]
    for noun, record in named:
        if is_fitted(record, network.airframe):
            yield record.id, (f"{noun} {record.id}", reading.locations.of(record))
    feeders = [f for f in catalogue.feeders if is_fitted(f, network.airframe)]
    for number, feeder in enumerate(feeders):
        place = reading.locations.of(feeder)
        yield f"feeder {number}", (f"feeder {feeder.from_} to {feeder.to}", place)
    for number, branch in enumerate(network.branches[len(feeders) :], len(feeders)):
        place = reading.locations.of(network.sources[branch.target])
        yield f"feeder {number}", (f"input of source {branch.target}", place)
    devices = {d.id for d in catalogue.devices}
    owners: list[Equipment | Indication] = [*catalogue.equipment, *catalogue.indications]
    for owner in owners:
        if not is_fitted(owner, network.airframe):
            continue
        yield owner.id, (f"equipment {owner.id}", reading.locations.of(owner))
        noun = "equipment" if isinstance(owner, Equipment) else "indication"
        for connection in network.connections[owner.id]:
            if connection.protector and connection.protector not in devices:
                own = network.components[connection.protector]
                words = f"{own.kind} {own.name} of {noun} {owner.id}"
                yield own.id, (words, reading.locations.of(owner))


def _sum(found: Overload) -> str:
    """Amps, and what they leave out."""
    if not found.unknown:
        return _amps(found.amps)
    left_out = counted(len(found.unknown), "item")
    return f"at least {_amps(found.amps)} ({left_out} without amps left out)"


def _amps(amps: Figure) -> str:
    return f"{float(rounded(amps, 2)):g} A"
