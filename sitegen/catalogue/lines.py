"""The lines of a catalogue that are verified one by one, in the order of a wiring chart.

A line is a record, or one supply of equipment or of an indication with its breaker. `checked` of a
record covers the supplies in it, and that of a supply its breaker.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from sitegen.catalogue.fitted import is_fitted
from sitegen.catalogue.line_facts import Names, record_facts, supply_facts
from sitegen.catalogue.model import (
    Bus,
    Catalogue,
    Checked,
    Device,
    Equipment,
    Feeder,
    Fitted,
    Indication,
    Line,
    Protector,
    Source,
    Supply,
)
from sitegen.catalogue.protector_ids import own_protectors, protector_id

Path = tuple[str | int, ...]

SECTIONS = {
    "airframes": "Airframes",
    "sources": "Sources",
    "buses": "Buses",
    "feeders": "Feeders",
    "devices": "Breakers, links and contactors",
    "equipment": "Items, bus by bus",
    "switches": "Switches",
    "panels": "Panels",
    "indications": "Meters and lamps",
    "conditions": "Conditions",
    "functions": "Functions",
    "failures": "Named failures",
}
"""By section, in the order of the check sheet: its title there. Load columns, abbreviations and
handouts say nothing of the aircraft."""


@dataclass(frozen=True)
class CatalogueLine:
    """One line to verify."""

    path: Path
    """Where it is in the catalogue: (section, index), for a supply (..., "supplies", number)."""
    title: str
    """The part of the check sheet that it belongs to."""
    name: str
    """What it is called: `COM 1`, `Forward bus to Mid bus`."""
    keys: frozenset[str]
    """The ids of what it says something of: of a feeder its ends and devices, of a supply what it
    feeds and its own breaker. What may share its id with a component has its section before it."""
    record_id: str
    """The id of its record, of a supply that of what it feeds; empty for a feeder."""
    reference: str
    """The document that it was taken from; may be empty."""
    checked: Checked | None
    """None: nobody has verified it."""
    record: Line = field(repr=False, compare=False)
    names: Names = field(repr=False, compare=False)

    @property
    def facts(self) -> str:
        """What is to be verified, in one sentence without its full stop."""
        if isinstance(self.record, Supply):
            return supply_facts(self.record, self.names)
        return record_facts(self.record, self.names)


def has_checks(catalogue: Catalogue) -> bool:
    """Whether anything in a catalogue is marked as checked; else nothing is said of it."""
    return any(one.checked for one in _every_line(catalogue))


def _every_line(catalogue: Catalogue) -> Iterator[Line]:
    yield catalogue.aircraft
    for section in (*SECTIONS, "load_columns", "handout"):
        yield from getattr(catalogue, section)
    owners: tuple[Equipment | Indication, ...] = (*catalogue.equipment, *catalogue.indications)
    for owner in owners:
        yield from owner.supplies
    yield from (own for _, _, own, _ in own_protectors(catalogue))


def lines(catalogue: Catalogue, airframe: str | None = None) -> list[CatalogueLine]:
    """All lines in the order of a wiring chart: along the power, from the sources to the items.

    Parameters
    ----------
    catalogue : the whole fleet's.
    airframe : the id of one airframe; None for all lines of the fleet.
    """
    names = Names(catalogue)
    nodes = {node: i for i, node in enumerate(_along_the_power(catalogue))}
    found: dict[str, list[tuple[tuple[Any, ...], CatalogueLine]]] = {s: [] for s in SECTIONS}

    def rank(ids: Iterable[str]) -> int:
        return min((nodes[i] for i in ids if i in nodes), default=len(nodes))

    ends = ends_of_devices(catalogue)
    for section in SECTIONS:
        if section not in catalogue.model_fields_set:
            continue  # the one airframe of a catalogue that names none
        for i, record in enumerate(getattr(catalogue, section)):
            if not _is_here(record, airframe):
                continue
            keys = frozenset([getattr(record, "id", "")])
            order: tuple[Any, ...] = (i,)
            if isinstance(record, (Source, Bus)):
                order = (nodes[record.id], i)
            elif isinstance(record, Feeder):
                keys = frozenset([record.from_, record.to, *record.through])
                order = (rank([record.from_]), rank([record.to]), i)
            elif isinstance(record, Device):
                order = (rank(ends.get(record.id, ())), i)
            elif isinstance(record, (Equipment, Indication)):
                supplies = list(_supplies(record, (section, i), airframe, names))
                for bus, line in supplies:
                    place = (rank([bus]), section != "equipment", i, line.path[-1])
                    found["equipment"].append((place, line))
                if isinstance(record, Equipment):
                    order = (rank(bus for bus, _ in supplies), 0, i, -1)  # before its supplies
            elif section != "switches":
                keys = frozenset([f"{section} {record.id}"])
            line = CatalogueLine(
                (section, i),
                SECTIONS[section],
                names.of_record(record),
                keys,
                getattr(record, "id", ""),
                record.reference or "",
                record.checked,
                record,
                names,
            )
            found[section].append((order, line))
    return [line for rows in found.values() for _, line in sorted(rows, key=lambda row: row[0])]


def _is_here(record: Line, airframe: str | None) -> bool:
    if airframe is None:
        return True
    if isinstance(record, Fitted):
        return is_fitted(record, airframe)
    return getattr(record, "id", airframe) == airframe  # the other airframes


def _supplies(
    owner: Equipment | Indication, path: Path, airframe: str | None, names: Names
) -> Iterator[tuple[str, CatalogueLine]]:
    """Each supply with its bus; what is fed is named, so that the line can be read alone."""
    for j, supply in enumerate(owner.supplies):
        if not _is_here(supply, airframe):
            continue
        kind = "fuse" if supply.fuse is not None else "breaker"
        written = supply.fuse if supply.fuse is not None else supply.breaker
        own: list[str] = []
        if isinstance(written, Protector):
            own = [written.id or protector_id(owner.id, len(owner.supplies), j, kind)]
        yield (
            supply.bus,
            CatalogueLine(
                (*path, "supplies", j),
                SECTIONS["equipment"],
                f"{owner.name}, from {names[supply.bus]}",
                frozenset([owner.id, *own]),
                owner.id,
                _first(supply, written, owner),
                supply.checked or owner.checked,
                supply,
                names,
            ),
        )


def _first(supply: Supply, written: str | Protector | None, owner: Equipment | Indication) -> str:
    own = written.reference if isinstance(written, Protector) else None
    return supply.reference or own or owner.reference or ""


def ends_of_devices(catalogue: Catalogue) -> dict[str, set[str]]:
    """By device: the nodes at the ends of the feeders, and the buses of the supplies, it is in."""
    ends: dict[str, set[str]] = {}
    for feeder in catalogue.feeders:
        for device in feeder.through:
            ends.setdefault(device, set()).update((feeder.from_, feeder.to))
    for source in catalogue.sources:
        for feed in source.fed_from:
            for device in feed.through:
                ends.setdefault(device, set()).update((feed.bus, source.id))
    owners: tuple[Equipment | Indication, ...] = (*catalogue.equipment, *catalogue.indications)
    for owner in owners:
        for supply in owner.supplies:
            shared = [d for d in (supply.breaker, supply.fuse) if isinstance(d, str)]
            for device in (*shared, *supply.through):
                ends.setdefault(device, set()).add(supply.bus)
    return ends


def _along_the_power(catalogue: Catalogue) -> list[str]:
    """Sources and buses as a chart is read: from each source on, along the feeders as written."""
    onward: dict[str, list[str]] = {}
    for feeder in catalogue.feeders:
        onward.setdefault(feeder.from_, []).append(feeder.to)
    for source in catalogue.sources:
        for feed in source.fed_from:
            onward.setdefault(feed.bus, []).append(source.id)
    starts = [s.id for s in catalogue.sources if s.kind != "converter"]
    found = dict.fromkeys(starts)
    waiting = list(found)
    while waiting:
        for node in onward.get(waiting.pop(0), ()):
            if node not in found:
                found[node] = None
                waiting.append(node)
    everything = (*(s.id for s in catalogue.sources), *(b.id for b in catalogue.buses))
    return list(found | dict.fromkeys(everything))
