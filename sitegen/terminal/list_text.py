"""What a breaker list was read as, and what it would change, as text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sitegen.catalogue.list_changes import ListChanges
from sitegen.catalogue.list_columns import MEANINGS, Columns
from sitegen.catalogue.spreadsheet import Table
from sitegen.words import counted

MOST_GUESSES = 20


def columns_text(table: Table, columns: Columns, rows_count: int) -> Iterator[str]:
    """Which columns were understood, guessed and not used, and which facts have none."""
    yield f"{counted(rows_count, 'row')} below the headings in {table.place(columns.heading_row)}."
    for title, known in (("Understood", columns.certain), ("Guessed", columns.guessed)):
        if known:
            yield title
            yield from (f"  {letters} {heading}: {m}" for letters, heading, m in known)
    if columns.unused:
        yield "Not used"
        yield from (f"  {letters} {heading}" for letters, heading in columns.unused)
    own = ("id", "protection", "breaker-id", "supply-serials")
    missing = [m.heading for key, m in MEANINGS.items() if key not in columns.of and key not in own]
    if missing:
        yield f"No column for: {', '.join(missing)}"
    if table.merged:
        yield f"Merged cells: the value of {counted(table.merged, 'range')} counts in each row."


def guesses_text(guesses: Sequence[str], title: str = "Check what was assumed") -> Iterator[str]:
    """What was guessed, row by row."""
    if guesses:
        yield title
        yield from (f"  {guess}" for guess in guesses[:MOST_GUESSES])
        if len(guesses) > MOST_GUESSES:
            yield f"  and {len(guesses) - MOST_GUESSES} more"


def changes_text(changes: ListChanges) -> Iterator[str]:
    """What a list changes in a catalogue."""
    for row in changes.new_rows:
        yield f"  new      {_item(row.values)}: {row.values['placard']} on {row.values['bus']}"
    for row, _ in changes.new_supplies:
        placard = row.values.get("placard", "")
        yield f"  supply   {_item(row.values)}: {placard} on {row.values.get('bus', '')}"
    for change in changes.changes:
        about = _item(change.old_row.values)
        heading = MEANINGS[change.meaning].heading.lower()
        yield f"  change   {about}: {heading} {change.old or '(empty)'} -> {change.new}"


def _item(values: dict[str, str]) -> str:
    return values.get("id") or values.get("name") or values.get("breaker-id", "")
