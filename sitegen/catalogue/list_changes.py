"""What a list would change in a catalogue.

A list never deletes: an empty cell says nothing, and what a list does not name stays.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from sitegen.catalogue.breaker_list import ListRow, Path, rows_of
from sitegen.catalogue.lines import ends_of_devices
from sitegen.catalogue.list_contradictions import duplicates, incomplete
from sitegen.catalogue.list_matching import match_rows, numbered, serials_of, unmatched
from sitegen.catalogue.list_meanings import MEANINGS
from sitegen.catalogue.list_names import plain_name
from sitegen.catalogue.list_notes import RowNote
from sitegen.catalogue.model import Catalogue, Panel
from sitegen.catalogue.panel_position import position
from sitegen.words import counted, join_words, quoted

NO_POSITION = "the position is left out (it is no row and column like B7)."
NO_PANEL = "the position is left out (the row has no panel)."
NO_BREAKER_IDS = "the breaker id is left out (a list does not change ids)."
OF_PROTECTOR = {
    "placard": "name",
    "rating": "amps",
    "panel": "panel",
    "at": "at",
    "breaker-reference": "reference",
    "breaker-checked": "checked",
}
BREAKER_LINE = ("breaker-reference", "breaker-checked")
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


OF_FEEDER = (
    *("breaker-id", "protection", "placard", "rating", "panel", "at"),
    *("serials", "reference", "checked"),
)
"""What a breaker in a feeder has; the rest is of what a breaker feeds."""


_Edits = dict[tuple[Path, str], tuple[str, ListRow]]
"""By place and meaning: what the list says there first, and its row."""


@dataclass(frozen=True)
class Change:
    """One value that the list says otherwise."""

    row: ListRow
    meaning: str
    old: str
    new: str
    old_row: ListRow


@dataclass(frozen=True)
class LostCheck:
    """A check of a line that changes: it was of the line as it was."""

    old_row: ListRow
    meaning: str
    """Whose check it is: `checked`, `supply-checked` or `breaker-checked`."""


@dataclass
class ListChanges:
    """What a list would change."""

    changes: list[Change] = field(default_factory=list)
    new_rows: list[ListRow] = field(default_factory=list)
    """Rows whose equipment the catalogue does not have."""
    shared: dict[int, str] = field(default_factory=dict)
    """By the number of such a row: the catalogue's breaker that feeds it too."""
    new_supplies: list[tuple[ListRow, ListRow]] = field(default_factory=list)
    """(row, a row of the same equipment in the catalogue)."""
    lost_checks: list[LostCheck] = field(default_factory=list)
    """Lines that are no longer as somebody has checked them."""
    not_in_list: list[ListRow] = field(default_factory=list)
    """Rows of the catalogue on the list's buses and airframes that the list does not have."""
    problems: list[RowNote] = field(default_factory=list)
    left_out: list[RowNote] = field(default_factory=list)
    """What the list says and a catalogue cannot hold."""

    @property
    def count(self) -> int:
        """How many changes there are."""
        return len(self.changes) + len(self.new_rows) + len(self.new_supplies)


def compare(catalogue: Catalogue, rows: Sequence[ListRow]) -> ListChanges:
    """Compare a list with a catalogue."""
    result = ListChanges()
    panels = {panel.id: panel for panel in catalogue.panels}
    everywhere = {airframe.id for airframe in catalogue.airframes}
    old_rows = [_on_panel(row, panels) for row in rows_of(catalogue)]
    by_breaker = {
        numbered(row.values["breaker-id"]): row for row in old_rows if "breaker-id" in row.values
    }
    rows = [_known_parts(_on_panel(row, panels, result), set(by_breaker), result) for row in rows]
    result.problems += duplicates(rows)
    ends = ends_of_devices(catalogue)
    matches = match_rows(rows, old_rows, ends)
    result.not_in_list = list(unmatched(rows, old_rows, matches, ends))
    edits: _Edits = {}
    pairs: list[tuple[ListRow, ListRow]] = []
    for n, row in enumerate(rows):
        if n in matches.same:
            if n in matches.of_several:
                row = _of_breaker(row, matches.same[n], result)
            for old in (matches.same[n], *matches.also.get(n, ())):
                placed = _on_its_panel(row, old.values.get("panel"), panels, result)
                placed = placed if old.supply else _of_feeder(placed)
                _compare_row(placed, old, everywhere, edits, result)
                pairs.append((placed, old))
            continue
        row = _on_its_panel(row, None, panels, result)
        if serials_of(row) == everywhere:
            row = _without(row, "serials", "supply-serials")
        if n in matches.other_supply and matches.other_supply[n].supply:
            if named_breaker := by_breaker.get(numbered(row.values.get("breaker-id", ""))):
                _share(row, named_breaker, edits, result)
            result.new_supplies.append((row, matches.other_supply[n]))
            of_item = _without(row, *(m for m in row.values if m not in OF_RECORD))
            _compare_row(of_item, matches.other_supply[n], everywhere, edits, result)
            pairs.append((of_item, matches.other_supply[n]))
        elif n in matches.several:
            result.problems.append(_which(row, matches.several[n]))
        elif not row.has_name:
            result.problems.append(
                row.note(
                    f"the breaker {quoted(row.values.get('breaker-id', ''))} is not in the"
                    " catalogue. Name the equipment that it feeds."
                )
            )
        else:
            if n in matches.on_breaker:
                _share(row, matches.on_breaker[n], edits, result)
            result.new_rows.append(row)
    result.problems += incomplete(result.new_rows)
    _lose_checks(result, pairs)
    return result


