"""A catalogue -> what the rules work on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from sitegen.catalogue.checks.context import (
    COMPONENTS,
    MOST_DUPLICATES,
    CheckContext,
    Entry,
    OneSupply,
    records_of,
)
from sitegen.catalogue.checks.mentions import mentions_of
from sitegen.catalogue.checks.unread_records import UnreadRecords
from sitegen.catalogue.kinds import SECTION_NOUNS
from sitegen.catalogue.model import (
    Accepted,
    Catalogue,
    Device,
    Equipment,
    Feeder,
    Fitted,
    Indication,
)
from sitegen.catalogue.protector_ids import protector_id
from sitegen.catalogue.record_locations import RecordLocations

_COMPONENT_SECTIONS = ("sources", "buses", "devices", "equipment")


def check_context(
    catalogue: Catalogue,
    locations: RecordLocations,
    unread: UnreadRecords,
    notes: Sequence[str] | None = None,
    texts: Mapping[str, str] | None = None,
) -> CheckContext:
    """Make a catalogue ready for the rules.

    Parameters
    ----------
    catalogue : as far as its records could be understood.
    locations : where they are.
    unread : what may exist in what could not be understood.
    notes : the longer texts beside it; None where they are not known.
    texts : by file, what is in it.
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
    return replace(
        empty, spaces=spaces, mentions=mentions, supplies=supplies, notes=known, texts=texts or {}
    )


def _supplies(m: CheckContext) -> Iterator[OneSupply]:
    for _, words, path, owner in records_of(m.catalogue):
        if isinstance(owner, (Equipment, Indication)):
            for j, supply in enumerate(owner.supplies):
                fitted = m.fitted(owner) & m.fitted(supply)
                yield OneSupply(owner, words, supply, (*path, "supplies", j), fitted)


def _entries(m: CheckContext, supplies: Iterable[OneSupply]) -> Iterator[tuple[str, Entry]]:
    for section, noun in SECTION_NOUNS.items():
        space = COMPONENTS if section in _COMPONENT_SECTIONS else section
        records = getattr(m.catalogue, section.replace("-", "_"))
        for i, record in enumerate(records if isinstance(records, list) else ()):
            if not isinstance(record, (Feeder, Accepted)):
                kind = record.kind if isinstance(record, Device) else noun
                fitted = m.fitted(record) if isinstance(record, Fitted) else m.everywhere
                yield space, Entry(record.id, kind, record, (section, i), fitted)
    for one in supplies:
        number = one.path[-1]
        assert isinstance(number, int)
        for own in one.own_protectors:
            made = protector_id(one.owner.id, len(one.owner.supplies), number, own.kind)
            name, written = own.record.id or made, own.record.id is not None
            kind = f"own {own.kind}"
            yield COMPONENTS, Entry(name, kind, own.record, own.path, one.fitted, written)
