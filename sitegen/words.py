"""How the pages say numbers, lists, days, modes and places."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from sitegen.catalogue.did_you_mean import counted as counted

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def listed(names: Sequence[str], joint: str = "and") -> str:
    """Names as one would say them.

    >>> listed(["A", "B", "C"])
    'A, B and C'
    """
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {joint} {names[-1]}"


def day(date: datetime.date) -> str:
    """A date that reads the same on both sides of the Atlantic.

    >>> day(datetime.date(2026, 11, 20))
    '20 Nov 2026'
    """
    return f"{date.day} {MONTHS[date.month - 1]} {date.year}"
