"""How messages, pages and commands write values, lists, counts and days."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence

LONGEST_QUOTED = 40
MOST_LISTED = 20
"""How many words a message lists; the rest are counted."""

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


LINKED = re.compile(r"\]\(([^)\s]+)\)")
"""What an author's text links to."""


def in_words(text: str) -> str:
    """An author's text on one line, links and what is stressed as their words alone.

    >>> in_words("See [the ring](ring): **never** set it to *off*, 2 * 3.")
    'See the ring: never set it to off, 2 * 3.'
    """
    plain = re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", text)
    return " ".join(re.sub(r"(\*\*?)(?=\S)([^*]+)(?<=\S)\1", r"\2", plain).split())


def in_short(hazard: str) -> str:
    """The few words before the colon of a text that explains itself after it.

    >>> in_short("Hot: a probe burns hands within a minute")
    'Hot'
    """
    return hazard.partition(":")[0]


def shortened(text: str, longest: int = LONGEST_QUOTED) -> str:
    """A text on one line, cut when it is long, without control characters.

    >>> shortened("left-main", 6)
    'left-…'
    """
    if len(text) > longest:
        text = text[: longest - 1] + "…"
    return "".join(c if c.isprintable() else repr(c)[1:-1] for c in text)


def quoted(value: object) -> str:
    """A value as a message shows it: between backticks, on one line, cut when long.

    >>> quoted("left-main")
    '`left-main`'
    """
    return f"`{shortened(value if isinstance(value, str) else str(value).lower())}`"


def join_words(words: Sequence[str], joint: str = "and", most: int | None = None) -> str:
    """Words as a sentence lists them; of more than `most` only the first, and how many more.

    >>> join_words(["bus", "source", "fuse"], "or", most=3), join_words(list("ABCD"), most=3)
    ('bus, source or fuse', 'A, B and 2 more')
    """
    if most and len(words) > most:
        words = [*words[: most - 1], f"{len(words) - most + 1} more"]
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {joint} {words[-1]}"


def with_article(noun: str) -> str:
    """A noun after its indefinite article.

    >>> with_article("external-power source"), with_article("bus"), with_article("equipment")
    ('an external-power source', 'a bus', 'equipment')
    """
    if noun in ("equipment", "battery-time", "aircraft"):
        return noun
    return f"an {noun}" if noun[0] in "aeio" else f"a {noun}"


def counted(count: int | str, one: str, more: str | None = None) -> str:
    """A number with its noun.

    >>> counted(1, "breaker"), counted(3, "breaker"), counted(2, "bus", "buses")
    ('1 breaker', '3 breakers', '2 buses')
    """
    return f"{count} {one if count == 1 else more or one + 's'}"


SETS_ASSUME = (
    "In sets, contactors ride through unless the catalogue says otherwise, and nothing opens by"
    " overload."
)


def sets_not_tried(order: int) -> str:
    """That sets of failures larger than these are too many to try.

    >>> sets_not_tried(2)
    'Sets of more than two failures are not tried: there are too many of them.'
    """
    most = "one failure" if order == 1 else "two failures"
    return f"Sets of more than {most} are not tried: there are too many of them."


def day(date: datetime.date) -> str:
    """A date that reads the same on both sides of the Atlantic.

    >>> day(datetime.date(2026, 11, 20))
    '20 Nov 2026'
    """
    return f"{date.day} {MONTHS[date.month - 1]} {date.year}"
