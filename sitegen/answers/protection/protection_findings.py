"""What the audit of protection finds, as advice to the author: each subject once, at its worst."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from sitegen.answers.loads.converter_loops import Loop
from sitegen.answers.protection.protection_audit import LOAD_SHARE, protection
from sitegen.answers.protection.protection_records import (
    NotFirst,
    Overload,
    OverWire,
    Protection,
    UnclearedShort,
)
from sitegen.catalogue.findings import Finding, Place
from sitegen.catalogue.fitted import is_fitted
from sitegen.catalogue.model import Catalogue, Equipment, Indication, Named
from sitegen.catalogue.read import ReadResult
from sitegen.catalogue.wire_chart import WireRow
from sitegen.solver.network import Network, build
from sitegen.words import MOST_LISTED, counted, join_words

CIRCULAR = "FAA AC 43.13-1B"


@dataclass(frozen=True)
class _Subject:
    """A component as its airframe has it, with the words for it."""

    words: str
    place: Place


@dataclass(frozen=True)
class _Airframe:
    """One airframe's audit, and what its messages need."""

    network: Network
    found: Protection
    subjects: dict[str, _Subject]
    on: str
    """` on block-2`; nothing where there is one airframe only."""


@dataclass
class _WorstFindings:
    """The worst finding of each rule about each subject; of equal ones the first."""

    kept: dict[tuple[str, Place, str], tuple[float, Finding]] = field(default_factory=dict)

    def add(self, rule: str, subject: _Subject, badness: float, message: str, hint: str) -> None:
        key = rule, subject.place, subject.words
        if key not in self.kept or badness > self.kept[key][0]:
            text = f"{subject.words}: {message}"
            self.kept[key] = badness, Finding("advice", subject.place, text, hint)


def protection_findings(reading: ReadResult, table: Sequence[WireRow]) -> Iterator[Finding]:
    """Advice on what protects what, over all airframes, in the order of the places.

    Parameters
    ----------
    reading : a catalogue without errors.
    table : Table 11-3 of the circular.
    """
    catalogue = reading.catalogue
    assert catalogue is not None
    worst = _WorstFindings()
    for airframe in catalogue.airframes:
        network = build(catalogue, airframe.id)
        one = _Airframe(
            network,
            protection(network, table),
            dict(_subjects(reading, catalogue, network)),
            f" on {airframe.id}" if len(catalogue.airframes) > 1 else "",
        )
        for generator in one.found.generators:
            _generator(worst, one, generator)
        for wire in one.found.wires:
            _wire(worst, one, wire, table)
        for load in one.found.loads:
            _load(worst, one, load)
        for unordered in one.found.order:
            _not_first(worst, one, unordered)
        for feeder in one.found.sides:
            _weak_feeder(worst, one, feeder)
        for short in one.found.shorts:
            _short(worst, one, short)
        for loop in one.found.loops:
            _loop(worst, one, loop)
    findings = [finding for _, finding in worst.kept.values()]
    yield from sorted(findings, key=lambda f: f.place)


def _generator(worst: _WorstFindings, one: _Airframe, found: Overload) -> None:
    rated = found.limit / LOAD_SHARE
    worst.add(
        "generator",
        one.subjects[found.component],
        found.amps / found.limit,
        f"it gives {_sum(found)} of its {_amps(rated)} in {found.condition}{one.on},"
        f" over {LOAD_SHARE * 100:g} %, and no meter watches it.",
        f"Enter its loadmeter or ammeter, or check the loads ({CIRCULAR}, 11-35).",
    )


def _wire(worst: _WorstFindings, one: _Airframe, found: OverWire, table: Sequence[WireRow]) -> None:
    kind = one.network.components[found.component].kind
    wanted = [
        row.gauge
        for row in table
        if ((row.breaker if kind == "breaker" else row.fuse) or 0.0) >= found.rating
    ]
    thicker = f"; {_amps(found.rating)} needs gauge {max(wanted)} or thicker" if wanted else ""
    nearest = "" if found.row.gauge == found.gauge else f" (as for gauge {found.row.gauge})"
    worst.add(
        "wire",
        one.subjects[found.component],
        found.rating / found.allowed,
        f"{_amps(found.rating)} is too much for its wire: gauge {found.gauge} takes a {kind} of"
        f" {_amps(found.allowed)} at most{nearest}.",
        f"Check both against the approved data{thicker} ({CIRCULAR}, Table 11-3, copper).",
    )


