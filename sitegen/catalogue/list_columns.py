"""Which column of a list means what, by its heading."""

from __future__ import annotations

import re
import shlex
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from sitegen.catalogue.did_you_mean import did_you_mean
from sitegen.catalogue.list_meanings import (
    BY_HEADING,
    DESIGNATIONS,
    MEANINGS,
    NEEDED,
    RARE,
    certain_meaning,
    field_name,
    plain_heading,
    probable_meaning,
)
from sitegen.catalogue.panel_cells import JoinedCells, joined_cells
from sitegen.catalogue.spreadsheet import Table
from sitegen.words import LONGEST_QUOTED, join_words, quoted

_FIGURE = re.compile(r"[0-9]+(?:[.,][0-9]+)? ?(?:A|amps?)?", re.IGNORECASE)
MOST_TITLE_ROWS = 20
"""How many rows above the headings are looked through: title, revision, date."""


class ListError(Exception):
    """A table that is no list as it is; the message says where and the likely fix."""


@dataclass(frozen=True)
class Columns:
    """The columns of a list."""

    heading_row: int
    """Counted from 0 in the rows of the table."""
    of: dict[str, int]
    """By meaning: the column, counted from 0."""
    certain: tuple[tuple[str, str, str], ...]
    """(letters, heading, meaning) of the columns that were understood."""
    guessed: tuple[tuple[str, str, str], ...]
    unused: tuple[tuple[str, str], ...]
    """(letters, heading) of the columns whose heading means nothing here."""
    joined: JoinedCells | None = None
    """How the cells of a column are divided that has both panel and position."""
    bus_rows: Mapping[int, str] = field(default_factory=dict)
    """Of a list without a column of buses, its group titles: by row, counted from 0, the bus."""


def chosen_columns(options: Sequence[str]) -> dict[str, str]:
    """By meaning the heading that the author has chosen, from `FIELD=HEADING` each.

    Raises
    ------
    ListError : a text is not of this form, or names no field, or names one twice.
    """
    chosen: dict[str, str] = {}
    fields = {field_name(meaning): meaning for meaning in MEANINGS}
    for option in options:
        name, equals, heading = (part.strip() for part in option.partition("="))
        meaning = fields.get(name.lower()) or certain_meaning(name)
        if not equals or not heading or meaning is None:
            hint = did_you_mean(name, fields) if equals else ""
            raise ListError(
                f"--column {quoted(option)}: write FIELD=HEADING. {hint or f'Fields: {_fields()}.'}"
            )
        if meaning in chosen:
            raise ListError(f"--column: {quoted(name)} is set twice. Leave one of them out.")
        chosen[meaning] = heading
    return chosen


def _fields() -> str:
    return join_words([field_name(m) for m in MEANINGS if m not in RARE or m == "checked"])


