"""A position on a panel: as an author writes it (row, then column: `B7`), and with its panel."""

from __future__ import annotations

from collections.abc import Sequence


def panel_and_position(panel: str | None, at: str | None) -> str:
    """What the panel is called and the position on it, as far as they are known.

    >>> panel_and_position("Left side wall panel", "B7"), panel_and_position(None, None)
    ('Left side wall panel B7', '')
    """
    return " ".join(word for word in (panel, at) if word)


def position(at: str, rows: Sequence[str], columns: int) -> tuple[int, int] | None:
    """The row and the column of a written position.

    Parameters
    ----------
    at : the position, such as `B7`; a blank or hyphen may separate row and column.
    rows : the names of the panel's rows, from the top.
    columns : how many columns it has.

    Returns
    -------
    The row counted from 0 and the column counted from 1, or None when the panel has no such
    position. Of two rows that fit, the longer name is meant.

    Examples
    --------
    >>> position("B7", ["A", "B"], 16), position("C7", ["A", "B"], 16)
    ((1, 7), None)
    """
    for row in sorted(rows, key=len, reverse=True):
        if at.startswith(row):
            rest = at[len(row) :].strip(" -")
            if rest.isascii() and rest.isdigit() and len(rest) <= 4 and 1 <= int(rest) <= columns:
                return rows.index(row), int(rest)
    return None
