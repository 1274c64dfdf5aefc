"""Characters that no catalogue needs: a terminal obeys them, or nobody sees them."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import replace

from sitegen.catalogue.findings import Finding, Place, error
from sitegen.words import join_words

REFUSED = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\xad\u200b\u2028-\u202e\u2060-\u206f\ud800-\udfff\ufeff"
    "\ufff9-\ufffb\ufffe\uffff\U000e0000-\U000e007f]"
)
"""Control characters, parts of characters, and marks without a width, such as those that turn the
direction of writing round or that copying from a PDF leaves in. Line breaks are none."""

VISIBLE = re.compile(
    r"[^\s\0-\x1f\x7f-\x9f\xad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f\u200b-\u200f"
    r"\u202a-\u202e\u2060-\u206f\u2800\u3164\ufe00-\ufe0f\ufeff\uffa0\ufff0-\ufffb"
    r"\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e0fff]"
)
"""A character that leaves a mark: no space, no control character, none of those that Unicode's
property Default_Ignorable_Code_Point has (UAX 44), and not the Braille pattern without dots."""

MOST_REPORTED = 20
"""How many characters of one text are reported one by one."""


def refused(text: str, file: str) -> list[Finding]:
    """A finding for each character of a text that no catalogue needs.

    A control character ends the list: what holds one may be no text at all.
    """
    findings: list[Finding] = []
    for match in REFUSED.finditer(text):
        if len(findings) == MOST_REPORTED:
            more = f"{findings[-1].message} There are more in this file."
            findings[-1] = replace(findings[-1], message=more)
            break
        findings.append(_finding(text, match.start(), file))
        if not is_unseen(match.group()):
            break
    return findings


def without_unseen(text: str) -> str | None:
    """A text without its characters of no width; None when it holds others that are refused."""
    if all(is_unseen(match.group()) for match in REFUSED.finditer(text)):
        return REFUSED.sub("", text)
    return None


def is_unseen(character: str) -> bool:
    """Whether a character has no width, so that a text means the same without it."""
    return unicodedata.category(character) == "Cf"


def code_points(text: str) -> str:
    """What a text that nobody can see is made of.

    >>> code_points("\\u200c\\u200d\\u200c")
    'U+200C and U+200D'
    """
    return join_words([f"U+{ord(c):04X}" for c in dict.fromkeys(text) if not c.isspace()], most=4)


def position(text: str, index: int, file: str) -> Place:
    """Where a character of a text is."""
    start = text.rfind("\n", 0, index) + 1
    return Place(file, text.count("\n", 0, index) + 1, index - start + 1)


def _finding(text: str, index: int, file: str) -> Finding:
    code = code_points(text[index])
    hint = "Delete the character, or save the file as plain text in UTF-8."
    if text[index] == "\0":
        message = "The file holds a NUL byte, so it is no text."
    elif is_unseen(text[index]):
        message = f"There is an invisible character here ({code})."
        hint = "Delete it; it may have come in with a text that was copied."
    else:
        message = f"The file holds a character that cannot be printed ({code})."
    return error(position(text, index, file), message, hint)