def match_columns(table: Table, chosen: Mapping[str, str] | None = None) -> Columns:
    """Find the row of headings, and what each of them means.

    Parameters
    ----------
    table : the sheet.
    chosen : of `chosen_columns`; it goes before what a heading means by itself.

    Raises
    ------
    ListError : no row has headings, two columns claim one meaning, or one is missing that no
        list can do without.
    """
    chosen = chosen or {}
    rows = table.rows[:MOST_TITLE_ROWS]
    wanted = {_as_compared(heading) for heading in chosen.values()}
    hits = [
        len(
            {BY_HEADING[h][0] for c in row if (h := plain_heading(c)) in BY_HEADING}
            | {text for c in row if (text := _as_compared(c)) in wanted}
        )
        for row in rows
    ]
    best = max(hits, default=0)
    if best < 2 and not chosen:
        hits = [
            len({m for c in row if (m := certain_meaning(c) or probable_meaning(c))})
            for row in rows
        ]
        best = max(hits, default=0)
    if best < (1 if chosen else 2):
        raise ListError(_no_headings(table))
    heading_row = hits.index(best)
    by_author = {
        meaning: _column_of(table, heading_row, meaning, heading)
        for meaning, heading in chosen.items()
    }
    claims: dict[str, list[tuple[int, bool]]] = {m: [(c, True)] for m, c in by_author.items()}
    cells = rows[heading_row]
    unused: list[int] = []
    for column, cell in enumerate(cells):
        heading = plain_heading(cell)
        if column in by_author.values():
            continue
        if heading in BY_HEADING and BY_HEADING[heading][0] not in by_author:
            meaning, certain = BY_HEADING[heading]
            if heading == "load" and "drawn" not in by_author:
                figures = all(map(_FIGURE.fullmatch, _texts(table, heading_row, column)))
                meaning = "drawn" if figures else meaning
            claims.setdefault(meaning, []).append((column, certain))
        elif cell.strip():
            unused.append(column)
    of: dict[str, int] = {}
    known: dict[bool, list[tuple[str, str, str]]] = {True: [], False: []}
    for meaning, claimed in claims.items():
        sure = [column for column, certain in claimed if certain]
        among = sure or [column for column, _ in claimed]
        if len(among) > 1:
            names = join_words([f"{table.letters(c)} {quoted(cells[c].strip())}" for c in among])
            raise ListError(
                f"{table.place(heading_row)}: columns {names} both"
                f" mean {quoted(MEANINGS[meaning].heading)}. Rename or delete one of them, or"
                f" choose one with {_option(table, heading_row, meaning, among[0])}."
            )
        of[meaning] = among[0]
        known[bool(sure)].append((*_entry(table, cells, among[0]), MEANINGS[meaning].heading))
        unused += [column for column, _ in claimed if column != among[0]]
    missing = [m for m in NEEDED if m not in of]
    # Beside a column of placards it is the items that have a designation.
    likely = {"name": [c for c in unused if plain_heading(cells[c]) in DESIGNATIONS]}
    likely |= {m: [c for c in unused if probable_meaning(cells[c]) == m] for m in missing}
    for meaning, fit in likely.items():
        if meaning not in of and len(fit) == 1:
            unused.remove(fit[0])
            of[meaning] = fit[0]
            known[False].append((*_entry(table, cells, fit[0]), MEANINGS[meaning].heading))
    bus_column, bus_rows = _group_titles(table, heading_row) if "bus" not in of else (0, {})
    if bus_rows:
        of["bus"] = bus_column
        numbers = join_words([str(table.first_row + row) for row in bus_rows], most=4)
        known[False].append((table.letters(bus_column), f"titles in rows {numbers}", "Bus"))
    missing = [m for m in missing if m not in of and (m != "placard" or "name" not in of)]
    if missing:
        raise ListError(_missing(table, heading_row, missing, set(of.values())))
    joined = joined_cells(
        {m: _texts(table, heading_row, of[m]) for m in ("panel", "at") if m in of}
    )
    if joined:
        column = of[joined.column]
        of |= {"panel": column, "at": column}
        entry = _entry(table, cells, column)
        for entries in known.values():
            entries[:] = [e for e in entries if e[2] not in ("Panel", "Position")]
        parts = [quoted(joined.part(joined.example, m)) for m in ("panel", "at")]
        known[False].append(
            (*entry, f"Panel {parts[0]} and Position {parts[1]} in {quoted(joined.example)}")
        )
    left = tuple(_entry(table, cells, column) for column in unused)
    return Columns(heading_row, of, tuple(known[True]), tuple(known[False]), left, joined, bus_rows)


def _entry(table: Table, cells: Sequence[str], column: int) -> tuple[str, str]:
    """The letters and the heading of a column; one named by its letters may have no heading."""
    return table.letters(column), cells[column].strip() if column < len(cells) else ""


def _group_titles(table: Table, heading_row: int) -> tuple[int, dict[int, str]]:
    """The column of the titles over groups of rows, and by row the title; none if it is not clear.

    A title is a row with one text in it. The first row below the headings is one, all are in one
    column, and each has rows below it: a text at the end of a list is a remark.
    """
    titles: dict[int, tuple[int, str]] = {}
    last = heading_row
    for r in range(heading_row + 1, len(table.rows)):
        cells = {c: text for c, cell in enumerate(table.rows[r]) if (text := cell.strip())}
        if len(cells) == 1 and re.search(r"[^\W\d_]", next(iter(cells.values()))):
            titles[r] = next(iter(cells.items()))
        elif cells and not titles:
            return 0, {}
        elif cells:
            last = r
    titles = {r: title for r, title in titles.items() if r < last}
    columns = {column for column, _ in titles.values()}
    if len(columns) != 1:
        return 0, {}
    return columns.pop(), {r: " ".join(text.split()) for r, (_, text) in titles.items()}


def _texts(table: Table, heading_row: int, column: int) -> list[str]:
    """The filled cells of a column below the headings."""
    cells = (row[column] for row in table.rows[heading_row + 1 :] if column < len(row))
    return [text for cell in cells if (text := " ".join(cell.split()))]


def _as_compared(heading: str) -> str:
    return plain_heading(heading) or " ".join(heading.casefold().split())