def _compare_row(
    row: ListRow,
    old: ListRow,
    everywhere: set[str],
    edits: _Edits,
    result: ListChanges,
) -> None:
    """Add what a row says otherwise than the catalogue's row that it is about."""
    for meaning, new in row.values.items():
        before = old.values.get(meaning, "")
        heading = MEANINGS[meaning].heading.lower()
        if meaning == "breaker-id" and numbered(new) == numbered(before):
            continue
        if not old.supply and meaning not in OF_FEEDER:
            if meaning not in ("bus", "name"):
                result.left_out.append(row.note(f"a breaker in a feeder has no {heading}."))
            continue
        owner = owner_path(old, meaning)
        said = edits.setdefault((owner, meaning), (new, row))
        if said[0] != new and (meaning != "name" or plain_name(said[0]) != plain_name(new)):
            result.problems.append(
                row.note(
                    f"{heading} is {quoted(new)} here and {quoted(said[0])} in {said[1].place}."
                    " Correct one of the two."
                )
            )
        elif said[1] is not row or _says_the_same(row, meaning, old, everywhere):
            continue
        elif meaning in ("id", "breaker-id", "protection"):
            result.problems.append(
                row.note(
                    f"{heading} is {quoted(new)} here and {quoted(before)} in the catalogue."
                    " A list does not change it: edit the YAML."
                )
            )
        elif meaning in ("ata", "drawn") and old.record[0] == "indications":
            result.problems.append(row.note(f"an indication has no {heading}. Empty the cell."))
        else:
            result.changes.append(Change(row, meaning, before, new, old))


def _says_the_same(row: ListRow, meaning: str, old: ListRow, everywhere: set[str]) -> bool:
    new, before = row.values[meaning], old.values.get(meaning, "")
    if meaning in ("serials", "supply-serials"):
        sets = [set(text.split(", ")) - {""} or everywhere for text in (new, before)]
        return sets[0] == sets[1]
    if meaning == "name":
        return new == before or ("id" not in row.values and plain_name(new) == plain_name(before))
    if meaning == "placard" and not {"id", "breaker-id"} & set(row.values):
        # A list from elsewhere: a placard in other letters is no other one, nor is the id.
        return plain_name(new) in (plain_name(before), old.values.get("breaker-id"))
    return new == before


def _without(row: ListRow, *meanings: str) -> ListRow:
    return replace(row, values={m: v for m, v in row.values.items() if m not in meanings})


def _of_feeder(row: ListRow) -> ListRow:
    """A row of a breaker in a feeder: what is checked, or referred to, is the breaker."""
    own = {m.removeprefix("breaker-"): row.values[m] for m in BREAKER_LINE if m in row.values}
    return replace(row, values={**_without(row, *BREAKER_LINE).values, **own})


def _of_breaker(row: ListRow, old: ListRow, result: ListChanges) -> ListRow:
    """What a row says of a breaker that feeds several items; the rest is of none of them."""
    others = [m for m in row.values if m not in (*OF_PROTECTOR, "breaker-id", "protection")]
    result.left_out += (
        row.note(f"{MEANINGS[m].heading.lower()} is left out (the breaker feeds several items).")
        for m in others
        if row.values[m] != old.values.get(m)
    )
    return _without(row, *others)


