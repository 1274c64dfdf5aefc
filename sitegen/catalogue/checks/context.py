"""What the rules work on: every named thing, every mention of one, and who has it fitted."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

from sitegen.catalogue.checks.unread_records import UnreadRecords
from sitegen.catalogue.findings import Place
from sitegen.catalogue.kinds import KINDS, SECTION_NOUNS
from sitegen.catalogue.model import (
    Catalogue,
    Device,
    Equipment,
    Feeder,
    Fitted,
    Indication,
    Protector,
    Record,
    Source,
    Supply,
)
from sitegen.catalogue.record_locations import RecordLocations
from sitegen.words import counted, join_words

Path = tuple[str | int, ...]
Airframes = frozenset[str]

NODES = frozenset({"source", "bus"})
OWN = frozenset({"own breaker", "own fuse"})

COMPONENTS = "components"
"""The space of names that sources, buses, devices and equipment share."""

MOST_DUPLICATES = 200
"""How many records of one id are compared; one per airframe is all that can be right."""


@dataclass(frozen=True)
class Entry:
    """One thing that has an id."""

    id: str
    kind: str
    """`source`, `bus`, `equipment`, a device's kind, `own breaker`, or what its section holds."""
    record: Record
    path: Path
    fitted: Airframes
    written: bool = True
    """False for an id that was made for it."""

    @property
    def modes(self) -> tuple[str, ...]:
        """The modes in which it may fail; none for what is not a component."""
        kind = self.record.kind if isinstance(self.record, Source) else self.kind
        return KINDS[kind.removeprefix("own ")].modes if kind != "equipment" else ()


class Mention(NamedTuple):
    """One place where a record names another."""

    id: str
    path: Path
    space: str
    """The names among which it is looked up: COMPONENTS or a section."""
    kinds: frozenset[str]
    """What it may be; empty for anything in the space."""
    noun: str
    """What is wanted, in a word."""
    owner: str
    """The record that names it: `equipment com-1`."""
    fitted: Airframes
    """Where the naming record is fitted."""
    wiring: bool = True
    """It must be fitted wherever the naming record is; otherwise it is left out where it is not."""
    is_key: bool = False
    """The name is the name of a field."""
    value: Any = None
    """Of the name of a field: the field's value, such as a switch's position."""


@dataclass(frozen=True)
class OneSupply:
    """One supply of a piece of equipment or an indication."""

    owner: Equipment | Indication
    owner_words: str
    supply: Supply
    path: Path
    fitted: Airframes

    @cached_property
    def own_protectors(self) -> tuple[OwnProtector, ...]:
        """The breaker or fuse that is written in place."""
        return tuple(
            OwnProtector(
                kind, record, (*self.path, kind), f"{kind} {record.name} of {self.owner_words}"
            )
            for kind, record in (("breaker", self.supply.breaker), ("fuse", self.supply.fuse))
            if isinstance(record, Protector)
        )


@dataclass(frozen=True)
class OwnProtector:
    """A breaker or fuse of one supply, written in place."""

    kind: str
    record: Protector
    path: Path
    words: str
    """`breaker COM 1 of equipment com-1`."""


@dataclass(frozen=True)
class CheckContext:
    """A catalogue made ready for the rules."""

    catalogue: Catalogue
    locations: RecordLocations
    airframes: tuple[str, ...]
    spaces: dict[str, dict[str, list[Entry]]]
    mentions: tuple[Mention, ...]
    supplies: tuple[OneSupply, ...]
    unread: UnreadRecords
    notes: tuple[str, ...] | None = None
    """The longer texts beside the catalogue; None where they are not known."""
    texts: Mapping[str, str] = field(default_factory=dict, repr=False)
    """By file: what is in it."""
    _fitted: dict[tuple[str, ...], Airframes] = field(default_factory=dict, repr=False)

    def components(self, name: str) -> list[Entry]:
        """The sources, buses, devices and equipment with this id."""
        return self.spaces[COMPONENTS].get(name, [])

    def at(self, path: Path) -> Place:
        """The location of the value at a path."""
        return self.locations.at(*path)

    def key_at(self, path: Path) -> Place:
        """Where the field at a path has its name."""
        return self.locations.key_at(*path)

    @cached_property
    def everywhere(self) -> Airframes:
        """All airframes."""
        return frozenset(self.airframes)

    def fitted(self, record: Fitted) -> Airframes:
        """The known airframes to which a record is fitted."""
        if record.fitted_to is None:
            return self.everywhere
        names = tuple(record.fitted_to)
        if names not in self._fitted:
            self._fitted[names] = self.everywhere & frozenset(names)
        return self._fitted[names]

    def may_be_fitted(self, record: Record) -> Airframes:
        """Where a record may be fitted: anywhere, if one of its airframes is not known."""
        assert isinstance(record, Fitted)
        if self.everywhere.issuperset(record.fitted_to or ()):
            return self.fitted(record)
        return self.everywhere

    @cached_property
    def kinds(self) -> dict[tuple[str, str], frozenset[str]]:
        """By space and id: what goes by it."""
        return {
            (space, name): frozenset(e.kind for e in entries)
            for space, by_id in self.spaces.items()
            for name, entries in by_id.items()
        }

    def is_known(self, mention: Mention) -> bool:
        """Whether what a mention names is there, and of a kind that is wanted."""
        kinds = self.kinds.get((mention.space, mention.id), frozenset())
        return bool(kinds & mention.kinds) if mention.kinds else bool(kinds)

    @cached_property
    def unknown(self) -> frozenset[Path]:
        """The paths of the mentions of nothing that is known."""
        return frozenset(m.path for m in self.mentions if not self.is_known(m))

    def on(self, airframes: Iterable[str]) -> str:
        """` on airframe block-2`; nothing when it is all of them."""
        wanted = set(airframes)
        if wanted == set(self.airframes):
            return ""
        named = [a for a in self.airframes if a in wanted]
        if len(named) > 4:
            return f" on {counted(len(named), 'airframe')}"
        return f" on {'airframe' if len(named) == 1 else 'airframes'} {join_words(named)}"

    def devices_of(self, names: Iterable[str], airframes: Airframes) -> list[Device]:
        """The devices with these ids that share an airframe; unknown ids are passed over."""
        return [
            entry.record
            for name in names
            for entry in self.components(name)
            if isinstance(entry.record, Device) and entry.fitted & airframes
        ]


def records_of(catalogue: Catalogue) -> Iterator[tuple[str, str, Path, Fitted]]:
    """Every record that may be fitted to some airframes: section, words for it, path, record."""
    for section, noun in SECTION_NOUNS.items():
        records = getattr(catalogue, section.replace("-", "_"))
        for i, record in enumerate(records if isinstance(records, list) else ()):
            if isinstance(record, Feeder):
                yield section, f"{noun} {record.from_} to {record.to}", (section, i), record
            elif isinstance(record, Fitted):
                yield section, f"{noun} {getattr(record, 'id', '')}", (section, i), record
