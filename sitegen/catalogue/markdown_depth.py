"""How deeply the Markdown of a text is nested: lists, quotes, links and HTML tags.

Beyond a limit the parser takes longer than anybody waits, or its recursion ends it.
"""

from __future__ import annotations

import re
from functools import lru_cache

DEEPEST = 50
"""The parser's recursion ends at some hundreds of lists; nobody reads ten."""
MOST_UNCLOSED = 1000
"""How many `<` that begin a tag may lack their `>`; the parser looks for each one's to the end."""

_RULE = re.compile(r" {0,3}([-*])[ \t]*(?:\1[ \t]*){2,}")
_LEAD = re.compile(r"(?:[ \t]*(?:>|(?:[-*+]|[0-9]{1,9}[.)])(?=[ \t])))*[ \t]*")
_MARKER = re.compile(r">|[^\s>]+")
_BRACKET = re.compile(r"\[|(?<=\])\(|(</?[a-z!?]+)([^<>]*>)?|[])]", re.IGNORECASE)
_OPENING = {"]": "[", ")": "("}
_LEFT_OPEN = {*("<br", "<hr", "<img", "<wbr", "<p", "<li", "<td", "<th", "<tr", "<!", "<?", "<a")}
"""Tags that need no end tag, and links, which end each other."""


@lru_cache(maxsize=8192)
def too_deep(text: str) -> int | None:
    """Where a text is nested more deeply than `DEEPEST`, as an index; None if nowhere.

    Brackets that are not closed count to the end of their paragraph, tags to that of the text.

    >>> too_deep("- " * 50 + "x"), too_deep("- " * 51 + "x")
    (None, 0)
    """
    start = tags = unclosed = 0
    brackets = {"[": 0, "(": 0}
    for line in text.split("\n"):
        lead = "" if _RULE.fullmatch(line) else _LEAD.match(line)[0]  # type: ignore[index]
        if len(_MARKER.findall(lead)) + lead.expandtabs(4).count(" " * 4) > DEEPEST:
            return start
        if not line.strip():
            brackets = {"[": 0, "(": 0}
        for match in _BRACKET.finditer(line, len(lead)):
            token = match[0].lower()
            if token in brackets:
                brackets[token] += 1
            elif token in _OPENING:
                brackets[_OPENING[token]] = max(0, brackets[_OPENING[token]] - 1)
            elif not match[2]:
                unclosed += 1
            elif token.startswith("</"):
                tags = max(0, tags - 1)
            elif match[1].lower() not in _LEFT_OPEN:
                tags += 1
            if max(tags, *brackets.values()) > DEEPEST or unclosed > MOST_UNCLOSED:
                return start + match.start()
        start += len(line) + 1
    return None