def _known_parts(row: ListRow, known_breakers: set[str], result: ListChanges) -> ListRow:
    """A row without a breaker id that the catalogue does not have, if something else names it."""
    text = row.values.get("breaker-id")
    if text is None or numbered(text) in known_breakers or not row.has_name:
        return row
    result.left_out.append(row.note(NO_BREAKER_IDS))
    return _without(row, "breaker-id")


def _which(row: ListRow, olds: Sequence[ListRow]) -> RowNote:
    names = [f"{old.values.get('id') or old.values.get('breaker-id')}" for old in olds]
    return row.note(
        f"{quoted(row.values.get('placard') or row.item)} is the breaker of"
        f" {join_words([quoted(name) for name in dict.fromkeys(names)], most=5)} in the catalogue."
        " Say which one with a column Equipment, Position or Serials."
    )


def _share(row: ListRow, old: ListRow, edits: _Edits, result: ListChanges) -> None:
    """Feed a new item through a breaker that the catalogue has already."""
    if old.protector[:1] == ("devices",):
        result.shared[row.number] = old.values["breaker-id"]
        of_others = [meaning for meaning in row.values if meaning not in OF_PROTECTOR]
        _compare_row(_without(row, *of_others), old, set(), edits, result)
        return
    breaker = quoted(old.values.get("placard") or old.values["breaker-id"])
    result.problems.append(
        row.note(
            f"the breaker {breaker} is written in the supply of {quoted(old.values['id'])}, which"
            " this row does not name. If it feeds both, write it in the catalogue's `devices` with"
            " an id, and the id in that supply; if it is the same equipment, write the name that"
            " the catalogue has."
        )
    )


def _lose_checks(result: ListChanges, pairs: Sequence[tuple[ListRow, ListRow]]) -> None:
    """Find the checks of lines that change, and lists that say such a check of the new line."""
    lost: dict[Path, LostCheck] = {}
    signed = {owner_path(c.old_row, c.meaning) for c in result.changes if _is_check(c.meaning)}
    for change in result.changes:
        if not _is_check(change.meaning):
            _lose(lost, signed, change.old_row, change.meaning)
    for row, old in result.new_supplies:
        if "supply-checked" not in row.values:
            _lose(lost, signed, old, "name")
    result.lost_checks = list(lost.values())
    for row, old in pairs:
        for meaning in filter(_is_check, row.values):
            if owner_path(old, meaning) in lost:
                result.problems.append(
                    row.note(
                        f"the line changes, and {MEANINGS[meaning].heading.lower()} is still"
                        f" {quoted(row.values[meaning])}, of the line as it was. Empty this cell,"
                        " or write who has checked it as it is now."
                    )
                )


def _is_check(meaning: str) -> bool:
    return meaning.endswith("checked")


def _lose(lost: dict[Path, LostCheck], signed: set[Path], old: ListRow, meaning: str) -> None:
    """Note the check that covers a value: its breaker's, else its supply's, else the record's."""
    owner = owner_path(old, meaning)
    for check in ("breaker-checked", "supply-checked", "checked"):
        path = owner_path(old, check)
        if path == owner[: len(path)] and (check in old.values or path in signed):
            if path not in signed:
                lost.setdefault(path, LostCheck(old, check))
            return


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
            row.note(
                f"{quoted(panel.id)} has no position {quoted(at)}. It has rows"
                f" {join_words(panel.rows)} and {counted(panel.columns, 'column')}."
            )
        )
    elif result is not None:
        result.left_out.append(row.note(NO_POSITION))
        return _without(row, "at")
    return row


def _on_its_panel(
    row: ListRow, panel: str | None, panels: dict[str, Panel], result: ListChanges
) -> ListRow:
    """A row that has a position and no panel, on the panel where its breaker is already."""
    if "at" not in row.values or "panel" in row.values:
        return row
    if panel is None:
        result.left_out.append(row.note(NO_PANEL))
        return _without(row, "at")
    return _on_panel(replace(row, values={**row.values, "panel": panel}), panels, result)


def owner_path(row: ListRow, meaning: str) -> Path:
    """Where the record is that holds what a column says."""
    if meaning in OF_PROTECTOR:
        return row.protector or row.supply
    of_supply = meaning in OF_SUPPLY or meaning in ("breaker-id", "protection")
    return (row.supply or row.record) if of_supply else row.record