def _column_of(table: Table, heading_row: int, meaning: str, heading: str) -> int:
    """The column with a heading, else the one with these letters."""
    cells = table.rows[heading_row]
    exact = [c for c, cell in enumerate(cells) if " ".join(cell.split()) == heading]
    found = exact or [c for c, x in enumerate(cells) if _as_compared(x) == _as_compared(heading)]
    found = found or [c for c in range(table.width) if table.letters(c) == heading.upper()]
    if len(found) == 1:
        return found[0]
    option = f"--column {field_name(meaning)}={heading}"
    if found:
        raise ListError(
            f"{table.place(heading_row)}: {quoted(option)}: columns"
            f" {join_words([table.letters(c) for c in found])} have this heading. Write the letter"
            f" in place of it, as in {_option(table, heading_row, meaning, found[0])}."
        )
    raise ListError(
        f"{table.place(heading_row)}: {quoted(option)}: no column has this heading."
        f" The headings are {_headings(table, heading_row)}."
    )


def _headings(table: Table, row: int) -> str:
    words = [
        f"{table.letters(c)} {quoted(text)}"
        for c, cell in enumerate(table.rows[row])
        if (text := " ".join(cell.split()))
    ]
    return join_words(words, most=30)


def _option(table: Table, heading_row: int, meaning: str, column: int | None) -> str:
    """The option that says what a column means, as it is typed in a shell."""
    if column is None:
        return f"--column {field_name(meaning)}=HEADING"
    cells = [" ".join(cell.split()) for cell in table.rows[heading_row]]
    heading = cells[column] if column < len(cells) else ""
    clear = heading.isprintable() and 0 < len(heading) <= LONGEST_QUOTED
    if not clear or cells.count(heading) > 1:
        heading = table.letters(column)
    return f"--column {shlex.quote(f'{field_name(meaning)}={heading}')}"


def _missing(table: Table, heading_row: int, missing: Sequence[str], used: set[int]) -> str:
    names = join_words([quoted(MEANINGS[m].heading) for m in missing])
    return (
        f"{table.place(heading_row)}: no column is headed {names}, and the list needs it."
        f" The headings are {_headings(table, heading_row)}. Say which column it is with"
        f" {_options(table, heading_row, missing, used)}, or add it (fields: {_fields()})."
    )


def _no_headings(table: Table) -> str:
    """What is said where no row has two headings that are known."""
    rows = table.rows[:MOST_TITLE_ROWS]
    filled = [sum(bool(re.search(r"[^\W\d_]", cell)) for cell in row) for row in rows]
    row = filled.index(max(filled)) if filled else 0
    start = f"sheet {quoted(table.sheet)}: no row has headings"
    if not filled or filled[row] < 2:
        return (
            f"{start}. Write one above the list, for example Bus, Breaker, Amps, Panel, Position,"
            " Equipment, ATA, Wire, Amps drawn."
        )
    known = {c for c, cell in enumerate(table.rows[row]) if plain_heading(cell) in BY_HEADING}
    return (
        f"{start} that are known. Row {table.first_row + row} has {_headings(table, row)}. If these"
        f" are the headings, say what they mean with {_options(table, row, NEEDED, known)}"
        f" (fields: {_fields()})."
    )


def _options(table: Table, row: int, missing: Sequence[str], used: set[int]) -> str:
    """The options for missing columns, each with the column that its cells make likely."""
    options = {}
    used = set(used)
    for meaning in sorted(missing, key=("rating", "bus", "placard").index):
        column = _likely(table, row, meaning, used)
        used |= {column} if column is not None else set()
        options[meaning] = _option(table, row, meaning, column)
    return " ".join(options[meaning] for meaning in missing)


def _likely(table: Table, heading_row: int, meaning: str, used: set[int]) -> int | None:
    """The column that most looks like amps, a bus (few texts) or a placard (a text a row).

    Of figures, those that count the rows are no amps, and the largest are ratings: less is drawn.
    """
    rows = max(len(_texts(table, heading_row, c)) for c in range(table.width))
    amps: dict[int, float] = {}
    different: dict[int, int] = {}
    for c, cell in enumerate(table.rows[heading_row]):
        if c in used or not cell.strip():
            continue
        texts = _texts(table, heading_row, c)
        if 2 * len(texts) < rows:
            continue  # what a list needs is in most of its rows
        if texts and all(map(_FIGURE.fullmatch, texts)):
            figures = [float(re.sub(r"[^0-9.]", "", t.replace(",", "."))) for t in texts]
            if any(after != before + 1 for before, after in pairwise(figures)):
                amps[c] = sum(figures) / len(figures)
        elif texts:
            different[c] = len(set(texts))
    if meaning == "rating":
        return max(amps, key=lambda c: amps[c]) if amps else None
    choose = min if meaning == "bus" else max
    return choose(different, key=lambda c: different[c]) if different else None
