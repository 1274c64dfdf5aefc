"""What the rules work on: every named thing, every mention of one, and who has it fitted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sitegen.catalogue.findings import Finding, Place
from sitegen.catalogue.model import (
    Catalogue,
    Device,
    Equipment,
    Fitted,
    Indication,
    Record,
    Supply,
)
from sitegen.catalogue.places import Places
from sitegen.catalogue.wording import counted, listed

Path = tuple[str | int, ...]
Airframes = frozenset[str]

NODES = frozenset({"source", "bus"})
SWITCHING = frozenset({"contactor", "relay", "switch"})
DEVICES = SWITCHING | {"breaker", "fuse", "fuse-link", "diode", "shunt"}
OWN = frozenset({"own breaker", "own fuse"})

METERS = ("voltmeter", "ammeter", "loadmeter")

COMPONENTS = "components"
"""The space of names that sources, buses, devices and equipment share."""


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


@dataclass(frozen=True)
class Mention:
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


@dataclass(frozen=True)
class OneSupply:
    """One supply of a piece of equipment or an indication."""

    owner: Equipment | Indication
    owner_words: str
    supply: Supply
    path: Path
    fitted: Airframes


@dataclass(frozen=True)
class Material:
    """A catalogue made ready for the rules."""

    catalogue: Catalogue
    places: Places
    airframes: tuple[str, ...]
    spaces: dict[str, dict[str, list[Entry]]]
    mentions: tuple[Mention, ...]
    supplies: tuple[OneSupply, ...]
    hidden: frozenset[str] | None
    """Ids that may exist in what could not be understood; None when any may."""

    def components(self, name: str) -> list[Entry]:
        """The sources, buses, devices and equipment with this id."""
        return self.spaces[COMPONENTS].get(name, [])

    def at(self, path: Path) -> Place:
        """Where the value at a path stands."""
        return self.places.at(*path)

    def key_at(self, path: Path) -> Place:
        """Where the field at a path has its name."""
        return self.places.key_at(*path)

    def fitted(self, record: Fitted) -> Airframes:
        """The known airframes to which a record is fitted."""
        known = frozenset(self.airframes)
        return known if record.fitted_to is None else known & frozenset(record.fitted_to)

    def on(self, airframes: Iterable[str]) -> str:
        """` on airframe block-2`; nothing when it is all of them."""
        wanted = set(airframes)
        if wanted == set(self.airframes):
            return ""
        named = [a for a in self.airframes if a in wanted]
        if len(named) > 4:
            return f" on {counted(len(named), 'airframe')}"
        return f" on {'airframe' if len(named) == 1 else 'airframes'} {listed(named)}"

    def devices_of(self, names: Iterable[str], airframes: Airframes) -> list[Device]:
        """The devices with these ids that share an airframe; unknown ids are passed over."""
        return [
            entry.record
            for name in names
            for entry in self.components(name)
            if isinstance(entry.record, Device) and entry.fitted & airframes
        ]


def error(place: Place, message: str, hint: str = "") -> Finding:
    """A finding that must be mended."""
    return Finding("error", place, message, hint)


def advice(place: Place, message: str, hint: str = "") -> Finding:
    """A finding to think about."""
    return Finding("advice", place, message, hint)
