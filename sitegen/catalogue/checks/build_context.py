"""A catalogue -> what the rules work on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from sitegen.catalogue.checks.context import (
    COMPONENTS,
    MOST_DUPLICATES,
    CheckContext,
    Entry,
    OneSupply,
)
from sitegen.catalogue.checks.mentions import mentions_of
from sitegen.catalogue.checks.unread_records import UnreadRecords
from sitegen.catalogue.model import Catalogue, Equipment, Indication, Protector
from sitegen.catalogue.protector_ids import protector_id
from sitegen.catalogue.record_locations import RecordLocations


def check_context(
    catalogue: Catalogue,
    locations: RecordLocations,
    unread: UnreadRecords,
    notes: Sequence[str] | None = None,
) -> CheckContext:
    """Make a catalogue ready for the rules.

    Parameters
    ----------
    catalogue : as far as its records could be understood.
    locations : where they are.
    unread : what may exist in what could not be understood.
    notes : the longer texts beside it; None where they are not known.
    """
    airframes = tuple(a.id for a in catalogue.airframes)
    empty = CheckContext(catalogue, locations, airframes, {}, (), (), unread)
    supplies = tuple(_supplies(empty))
    spaces: dict[str, dict[str, list[Entry]]] = {COMPONENTS: {}}
    for space, entry in _entries(empty, supplies):
        entries = spaces.setdefault(space, {}).setdefault(entry.id, [])
        if len(entries) < MOST_DUPLICATES:
            entries.append(entry)
    mentions = tuple(mentions_of(empty, supplies))
    known = None if notes is None else tuple(notes)
    return CheckContext(catalogue, locations, airframes, spaces, mentions, supplies, unread, known)


def _supplies(m: CheckContext) -> Iterator[OneSupply]:
    for section, noun, owners in (
        ("equipment", "equipment", m.catalogue.equipment),
        ("indications", "indication", m.catalogue.indications),
    ):
        for i, owner in enumerate(owners):
            assert isinstance(owner, (Equipment, Indication))
            fitted = m.fitted(owner)
            for j, supply in enumerate(owner.supplies):
                yield OneSupply(
                    owner,
                    f"{noun} {owner.id}",
                    supply,
                    (section, i, "supplies", j),
                    fitted & m.fitted(supply),
                )


def _entries(m: CheckContext, supplies: Iterable[OneSupply]) -> Iterator[tuple[str, Entry]]:
    c = m.catalogue
    everywhere = m.everywhere
    for i, source in enumerate(c.sources):
        yield COMPONENTS, Entry(source.id, "source", source, ("sources", i), m.fitted(source))
    for i, bus in enumerate(c.buses):
        yield COMPONENTS, Entry(bus.id, "bus", bus, ("buses", i), m.fitted(bus))
    for i, device in enumerate(c.devices):
        yield COMPONENTS, Entry(device.id, device.kind, device, ("devices", i), m.fitted(device))
    for i, e in enumerate(c.equipment):
        yield COMPONENTS, Entry(e.id, "equipment", e, ("equipment", i), m.fitted(e))
    for one in supplies:
        number = one.path[-1]
        assert isinstance(number, int)
        for kind, protector in (("breaker", one.supply.breaker), ("fuse", one.supply.fuse)):
            if isinstance(protector, Protector):
                made = protector_id(
                    one.owner.id,
                    len(one.owner.supplies),
                    number,
                    "breaker" if kind == "breaker" else "fuse",
                )
                path = (*one.path, kind)
                name = protector.id or made
                written = protector.id is not None
                yield COMPONENTS, Entry(name, f"own {kind}", protector, path, one.fitted, written)
    for section, kind, records in (
        ("switches", "switch", c.switches),
        ("panels", "panel", c.panels),
        ("conditions", "condition", c.conditions),
        ("failures", "failure", c.failures),
        ("indications", "indication", c.indications),
        ("functions", "function", c.functions),
        ("handout", "handout", c.handout),
    ):
        for i, record in enumerate(records):
            yield section, Entry(record.id, kind, record, (section, i), m.fitted(record))
    for i, airframe in enumerate(c.airframes):
        path = ("airframes", i)
        yield "airframes", Entry(airframe.id, "airframe", airframe, path, everywhere)
    for i, column in enumerate(c.load_columns):
        path = ("load-columns", i)
        yield "load-columns", Entry(column.id, "load column", column, path, everywhere)
