"""What the records of one wiring say otherwise than those of another.

The two are airframes of one catalogue, or one airframe in two revisions.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sitegen.answers.record_fields import (
    ChangeKind,
    Names,
    changed_words,
    comparable,
    conductor_text,
    kind_of,
    label,
    protection_text,
    text_of,
    unequal_entries,
)
from sitegen.answers.record_pairs import (
    SECTIONS,
    Dumped,
    aligned,
    dumped,
    feeder_keys,
    protection,
    supply_keys,
)
from sitegen.catalogue.model import Record
from sitegen.solver.network import Network

_APART = {
    "id",
    "from",
    "to",
    "through",
    "fitted-to",
    "supplies",
    "fed-from",
    "then",
    "then-in",
    "revision",
    "revised",
}
"""Fields that are not compared as one value."""


@dataclass(frozen=True)
class FieldChange:
    """One field that is not the same."""

    kind: ChangeKind
    field: str
    """As in the YAML, with dots."""
    at: str
    """Which of several it is of: `supply from Main bus`, `in Cruise`; empty where there is one."""
    was: str
    """In words."""
    now: str

    @property
    def label(self) -> str:
        """What has changed, in words."""
        return f"{label(self.field)}, {self.at}" if self.at else label(self.field)


@dataclass(frozen=True)
class RecordChange:
    """One record that is new, gone, or not the same."""

    section: str
    id: str
    """Where the id has changed, the new one; a feeder goes by its wording."""
    name: str
    fields: tuple[FieldChange, ...]
    """Of a record that is new or gone, one without a field."""

    @property
    def change(self) -> str:
        """`added`, `removed` or `changed`."""
        kind = self.fields[0].kind
        return kind if kind in ("added", "removed") else "changed"

    @property
    def kinds(self) -> frozenset[ChangeKind]:
        """What has happened to it."""
        return frozenset(field.kind for field in self.fields)


def record_changes(
    one: Network,
    other: Network,
    sections: Sequence[str] = SECTIONS,
    ids: Names | None = None,
) -> list[RecordChange]:
    """Compare two wirings record by record.

    Parameters
    ----------
    one, other : the older and the newer.
    sections : what is compared; everything in them has an id, or is a feeder.
    ids : new ids by old ones (`renamed_ids`).

    Returns
    -------
    By section what is gone, new or not the same. The order of records says nothing.
    """
    ids = ids or {}
    names, new_names = all_names(one), all_names(other)
    changes = []
    for section in sections:
        old, new = dumped(one, section), dumped(other, section)
        if section == "feeders":
            pairs = aligned(old, new, feeder_keys(ids), feeder_keys({}))
        else:
            pairs = aligned(old, new, [lambda r: ids.get(r["id"], r["id"])], [lambda r: r["id"]])
        for was, now in pairs:
            if was is None or now is None:
                if was is not None:
                    changes.append(_alone(section, was, names, "removed"))
                if now is not None:
                    changes.append(_alone(section, now, new_names, "added"))
            # Most records are the same to the letter, and need no comparison field by field.
            elif ids or was != now:
                fields = tuple(_Comparison(section, names, new_names, ids).record(was, now))
                if fields:
                    changes.append(_change(section, now, new_names, fields))
    return changes


def records_of(
    network: Network, sections: Sequence[str], kind: ChangeKind
) -> Iterator[RecordChange]:
    """All records of a wiring, as new or gone."""
    names = all_names(network)
    for section in sections:
        for record in dumped(network, section):
            yield _alone(section, record, names, kind)


def all_names(network: Network) -> dict[str, str]:
    """What a person calls everything that has an id."""
    c = network.catalogue
    return {
        **{f.id: f.name for f in c.failures},
        **{column.id: column.name for column in c.load_columns},
        **{c.id: c.name for c in network.components.values()},
        **network.names,
        **network.condition_names,
        **network.panel_names,
    }


def table_changes(section: str, was: Record, now: Record, name: str) -> Iterator[RecordChange]:
    """What a record that belongs to no airframe says otherwise; without an id, its section's."""
    old, new = (
        was.model_dump(by_alias=True, mode="json"),
        now.model_dump(by_alias=True, mode="json"),
    )
    fields = tuple(_Comparison(section, {}, {}, {}).record(old, new))
    if fields:
        yield RecordChange(section, new.get("id", section), name, fields)


def text_change(kind: ChangeKind, field: str, was: str, now: str) -> FieldChange:
    """A changed text; of a long one, what is not the same."""
    return FieldChange(kind, field, "", *changed_words(was, now))


def _change(
    section: str, record: Mapping[str, Any], names: Names, fields: tuple[FieldChange, ...]
) -> RecordChange:
    if section == "feeders":
        through = [names.get(d, d) for d in record["through"]]
        path = (names.get(record["from"], record["from"]), names.get(record["to"], record["to"]))
        name = " to ".join(path) + (f" through {', '.join(through)}" if through else "")
        return RecordChange(section, _wording(record), name, fields)
    return RecordChange(section, record["id"], record["name"], fields)


