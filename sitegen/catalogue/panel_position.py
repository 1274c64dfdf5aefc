"""A place on a panel, as it is written: the row and then the column, `B7`."""

from __future__ import annotations

from collections.abc import Sequence


def position(at: str, rows: Sequence[str], columns: int) -> tuple[int, int] | None:
    """The row and the column of a written place.

    Parameters
    ----------
    at : the place, such as `B7`; a blank or hyphen may stand between row and column.
    rows : the names of the panel's rows, from the top.
    columns : how many columns it has.

    Returns
    -------
    The row counted from 0 and the column counted from 1, or None when the panel has no such
    place. Of two rows that fit, the longer name is meant.

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
