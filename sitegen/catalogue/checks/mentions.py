"""Every place in a catalogue where one record names another."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from sitegen.catalogue.checks.context import (
    COMPONENTS,
    NODES,
    OWN,
    CheckContext,
    Mention,
    OneSupply,
    Path,
    records_of,
)
from sitegen.catalogue.kinds import COIL_OPERATED, DEVICES, METERS, OVERCURRENT, SWITCHING
from sitegen.catalogue.model import Device, Group, Indication, Record


@dataclass(frozen=True)
class _Target:
    """What is named at some place."""

    noun: str
    kinds: frozenset[str] = frozenset()
    """What it may be; empty for anything in the space."""
    space: str = COMPONENTS


_NODE = _Target("source or bus", NODES)
_DEVICE = _Target("device", DEVICES)
_EQUIPMENT = _Target("equipment", frozenset({"equipment"}))
_PULLED = _Target("breaker or fuse", OWN | {"breaker", "fuse"})
_RESET = _Target(
    "breaker, contactor, relay or source",
    OWN | OVERCURRENT | COIL_OPERATED | {"source"},  # what blows has a message of its own
)
_CONDITION = _Target("condition", space="conditions")
_SWITCH = _Target("switch", space="switches")
_PANEL = _Target("panel", space="panels")
_LOAD_COLUMN = _Target("load column", space="load-columns")

_Places = Mapping[str, _Target]
"""By path below a record, `*` for each entry of a list and each name of a table: what it names."""


def _terms(field: str) -> _Places:
    contact = _Target("device", DEVICES | OWN)
    return {
        f"{field} * switches *": _SWITCH,
        f"{field} * live *": _NODE,
        f"{field} * dead *": _NODE,
        f"{field} * closed *": contact,
        f"{field} * open *": contact,
        f"{field} * volts-above *": _NODE,
        f"{field} * volts-below *": _NODE,
    }


_FITTED_TO = {"fitted-to *": _Target("airframe", space="airframes")}

_SUPPLIES = {
    "bus": _Target("bus", frozenset({"bus"})),
    "breaker": _Target("breaker", frozenset({"breaker"})),
    "breaker panel": _PANEL,
    "fuse": _Target("fuse", frozenset({"fuse"})),
    "fuse panel": _PANEL,
    "through *": _Target("contactor, relay or switch", SWITCHING),
}

_WIRING: Mapping[str, _Places] = {
    "sources": {
        "fed-from * bus": _Target("bus or source", NODES),
        "fed-from * through *": _DEVICE,
        "battery-time landing-column": _LOAD_COLUMN,
    },
    "devices": {"panel": _PANEL, **_terms("closes-when")},
    "feeders": {"from": _NODE, "to": _NODE, "through *": _DEVICE},
    "equipment": {
        "requires *": _EQUIPMENT,
        "requires * any *": _EQUIPMENT,
        "amps *": _LOAD_COLUMN,
        "peak-amps *": _LOAD_COLUMN,
    },
    "conditions": {"loads": _LOAD_COLUMN, "battery-time landing-column": _LOAD_COLUMN},
    "failures": {
        "failed *": _Target("source, bus or device", NODES | DEVICES | OWN),
        "battery-time landing-column": _LOAD_COLUMN,
    },
    "indications": _terms("lit-when"),
}
"""By section: what must be fitted wherever the naming record is."""

_LISTS: Mapping[str, _Places] = {
    "conditions": {
        "sources *": _Target("source", frozenset({"source"})),
        "switches *": _SWITCH,
        "pulled *": _PULLED,
        "held-closed *": _Target("contactor or relay", COIL_OPERATED),
    },
    "failures": {
        **{
            f"{then} {field} *": target
            for then in ("then", "then-in *")
            for field, target in (
                ("switches", _SWITCH),
                ("shed", _EQUIPMENT),
                ("pulled", _PULLED),
                ("reset", _RESET),
            )
        },
        "then-in *": _CONDITION,
        "notes-in *": _CONDITION,
    },
    "functions": {"provided-by *": _EQUIPMENT, "independent * *": _EQUIPMENT},
    "handout": {"conditions *": _CONDITION},
}
"""By section: what is left out where it is not fitted."""


def mentions_of(m: CheckContext, supplies: Iterable[OneSupply]) -> Iterator[Mention]:
    """All mentions, record by record."""
    for section, owner, path, record in records_of(m.catalogue):
        yield from _mentions(record, owner, path, _FITTED_TO, m.everywhere)
        fitted, wiring = m.fitted(record), _WIRING.get(section, {})
        if isinstance(record, Device):
            owner = f"{record.kind} {record.id}"
        if isinstance(record, Indication) and record.kind == "voltmeter":
            wiring = {"at": _NODE, **wiring}
        elif isinstance(record, Indication) and record.kind in METERS:
            wiring = {"at": _Target("source or device", DEVICES | {"source"}), **wiring}
        yield from _mentions(record, owner, path, wiring, fitted)
        yield from _mentions(record, owner, path, _LISTS.get(section, {}), fitted, wiring=False)
    for one in supplies:
        yield from _mentions(one.supply, one.owner_words, one.path, _FITTED_TO, m.everywhere)
        yield from _mentions(one.supply, one.owner_words, one.path, _SUPPLIES, one.fitted)
    landing = {"landing-column": _LOAD_COLUMN}
    path = ("battery-time",)
    yield from _mentions(m.catalogue.battery_time, "battery-time", path, landing, m.everywhere)


def _mentions(
    record: object,
    owner: str,
    path: Path,
    places: _Places,
    fitted: frozenset[str],
    wiring: bool = True,
) -> Iterator[Mention]:
    values = vars(record) if isinstance(record, Record) else {}
    for place, target in places.items():
        first, field, steps = _steps(place)
        if value := values.get(field):
            for full, name, is_key, of_key in _names(value, steps, (*path, first)):
                yield Mention(
                    name,
                    full,
                    target.space,
                    target.kinds,
                    target.noun,
                    owner,
                    fitted,
                    wiring,
                    is_key,
                    of_key,
                )


@cache
def _steps(place: str) -> tuple[str, str, tuple[str, ...]]:
    """Of a path below a record: its first field, that as it is in the model, and the rest."""
    first, *rest = place.split()
    return first, _field(first), tuple(rest)


def _field(step: str) -> str:
    return "from_" if step == "from" else step.replace("-", "_")


def _names(value: Any, steps: Sequence[str], path: Path) -> Iterator[tuple[Path, str, bool, Any]]:
    """The path of each name at some steps below a value, the name, if it is a key, of what."""
    if not steps:
        if isinstance(value, str):
            yield path, value.partition(":")[0], False, None  # after the colon is a failure mode
        elif isinstance(value, Group):
            for word in ("any", "all"):
                yield from _names(getattr(value, word), ["*"], (*path, word))
        return
    step, *rest = steps
    if step != "*":
        if isinstance(value, Record):
            yield from _names(vars(value).get(_field(step)), rest, (*path, step))
    elif isinstance(value, dict):
        for key, of_key in value.items():
            if rest:
                yield from _names(of_key, rest, (*path, key))
            else:
                yield (*path, key), key, True, of_key
    elif isinstance(value, list):
        for i, entry in enumerate(value):
            yield from _names(entry, rest, (*path, i))
