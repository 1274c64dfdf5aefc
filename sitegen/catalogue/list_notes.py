"""What is said of the rows of a list: the same of several rows is said once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from sitegen.words import counted, join_words, quoted

ROWS_NAMED = 4
"""Of how many rows a note names the numbers."""


@dataclass(frozen=True)
class RowNote:
    """One sentence about one row of a list."""

    sheet: str
    row: int
    """As the spreadsheet numbers it."""
    text: str
    """The sentence; the same in all rows that are counted together."""
    column: str = ""
    """Letters of the column that is meant; empty: the row."""


def note_lines(notes: Iterable[RowNote]) -> Iterator[str]:
    """The notes as lines: the same sentence once, with the rows that it is true of.

    >>> list(note_lines(RowNote("CBs", row, "the position is left out.") for row in (7, 9)))
    ['sheet `CBs`, 2 rows (7 and 9): the position is left out.']
    """
    rows: dict[tuple[str, str, str], list[str]] = {}
    for note in notes:
        rows.setdefault((note.sheet, note.column, note.text), []).append(str(note.row))
    for (sheet, column, text), numbers in rows.items():
        numbers = list(dict.fromkeys(numbers))
        where = f"row {numbers[0]}"
        if len(numbers) > 1:
            where = f"{counted(len(numbers), 'row')} ({join_words(numbers, most=ROWS_NAMED)})"
        column = f", column {column}" if column else ""
        yield f"sheet {quoted(sheet)}, {where}{column}: {text}"
