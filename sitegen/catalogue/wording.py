"""Small helpers for messages: a value as shown in one, a likely word, an article, a count."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence

LONGEST_SHOWN = 40


def shown(value: object) -> str:
    """A value as a message shows it: between backticks, on one line, cut when long.

    >>> shown("left-main")
    '`left-main`'
    """
    text = value if isinstance(value, str) else str(value).lower()
    if len(text) > LONGEST_SHOWN:
        text = text[: LONGEST_SHOWN - 1] + "…"
    text = "".join(c if c.isprintable() else repr(c)[1:-1] for c in text)
    return f"`{text}`"


def likely(word: str, known: Iterable[str]) -> str | None:
    """The known word that was probably meant, or None when none comes near.

    >>> likely("essental", ["left-main", "essential"])
    'essential'
    """
    if len(word) > 80:
        return None
    candidates = sorted(set(known))
    near = difflib.get_close_matches(word, candidates, n=1, cutoff=0.6)
    if near:
        return near[0]
    plain = word.lower().replace("_", "-").replace(" ", "-")
    near = difflib.get_close_matches(plain, candidates, n=1, cutoff=0.6)
    return near[0] if near else None


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A hint that names the likely word, or nothing.

    >>> did_you_mean("essental", ["essential"])
    'Did you mean `essential`?'
    """
    meant = likely(word, known)
    return f"Did you mean {shown(meant)}?" if meant else ""


def listed(words: Sequence[str], joint: str = "and") -> str:
    """Words as a sentence lists them.

    >>> listed(["bus", "source", "fuse"], "or")
    'bus, source or fuse'
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {joint} {words[-1]}"


def a(noun: str) -> str:
    """A noun behind its article.

    >>> a("external-power source"), a("bus"), a("equipment")
    ('an external-power source', 'a bus', 'equipment')
    """
    if noun in ("equipment", "battery-time", "aircraft"):
        return noun
    return f"an {noun}" if noun[0] in "aeio" else f"a {noun}"


def counted(count: int, one: str, more: str | None = None) -> str:
    """A number with its noun.

    >>> counted(1, "breaker"), counted(3, "breaker"), counted(2, "bus", "buses")
    ('1 breaker', '3 breakers', '2 buses')
    """
    return f"{count} {one if count == 1 else more or one + 's'}"