def _load(worst: _WorstFindings, one: _Airframe, found: Overload) -> None:
    worst.add(
        "load",
        one.subjects[found.component],
        found.amps / found.limit,
        f"its {_amps(found.limit)} is less than the {_sum(found)} that it carries in"
        f" {found.condition}{one.on}.",
        "Check its rating and the continuous amps of what it feeds.",
    )


def _not_first(worst: _WorstFindings, one: _Airframe, found: NotFirst) -> None:
    worst.add(
        "order",
        one.subjects[found.component],
        found.rating / found.upstream_rating,
        f"its {_amps(found.rating)} is no less than the {_amps(found.upstream_rating)} of"
        f" {found.upstream}, which feeds {found.bus}{one.on}: a fault downstream of it may take the"
        " whole bus.",
        "Check both ratings: the one nearest the fault should open first.",
    )


def _weak_feeder(worst: _WorstFindings, one: _Airframe, found: Overload) -> None:
    worst.add(
        "side",
        one.subjects[found.component],
        found.amps / found.limit,
        f"its {_amps(found.limit)} is less than the {_sum(found)} that it carries in"
        f" {found.condition}{one.on} when it alone feeds {found.bus}.",
        "Check its rating and the continuous amps on the bus and below it: once the other feeder"
        " is gone, this one goes too.",
    )


def _short(worst: _WorstFindings, one: _Airframe, found: UnclearedShort) -> None:
    drawn_in, also = (
        join_words([one.subjects[node].words for node in nodes], most=MOST_LISTED)
        for nodes in (found.drawn_in, found.also)
    )
    worst.add(
        "short",
        one.subjects[found.bus],
        found.breadth,
        f"a short on it reaches {join_words(found.sources, most=MOST_LISTED)} in {found.condition}"
        f"{one.on} through no protective device"
        + (f", and takes {also} too" if also else "")
        + (f"; {drawn_in} did not feed it before the fault" if drawn_in else "")
        + ".",
        "Enter the breaker, fuse or fuse link between them, or `protective: true` on a contactor"
        " with its own fault sensing.",
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
            yield record.id, _Subject(f"{noun} {record.id}", reading.locations.of(record))
    devices = {d.id for d in catalogue.devices}
    owners: list[Equipment | Indication] = [*catalogue.equipment, *catalogue.indications]
    for owner in owners:
        if not is_fitted(owner, network.airframe):
            continue
        noun = "equipment" if isinstance(owner, Equipment) else "indication"
        for connection in network.connections[owner.id]:
            if connection.protector and connection.protector not in devices:
                own = network.components[connection.protector]
                words = f"{own.kind} {own.name} of {noun} {owner.id}"
                yield own.id, _Subject(words, reading.locations.of(owner))


def _loop(worst: _WorstFindings, one: _Airframe, found: Loop) -> None:
    failed = " and ".join(f"{component} {mode}" for component, mode in found.failed)
    worst.add(
        "loop",
        one.subjects[found.converter],
        0.0 if found.failed else 1.0,
        f"in {found.condition}{one.on}{f' with {failed}' if failed else ''} its own output carries"
        " what it draws at its input, so its amps and all that add to them are not known.",
        "Check `fed-from`, or enter what keeps the two apart: a diode, a contactor.",
    )


def _sum(found: Overload) -> str:
    """Amps, and what they leave out."""
    if not found.unknown:
        return _amps(found.amps)
    left_out = counted(len(found.unknown), "item")
    return f"at least {_amps(found.amps)} ({left_out} without amps left out)"


def _amps(amps: float) -> str:
    return f"{round(amps, 2):g} A"