def _wording(feeder: Mapping[str, Any]) -> str:
    return " > ".join((feeder["from"], *feeder["through"], feeder["to"]))


def _alone(section: str, record: Dumped, names: Names, kind: ChangeKind) -> RecordChange:
    """A record that is new or gone, with how it is fed."""
    supplies = "; ".join(supply_text(s, names) for s in record.get("supplies", ()))
    was, now = (supplies, "") if kind == "removed" else ("", supplies)
    return _change(section, record, names, (FieldChange(kind, "", "", was, now),))


@dataclass(frozen=True)
class _Comparison:
    """Two records of a section, or two parts of them."""

    section: str
    names: Names
    new_names: Names
    ids: Names
    at: str = ""
    within: str = ""

    def record(self, was: Dumped, now: Dumped) -> Iterator[FieldChange]:
        """What two records do not say the same."""
        if was.get("id") != now.get("id"):
            yield FieldChange("renamed", "id", "", was["id"], now["id"])
        if self.section == "feeders":
            yield from self.values(("from", "through", "to"), was, now)
        yield from self.values([field for field in now if field not in _APART], was, now)
        yield from self.crew(was, now)
        for field in ("supplies", "fed-from"):
            yield from self.supplies(field, was.get(field) or [], now.get(field) or [])

    def crew(self, was: Dumped, now: Dumped) -> Iterator[FieldChange]:
        """What two failures do not say the same of the crew, everywhere and in a condition."""
        old: Dumped = was.get("then") or {}
        new: Dumped = now.get("then") or {}
        yield from replace(self, within="then").values(new or old, old, new)
        now_in: dict[str, Dumped] = now.get("then-in") or {}
        was_in: dict[str, Dumped] = {
            self.ids.get(condition, condition): then
            for condition, then in (was.get("then-in") or {}).items()
        }
        for condition in {**now_in, **was_in}:
            # Where one of the two has no list of the condition's own, it is the list of all.
            one = was_in.get(condition, old)
            other = now_in.get(condition, new)
            at = f"in {self.new_names.get(condition, condition)}"
            yield from replace(self, within="then", at=at).values(other or one, one, other)

    def values(self, fields: Iterable[str], was: Dumped, now: Dumped) -> Iterator[FieldChange]:
        """Which of these fields do not say the same."""
        for field in fields:
            old, new = was.get(field), now.get(field)
            path = f"{self.within}.{field}" if self.within else field
            # What a meter reads is no position on a panel.
            as_if = "bus" if (self.section, path) == ("indications", "at") else field
            if _said(comparable(as_if, old, self.ids)) == _said(comparable(as_if, new, {})):
                continue
            old, new = unequal_entries(field, old, new, self.ids)
            texts = text_of(as_if, old, self.names), text_of(as_if, new, self.new_names)
            kind = kind_of(self.section, path)
            if kind == "reworded" and old and new:
                texts = changed_words(*texts)
            yield FieldChange(kind, path, self.at, *texts)

    def supplies(
        self, field: str, was: Sequence[Dumped], now: Sequence[Dumped]
    ) -> Iterator[FieldChange]:
        """What the supplies of an item, or the feeds of a converter, do not say the same."""
        several = max(len(was), len(now)) > 1
        for old, new in aligned(was, now, supply_keys(self.ids), supply_keys({})):
            if old is None or new is None:
                absent = "no such supply" if was and now else "none"
                one = supply_text(old, self.names) if old else absent
                other = supply_text(new, self.new_names) if new else absent
                yield FieldChange("rewired", field, "", one, other)
            else:
                bus = text_of("bus", new["bus"], self.new_names)
                yield from replace(self, at=f"supply from {bus}" if several else "").supply(
                    old, new
                )

    def supply(self, was: Dumped, now: Dumped) -> Iterator[FieldChange]:
        """What one supply does not say the same, its own breaker or fuse field by field."""
        (old_kind, old), (kind, new) = protection(was), protection(now)
        if isinstance(old, dict) and isinstance(new, dict) and old_kind == kind:
            yield from replace(self, within=kind).values(new, old, new)
        elif (old_kind, comparable(kind, old, self.ids)) != (kind, comparable(kind, new, {})):
            one = protection_text(old_kind, old, self.names)
            other = protection_text(kind, new, self.new_names)
            yield FieldChange("rewired", "breaker", self.at, one, other)
        fields = [field for field in now if field not in ("breaker", "fuse", "fitted-to")]
        yield from self.values(fields, was, now)


def supply_text(supply: Mapping[str, Any], names: Names) -> str:
    """`Left main bus, breaker COM 1 10 A, Right side wall C4, wire 18`."""
    kind, protector = protection(supply)
    parts = [names.get(supply["bus"], supply["bus"])]
    if protector is not None:
        parts.append(protection_text(kind, protector, names))
    if supply["through"]:
        parts.append(f"through {text_of('through', supply['through'], names)}")
    return ", ".join((*parts, *conductor_text(supply, names)))


def _said(value: Any) -> Any:
    """A value; what is empty says as much as what is left out, but `no` and 0 say something."""
    return None if value in ("", [], {}) else value
