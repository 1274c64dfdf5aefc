"""Which records and supplies of two wirings are the same ones.

A record goes by its id, or where that has changed by its name. Supplies and feeders have no ids:
they go by what they have in common.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from typing import Any, TypeVar

from sitegen.answers.record_fields import Names, comparable
from sitegen.solver.network import Network

SECTIONS = (
    "sources",
    "buses",
    "devices",
    "feeders",
    "panels",
    "switches",
    "equipment",
    "indications",
    "functions",
)
"""What wirings consist of, in the order in which it is reported."""

T = TypeVar("T")

Dumped = Mapping[str, Any]
"""A record or a part of it, as in the YAML."""

Key = Callable[[Any], Hashable]
"""What two entries must have in common to be one; None: this key does not find it."""


def renamed_ids(one: Network, other: Network) -> dict[str, str]:
    """New ids by old ones: of records that keep their name, and of breakers in kept supplies."""
    ids: dict[str, str] = {}
    c, d = one.catalogue, other.catalogue
    for section in (*SECTIONS, "conditions", "failures", "load_columns"):
        if section == "feeders":
            continue
        old = {r.id: r.name for r in getattr(c, section)}
        new = {r.id: r.name for r in getattr(d, section)}
        gone = [(name, i) for i, name in old.items() if i not in new]
        come = [(name, i) for i, name in new.items() if i not in old]
        for name, i in gone:
            same = [j for n, j in come if n == name]
            if len(same) == 1 and [n for n, _ in gone].count(name) == 1:
                ids[i] = same[0]
    for section in ("equipment", "indications"):
        there = {r["id"]: r["supplies"] for r in dumped(other, section)}
        for record in dumped(one, section):
            owner = record["id"], ids.get(record["id"], record["id"])
            ids.update(_protector_ids(one, other, owner, record["supplies"], there, ids))
    return ids


def _protector_ids(
    one: Network,
    other: Network,
    owner: tuple[str, str],
    was: Sequence[Dumped],
    there: Mapping[str, Sequence[Dumped]],
    ids: Names,
) -> Iterator[tuple[str, str]]:
    """(old, new) of an owner's breakers and fuses whose ids are not the same."""
    old = [(s, c.protector) for s, c in zip(was, one.connections[owner[0]], strict=True)]
    now = there.get(owner[1], ())
    new = [(s, c.protector) for s, c in zip(now, other.connections.get(owner[1], ()), strict=True)]
    keys, new_keys = ([_of_first(key) for key in supply_keys(of)] for of in (ids, {}))
    for before, after in aligned(old, new, keys, new_keys):
        if before and after and _is_own(before[0]) and _is_own(after[0]):
            pair = before[1], after[1]
            if pair[0] and pair[1] and pair[0] != pair[1]:
                yield pair[0], pair[1]


def _of_first(key: Key) -> Key:
    return lambda pair: key(pair[0])


def _is_own(supply: Dumped) -> bool:
    """Whether a supply has a breaker or fuse of its own."""
    return isinstance(protection(supply)[1], dict)


def dumped(network: Network, section: str) -> list[dict[str, Any]]:
    """The records of a section as in the YAML, with the values that were left out."""
    attribute = section.replace("-", "_")
    return [r.model_dump(by_alias=True, mode="json") for r in getattr(network.catalogue, attribute)]


def protection(supply: Mapping[str, Any]) -> tuple[str, Any]:
    """`breaker` or `fuse`, and what it is: written in place, the id of a shared one, or None."""
    if supply.get("fuse") is not None:
        return "fuse", supply["fuse"]
    return "breaker", supply.get("breaker")


def supply_keys(ids: Names) -> list[Key]:
    """By what a supply is known again, the surest first."""

    def own(supply: Mapping[str, Any], *fields: str) -> Hashable:
        protector = protection(supply)[1]
        if isinstance(protector, str):
            return ids.get(protector, protector) if fields == ("name",) else None
        found = tuple(protector[f] for f in fields) if protector else (None,)
        return None if None in found else found

    def bus(supply: Mapping[str, Any]) -> str:
        return ids.get(supply["bus"], supply["bus"])

    return [
        lambda s: repr(comparable("", s, ids)),
        lambda s: own(s, "name") and (bus(s), own(s, "name")),
        lambda s: own(s, "panel", "at"),
        lambda s: own(s, "name"),
        bus,
        lambda s: "any",
    ]


def feeder_keys(ids: Names) -> list[Key]:
    """By what a feeder is known again: its wording, its ends, or the devices in it."""

    def now(name: str) -> str:
        return ids.get(name, name)

    return [
        lambda f: (now(f["from"]), *map(now, f["through"]), now(f["to"])),
        lambda f: frozenset((now(f["from"]), now(f["to"]))),
        lambda f: tuple(map(now, f["through"])) or None,
    ]


def aligned(
    old: Sequence[T],
    new: Sequence[T],
    keys: Iterable[Key],
    new_keys: Iterable[Key],
) -> list[tuple[T | None, T | None]]:
    """Entries of two lists in pairs, by the first key that two have in common; the rest alone."""
    left = dict(enumerate(old))
    come = dict(enumerate(new))
    pairs: dict[int, T] = {}
    for key, new_key in zip(keys, new_keys, strict=True):
        by_key: dict[Hashable, list[int]] = {}
        for i, entry in left.items():
            if (value := key(entry)) is not None:
                by_key.setdefault(value, []).append(i)
        for j, entry in list(come.items()):
            same = by_key.get(new_key(entry))
            if same:
                pairs[j] = left.pop(same.pop(0))
                del come[j]
    gone: list[tuple[T | None, T | None]] = [(entry, None) for entry in left.values()]
    return gone + [(pairs.get(j), entry) for j, entry in enumerate(new)]
