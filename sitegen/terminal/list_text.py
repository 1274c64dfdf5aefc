"""What a breaker list was read as, and what it would change, as text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sitegen.catalogue.list_changes import ListChanges
from sitegen.catalogue.list_columns import Columns
from sitegen.catalogue.list_meanings import MEANINGS, RARE
from sitegen.catalogue.spreadsheet import Table
from sitegen.words import counted

MOST_LINES = 20


def columns_text(table: Table, columns: Columns, rows_count: int) -> Iterator[str]:
    """Which columns were understood, guessed and not used, and which facts have none."""
    yield f"{counted(rows_count, 'row')} below the headings in {table.place(columns.heading_row)}."
    for title, known in (("Understood", columns.certain), ("Guessed", columns.guessed)):
        if known:
            yield title
            yield from (
                f"  {f'{letters} {heading}'.rstrip()}: {m}" for letters, heading, m in known
            )
    if columns.unused:
        yield "Not used (--column FIELD=HEADING says what one is)"
        yield from (f"  {letters} {heading}" for letters, heading in columns.unused)
    own = ("id", "protection", "breaker-id", "supply-serials", *RARE)
    missing = [m.heading for key, m in MEANINGS.items() if key not in columns.of and key not in own]
    if missing:
        yield f"No column for: {', '.join(missing)}"
    if table.merged:
        yield f"Merged cells: the value of {counted(table.merged, 'range')} counts in each row."


def lines_text(lines: Sequence[str], title: str, most: int = MOST_LINES) -> Iterator[str]:
    """Lines below a title, if there are any."""
    if lines:
        yield title
        yield from (f"  {line}" for line in lines[:most])
        if len(lines) > most:
            yield f"  and {len(lines) - most} more"


def changes_text(changes: ListChanges) -> Iterator[str]:
    """What a list changes in a catalogue."""
    for row in changes.new_rows:
        item = row.values.get("id") or row.item
        yield f"  new      {item}: {row.breaker} on {row.values['bus']}"
    for row, old in changes.new_supplies:
        yield f"  supply   {_item(old.values)}: {row.breaker} on {row.values.get('bus', '')}"
    for change in changes.changes:
        about = _item(change.old_row.values)
        heading = MEANINGS[change.meaning].heading.lower()
        yield f"  change   {about}: {heading} {change.old or '(empty)'} -> {change.new}"


def lost_checks_text(changes: ListChanges) -> Iterator[str]:
    """Which lines are no longer checked, and who had checked them."""
    lines = []
    for lost in changes.lost_checks:
        v = lost.old_row.values
        about = {"checked": "", "supply-checked": f", its supply from {v.get('bus')}"}
        part = about.get(lost.meaning, f", its breaker {v.get('placard')}")
        part = part if lost.old_row.supply else ""
        lines.append(f"{_item(v)}{part}: was checked by {v[lost.meaning]}")
    yield from lines_text(lines, "No longer checked, for the line changes", len(lines))


def not_in_list_text(changes: ListChanges) -> Iterator[str]:
    """What the catalogue has on the same buses and airframes, and the list does not."""
    lines = []
    for old in changes.not_in_list:
        v = old.values
        bus = f" on {v['bus']}" if "bus" in v else " in a feeder"
        name = v.get("placard") or v.get("breaker-id") or "no breaker"
        serials = v.get("serials") or v.get("supply-serials")
        lines.append(f"{_item(v)}: {name}{bus}{f' ({serials})' if serials else ''}")
    yield from lines_text(lines, "In the catalogue, not in this list (it stays)", len(lines))


def _item(values: dict[str, str]) -> str:
    return values.get("id") or values.get("name") or values.get("breaker-id", "")
