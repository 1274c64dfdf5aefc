"""Which column of a list means what, by its heading."""

from __future__ import annotations

import re
from dataclasses import dataclass

from sitegen.catalogue.spreadsheet import Table, column_letters
from sitegen.words import join_words, quoted

MOST_TITLE_ROWS = 20
"""How many rows above the headings are looked through: title, revision, date."""


class ListError(Exception):
    """A table that is no list as it is; the message says where and the likely fix."""


@dataclass(frozen=True)
class Meaning:
    """What a column may mean."""

    heading: str
    """As `export` writes it."""
    written: tuple[str, ...]
    """Other ways of writing it, as `plain_heading` gives them. Common practice, no source."""
    guessed: tuple[str, ...] = ()
    """Headings that probably mean it."""


MEANINGS = {
    "id": Meaning("Equipment id", ("equipment ident", "item id")),
    "name": Meaning(
        "Equipment",
        ("item", "equipment name", "system", "unit", "consumer", "component", "load name"),
        ("name", "description", "function", "service", "load", "title"),
    ),
    "ata": Meaning(
        "ATA", ("ata chapter", "ata 100", "ata number", "ata no", "chapter"), ("ata code",)
    ),
    "serials": Meaning(
        "Serials",
        (
            "serial",
            "serial numbers",
            "serial number",
            "airframe",
            "airframes",
            "effectivity",
            "fitted to",
            "msn",
            "s n",
            "sn",
        ),
        ("applies to", "aircraft", "block"),
    ),
    "drawn": Meaning(
        "Amps drawn",
        (
            "load amps",
            "load a",
            "current drawn",
            "draw",
            "draw a",
            "draw amps",
            "amps draw",
            "continuous amps",
            "continuous load",
            "consumption",
            "load current",
            "current draw",
        ),
        ("current", "nominal amps"),
    ),
    "reference": Meaning(
        "Reference",
        ("ref", "source", "wiring diagram", "wiring chart", "drawing", "document", "wdm"),
        ("remarks", "page"),
    ),
    "checked": Meaning("Checked", ("checked by", "verified", "verified by")),
    "bus": Meaning(
        "Bus",
        ("bus bar", "busbar", "bus name", "power bus", "fed from"),
        ("supply", "feed", "power"),
    ),
    "protection": Meaning("Breaker or fuse", ("protection", "protection type", "device type")),
    "breaker-id": Meaning("Breaker id", ("cb id", "fuse id")),
    "placard": Meaning(
        "Breaker",
        (
            "placard",
            "circuit breaker",
            "cb",
            "cb name",
            "breaker name",
            "breaker placard",
            "label",
            "circuit breaker name",
            "cb placard",
            "fuse",
            "marking",
            "legend",
        ),
        ("circuit", "designation", "nomenclature"),
    ),
    "rating": Meaning(
        "Amps",
        (
            "a",
            "amp",
            "ampere",
            "amperes",
            "rating",
            "cb rating",
            "rating a",
            "breaker amps",
            "rating amps",
            "breaker rating",
            "amp rating",
            "cb amps",
            "rated amps",
            "cb a",
            "fuse amps",
            "size a",
            "trip rating",
        ),
        ("size", "value", "rated"),
    ),
    "panel": Meaning("Panel", ("cb panel", "breaker panel", "panel name"), ("location", "where")),
    "at": Meaning(
        "Position",
        ("pos", "panel position", "grid", "row column", "cb position", "breaker position", "slot"),
        ("place", "coordinates", "zone"),
    ),
    "wire": Meaning(
        "Wire", ("wire gauge", "gauge", "awg", "wire awg", "an gauge", "wire size", "cable"), ()
    ),
    "supply-serials": Meaning("Serials of this supply", ()),
    "supply-reference": Meaning("Supply reference", ()),
    "supply-checked": Meaning("Supply checked", ()),
    "breaker-reference": Meaning("Breaker reference", ()),
    "breaker-checked": Meaning("Breaker checked", ()),
}

RARE = ("checked", "supply-reference", "supply-checked", "breaker-reference", "breaker-checked")
"""`export` leaves out such a column where no row has anything in it."""

_BY_WRITTEN = {
    text: (meaning, certain)
    for meaning, m in MEANINGS.items()
    for certain, texts in ((True, (m.heading.lower(), *m.written)), (False, m.guessed))
    for text in texts
}


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


def plain_heading(text: str) -> str:
    """A heading in lowercase words.

    >>> plain_heading("C/B  Rating (A)"), plain_heading("Pos.")
    ('cb rating a', 'pos')
    """
    text = text.lower().replace("c/b", "cb").replace("_", " ")
    return " ".join(re.sub(r"[^a-z0-9]+", " ", text).split())


def match_columns(table: Table) -> Columns:
    """Find the row of headings, and what each of them means.

    Raises
    ------
    ListError : no row has headings, two columns claim one meaning, or one is missing that no
        list can do without.
    """
    rows = table.rows[:MOST_TITLE_ROWS]
    hits = [
        len({_BY_WRITTEN[h][0] for c in row if (h := plain_heading(c)) in _BY_WRITTEN})
        for row in rows
    ]
    best = max(hits, default=0)
    if best < 2:
        raise ListError(
            f"sheet {quoted(table.sheet)}: no row has headings. Write one above the list, for"
            " example Bus, Breaker, Amps, Panel, Position, Equipment, ATA, Wire, Amps drawn."
        )
    heading_row = hits.index(best)
    claims: dict[str, list[tuple[int, bool]]] = {}
    unused = []
    for column, cell in enumerate(rows[heading_row]):
        heading = plain_heading(cell)
        if heading in _BY_WRITTEN:
            meaning, certain = _BY_WRITTEN[heading]
            claims.setdefault(meaning, []).append((column, certain))
        elif cell.strip():
            unused.append((column_letters(table.first_column + column), cell.strip()))
    of: dict[str, int] = {}
    known: dict[bool, list[tuple[str, str, str]]] = {True: [], False: []}
    for meaning, claimed in claims.items():
        sure = [column for column, certain in claimed if certain]
        among = sure or [column for column, _ in claimed]
        if len(among) > 1:
            first, cells = table.first_column, rows[heading_row]
            names = join_words(
                [f"{column_letters(first + c)} {quoted(cells[c].strip())}" for c in among]
            )
            raise ListError(
                f"{table.place(heading_row)}: columns {names} both"
                f" mean {quoted(MEANINGS[meaning].heading)}. Rename or delete one of them."
            )
        of[meaning] = among[0]
        for column, _ in claimed:
            letters = column_letters(table.first_column + column)
            heading = rows[heading_row][column].strip()
            if column == among[0]:
                known[bool(sure)].append((letters, heading, MEANINGS[meaning].heading))
            else:
                unused.append((letters, heading))
    missing = [m for m in ("bus", "rating") if m not in of]
    if not {"placard", "name"} & set(of):
        missing.append("placard")
    if missing:
        names = join_words([quoted(MEANINGS[m].heading) for m in missing])
        raise ListError(
            f"{table.place(heading_row)}: no column is headed {names}, and the list needs it."
            " Add it, or write that heading above the column that has it."
        )
    return Columns(heading_row, of, tuple(known[True]), tuple(known[False]), tuple(unused))
