"""What a list would change in a catalogue.

A list never deletes: an empty cell says nothing, and what a list does not name stays.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from sitegen.catalogue.breaker_list import (
    ListRow,
    Path,
    plain_name,
    rows_of,
)
from sitegen.catalogue.list_columns import MEANINGS
from sitegen.catalogue.model import Catalogue, Panel
from sitegen.catalogue.panel_position import position
from sitegen.words import counted, join_words, quoted

MOST_COMPARED = 100
"""With how many of the rows before it that name the same breaker a row is compared."""
OF_PROTECTOR = {
    "placard": "name",
    "rating": "amps",
    "panel": "panel",
    "at": "at",
    "breaker-reference": "reference",
    "breaker-checked": "checked",
}
OF_SUPPLY = {
    "bus": "bus",
    "wire": "wire",
    "supply-serials": "fitted-to",
    "supply-reference": "reference",
    "supply-checked": "checked",
}
OF_RECORD = {
    "name": "name",
    "ata": "ata",
    "serials": "fitted-to",
    "drawn": "amps",
    "reference": "reference",
    "checked": "checked",
}


@dataclass(frozen=True)
class Change:
    """One value that the list says otherwise."""

    row: ListRow
    meaning: str
    old: str
    new: str
    old_row: ListRow


@dataclass
class ListChanges:
    """What a list would change."""

    changes: list[Change] = field(default_factory=list)
    new_rows: list[ListRow] = field(default_factory=list)
    """Rows whose equipment the catalogue does not have."""
    new_supplies: list[tuple[ListRow, ListRow]] = field(default_factory=list)
    """(row, a row of the same equipment in the catalogue)."""
    problems: list[str] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)
    """What the list says and a catalogue cannot hold."""

    @property
    def checked_before(self) -> list[str]:
        """The items and breakers of which a line changes that somebody has checked as it was."""
        signed = {id(c.old_row) for c in self.changes if c.meaning.endswith("checked")}
        return list(
            dict.fromkeys(
                change.old_row.values.get("id") or change.old_row.values["breaker-id"]
                for change in self.changes
                if id(change.old_row) not in signed
                and any(meaning.endswith("checked") for meaning in change.old_row.values)
            )
        )

    @property
    def count(self) -> int:
        """How many changes there are."""
        return len(self.changes) + len(self.new_rows) + len(self.new_supplies)


def duplicates(rows: Iterable[ListRow]) -> list[str]:
    """The rows that name one breaker and contradict each other, or say the same twice."""
    problems = []
    by_place: dict[tuple[str, ...], list[ListRow]] = {}
    for row in rows:
        v = row.values
        if "at" in v and "panel" in v:
            by_place.setdefault((v["panel"], v["at"]), []).append(row)
        elif "placard" in v and "bus" in v:
            by_place.setdefault(("", v["bus"], v["placard"]), []).append(row)
    for group in by_place.values():
        for index, row in enumerate(group):
            for before in group[max(index - MOST_COMPARED, 0) : index]:
                a, b = before.values, row.values
                apart = _serials(before) and _serials(row) and not _serials(before) & _serials(row)
                if apart:
                    continue
                differ = [m for m in ("placard", "rating", "bus") if a.get(m) != b.get(m)]
                same_item = item_key(before) == item_key(row)
                if differ and "at" in a:
                    names = " and ".join(MEANINGS[m].heading.lower() for m in differ)
                    problems.append(
                        f"{row.place}: {before.place} has a breaker at {a['panel']} {a['at']} too,"
                        f" with another {names}. Correct one of the two."
                    )
                elif same_item and a.get("supply-serials") == b.get("supply-serials"):
                    problems.append(
                        f"{row.place}: this repeats {before.place}. Delete one of the two."
                    )
                else:
                    continue
                break
    return problems


def _serials(row: ListRow) -> set[str]:
    text = row.values.get("serials") or row.values.get("supply-serials") or ""
    return set(text.split(", ")) - {""}


def item_key(row: ListRow) -> str:
    """What the rows of one item have in common: its id, or else its name."""
    return row.values.get("id") or plain_name(row.values.get("name", ""))


def compare(catalogue: Catalogue, rows: Sequence[ListRow]) -> ListChanges:
    """Compare a list with a catalogue.

    A row is matched to equipment by id, else by name, else by the place of its breaker; to a supply
    by the breaker's id, else its place, else its placard, else the bus.
    """
    result = ListChanges()
    panels = {panel.id: panel for panel in catalogue.panels}
    rows = [_on_panel(row, panels, result) for row in rows]
    result.problems += duplicates(rows)
    index = _indexed(_on_panel(row, panels) for row in rows_of(catalogue))
    used: dict[int, ListRow] = {}
    edits: dict[tuple[Path, str], tuple[str, ListRow]] = {}
    for row in rows:
        same_record = _candidates(row, index)
        old = _supply_of(row, same_record, used)
        if old is None:
            if same_record and same_record[0].supply:
                result.new_supplies.append((row, same_record[0]))
            elif "id" not in row.values and "name" not in row.values:
                result.problems.append(
                    f"{row.place}: the breaker {quoted(row.values['breaker-id'])} is not in the"
                    " catalogue. Name the equipment that it feeds."
                )
            else:
                result.new_rows.append(row)
            continue
        used[id(old)] = row
        for meaning, new in row.values.items():
            before = old.values.get(meaning, "")
            if meaning == "breaker-id" and _numbered(new) == _numbered(before):
                continue
            owner = owner_path(old, meaning)
            said = edits.setdefault((owner, meaning), (new, row))
            if said[0] != new:
                result.problems.append(
                    f"{row.place}: {MEANINGS[meaning].heading.lower()} is {quoted(new)} here and"
                    f" {quoted(said[0])} in {said[1].place}. Correct one of the two."
                )
                continue
            if (
                said[1] is not row
                or new == before
                or (
                    meaning == "name"
                    and row.values.get("id") is None
                    and plain_name(new) == plain_name(before)
                )
            ):
                continue
            if meaning in ("id", "breaker-id", "protection"):
                result.problems.append(
                    f"{row.place}: {MEANINGS[meaning].heading.lower()} is {quoted(new)} here and"
                    f" {quoted(before)} in the catalogue. A list does not change it: edit the YAML."
                )
                continue
            if meaning in ("ata", "drawn") and old.record[0] == "indications":
                result.problems.append(
                    f"{row.place}: an indication has no {MEANINGS[meaning].heading.lower()}."
                    " Empty the cell."
                )
                continue
            result.changes.append(Change(row, meaning, before, new, old))
    for row in result.new_rows:
        missing = [m for m in ("bus", "rating", "placard") if m not in row.values]
        result.problems += [
            f"{row.place}: {MEANINGS[m].heading.lower()} is empty. Fill it in." for m in missing
        ]
    return result


def _on_panel(row: ListRow, panels: dict[str, Panel], result: ListChanges | None = None) -> ListRow:
    """A row with its position as row and column of its panel: `B7` for `b-7`."""
    panel, at = panels.get(row.values.get("panel", "")), row.values.get("at", "")
    if not panel or not at:
        return row
    for text in (at, at.upper()):
        if place := position(text, panel.rows, panel.columns):
            return replace(row, values={**row.values, "at": f"{panel.rows[place[0]]}{place[1]}"})
    if result is not None and re.search("[A-Za-z]", at):
        result.problems.append(
            f"{row.place}: {quoted(panel.id)} has no position {quoted(at)}. It has rows"
            f" {join_words(panel.rows)} and {counted(panel.columns, 'column')}."
        )
    elif result is not None:
        result.left_out.append(
            f"{row.place}: the position {at} is left out (it names no row and column like B7)."
        )
        return replace(row, values={m: v for m, v in row.values.items() if m != "at"})
    return row


def _numbered(breaker_id: str) -> str:
    """An id that nobody wrote changes with a second supply: `com-1.breaker`, `com-1.breaker-1`."""
    return f"{breaker_id}-1" if breaker_id.endswith((".breaker", ".fuse")) else breaker_id


def owner_path(row: ListRow, meaning: str) -> Path:
    """Where the record is that holds what a column says."""
    if meaning in OF_PROTECTOR:
        return row.protector or row.supply
    of_supply = meaning in OF_SUPPLY or meaning in ("breaker-id", "protection")
    return (row.supply or row.record) if of_supply else row.record


@dataclass
class _Index:
    """The rows of a catalogue by what a row of a list may have in common with them."""

    by_id: dict[object, list[ListRow]] = field(default_factory=dict)
    by_name: dict[object, list[ListRow]] = field(default_factory=dict)
    by_place: dict[object, list[ListRow]] = field(default_factory=dict)
    by_device: dict[object, list[ListRow]] = field(default_factory=dict)


def _indexed(old_rows: Iterable[ListRow]) -> _Index:
    index = _Index()
    for row in old_rows:
        v = row.values
        if not row.supply:
            index.by_device.setdefault(v["breaker-id"], []).append(row)
        if "id" in v:
            index.by_id.setdefault(v["id"], []).append(row)
            index.by_name.setdefault(plain_name(v["name"]), []).append(row)
        if "at" in v:
            index.by_place.setdefault((v.get("panel"), v["at"]), []).append(row)
    return index


def _candidates(row: ListRow, index: _Index) -> list[ListRow]:
    """The rows of the catalogue's record that a row is about."""
    v = row.values
    if "id" not in v and "name" not in v:
        return index.by_device.get(v["breaker-id"], [])
    if "id" in v:
        same = index.by_id.get(v["id"], [])
    else:
        same = index.by_name.get(plain_name(v["name"]), [])
        if not same and "at" in v:
            same = index.by_place.get((v.get("panel"), v["at"]), [])
            if len(same) > 1:
                same = []
    if len({o.record for o in same}) > 1:
        same = [o for o in same if o.values.get("serials", "") == v.get("serials", "")] or same
    return same


def _supply_of(
    row: ListRow,
    candidates: Sequence[ListRow],
    used: dict[int, ListRow],
) -> ListRow | None:
    """The supply that a row is about, or None when the record does not have it yet."""
    left = [o for o in candidates if id(o) not in used]
    v = row.values
    for keys in (
        ("breaker-id", "bus", "supply-serials"),
        ("breaker-id",),
        ("panel", "at"),
        ("placard", "bus"),
        ("placard",),
    ):
        if keys[0] in v:
            for old in left:
                if all(_numbered(v.get(k, "")) == _numbered(old.values.get(k, "")) for k in keys):
                    return old
            if keys == ("breaker-id",):
                return None
    for old in left:
        if old.values.get("bus") == v.get("bus") and ("placard" not in v or len(candidates) == 1):
            return old
    return None
