"""The kinds of sources, buses, devices and indications: how each fails, what it does, its noun.

Everything that depends on a kind is derived from `KINDS`; `SECTION_NOUNS` has the nouns of records.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

SourceKind = Literal["generator", "battery", "external-power", "converter"]
DeviceKind = Literal[
    "breaker", "fuse", "fuse-link", "contactor", "relay", "switch", "diode", "shunt"
]
IndicationKind = Literal["voltmeter", "ammeter", "loadmeter", "lamp", "flag"]


@dataclass(frozen=True)
class Kind:
    """One kind of component or indication."""

    id: str
    """As an author writes it."""
    role: Literal["source", "bus", "device", "indication"]
    noun: str
    """Singular, as it begins a line on a page."""
    modes: tuple[str, ...] = ()
    """The failure modes; the first is meant when none is named."""
    rare: str = ""
    """A mode that is tried alone but not together with other failures."""
    coil: bool = False
    """A coil moves its contacts, so it may be held closed and may stick."""
    switching: bool = False
    """Opens and closes by itself or by hand, through `closes-when`."""
    overcurrent: bool = False
    """Opens on a short, and so separates the shorted bus from what feeds it."""
    blows: bool = False
    """What has opened it is not reset: it must be replaced."""
    conducting: str = ""
    """The word for its state while it conducts; empty where it could do nothing else."""
    meter: bool = False
    """Shows a number."""
    reads_load: bool = False
    """The number is the current through a source or a feeder."""
    symbol_noun: str = ""
    """What its symbol is called in a legend, where that is not the noun."""

    @property
    def plural(self) -> str:
        """The noun for several of them.

        >>> KINDS["switch"].plural, KINDS["relay"].plural, KINDS["battery"].plural
        ('Switches', 'Relays', 'Batteries')
        """
        if self.noun.endswith("y") and self.noun[-2] not in "aeiou":
            return f"{self.noun[:-1]}ies"
        return self.noun + ("es" if self.noun.endswith(("s", "ch")) else "s")


_LOST = ("lost", "shorted")
_CONTACTS = ("open", "stuck-closed")


def _device(
    kind: str,
    modes: tuple[str, ...],
    conducting: str = "",
    symbol_noun: str = "",
    rare: str = "",
    **does: bool,
) -> Kind:
    noun = kind.replace("-", " ").capitalize()
    return Kind(
        kind, "device", noun, modes, rare, **does, conducting=conducting, symbol_noun=symbol_noun
    )


KINDS: dict[str, Kind] = {
    kind.id: kind
    for kind in (
        Kind("generator", "source", "Generator", _LOST),
        Kind("battery", "source", "Battery", _LOST),
        Kind("external-power", "source", "External power", _LOST),
        Kind("converter", "source", "Converter", _LOST),
        Kind("bus", "bus", "Bus", ("dead", "shorted")),
        _device(
            "breaker",
            _CONTACTS,
            "closed",
            "Circuit breaker",
            rare="stuck-closed",
            overcurrent=True,
        ),
        _device("fuse", ("open",), "intact", overcurrent=True, blows=True),
        _device("fuse-link", ("open",), "intact", overcurrent=True, blows=True),
        _device("contactor", _CONTACTS, "closed", coil=True, switching=True),
        _device("relay", _CONTACTS, "closed", coil=True, switching=True),
        _device("switch", _CONTACTS, "closed", rare="stuck-closed", switching=True),
        _device("diode", ("open", "shorted"), rare="shorted"),
        _device("shunt", ("open",)),
        Kind("voltmeter", "indication", "Voltmeter", meter=True),
        Kind("ammeter", "indication", "Ammeter", meter=True, reads_load=True),
        Kind("loadmeter", "indication", "Loadmeter", meter=True, reads_load=True),
        Kind("lamp", "indication", "Lamp"),
        Kind("flag", "indication", "Flag"),
    )
}
"""By id, in the order of a legend."""

MODE_NOUNS = {
    "lost": "Lost",
    "dead": "Dead",
    "shorted": "Shorted",
    "open": "Open",
    "stuck-closed": "Stuck closed",
}
"""What each failure mode is called on a page."""

MODES_CALLED = {"welded": "stuck-closed", "stuck": "stuck-closed", "short": "shorted"}
"""What else people call failure modes."""


def mode_meant(text: str) -> str:
    """The failure mode that a text means: `stuck closed` and `welded` are `stuck-closed`."""
    mode = "-".join(text.lower().split())
    return MODES_CALLED.get(mode, mode)


SECTION_NOUNS = {
    "aircraft": "aircraft",
    "sources": "source",
    "buses": "bus",
    "devices": "device",
    "feeders": "feeder",
    "equipment": "equipment",
    "switches": "switch",
    "panels": "panel",
    "conditions": "condition",
    "failures": "failure",
    "indications": "indication",
    "functions": "function",
    "handout": "handout",
    "airframes": "airframe",
    "load-columns": "load column",
    "battery-time": "battery-time",
    "abbreviations": "abbreviations",
    "accepted": "accepted advice",
}
"""What one record of each section is called."""

DEVICES = frozenset(k.id for k in KINDS.values() if k.role == "device")
COIL_OPERATED = frozenset(k.id for k in KINDS.values() if k.coil)
SWITCHING = frozenset(k.id for k in KINDS.values() if k.switching)
BLOWS = frozenset(k.id for k in KINDS.values() if k.blows)
OVERCURRENT = frozenset(k.id for k in KINDS.values() if k.overcurrent)
METERS = frozenset(k.id for k in KINDS.values() if k.meter)
LOAD_METERS = frozenset(k.id for k in KINDS.values() if k.reads_load)
