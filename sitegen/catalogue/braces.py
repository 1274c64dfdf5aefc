"""What is wrong within the braces or brackets that the YAML parser could not read to their end."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from sitegen.catalogue.model import Catalogue, field_names
from sitegen.words import quoted

TEXTS = frozenset(
    ("note", "on-loss", "if-it-comes-on", "reference", "where", "hazard", "statement", "title")
) | {"reason", "against", "by"}
"""The fields in which a colon is more likely than a missing comma."""

LINK = re.compile(r"\[[^\[\]\n]{0,200}\]\([^()\n]{0,200}\)")
_VALUE = re.compile(r"([a-z][a-z0-9-]*):[ ]+")
_WORD_BEFORE = re.compile(r"([A-Za-z0-9-]+)\s*$")
_QUOTE = "Put the whole text in quotes."


class Misread(NamedTuple):
    """A place in a text, and what is wrong there."""

    line: int
    column: int
    message: str
    hint: str


def in_braces(
    text: str, opening: tuple[int, int], stopped: tuple[int, int], bracket: str
) -> Misread | None:
    """What is wrong in a table in braces, or a list in brackets; None if it is merely not closed.

    Parameters
    ----------
    text : what was read.
    opening : line and column, from 1, of the bracket.
    stopped : where the parser found something that it did not expect.
    bracket : `}` or `]`, which would close it.
    """
    line, column = stopped
    written = text.split("\n")[line - 1]
    before = written[: column - 1]
    ahead = written[column - 1 :]
    link = next((m for m in LINK.finditer(written) if m.start() <= column - 1 <= m.end()), None)
    if link:
        return linked(line, written, link)
    if re.search(r'[:,\[] *"$', before) and before.count('"') > 1:
        # The quote that ends there was meant to begin the next text.
        opened = before.rindex('"', 0, len(before) - 1)
        message = "This quote is not closed before the next one."
        hint = "Close it; a quote within quotes is written twice ('') or as \\\"."
        return Misread(line, opened + 1, message, hint)
    if opening[0] != line and not _goes_on(text, opening[0], written):
        return None
    if ahead.startswith(":"):
        return _colon(line, before, bracket)
    if before.strip() and opening[0] == line and ahead[:1] not in ("", "#", "-", "}", "]"):
        return _comma(line, column, ahead)
    return None


def _goes_on(text: str, opened: int, written: str) -> bool:
    """Whether a line goes on with the table that an earlier line has opened."""
    first = text.split("\n")[opened - 1]
    is_entry = written.lstrip().startswith("- ")
    return not is_entry and len(written) - len(written.lstrip()) > len(first) - len(first.lstrip())


def linked(line: int, written: str, link: re.Match[str]) -> Misread:
    """A link of Markdown in a text without quotes."""
    field = _last_field(written[: link.start() + 1])
    start = field.end() if field else link.start()
    return Misread(
        line,
        start + 1,
        f"The link {quoted(link[0])} is in a text without quotes, where brackets begin a list.",
        _QUOTE,
    )


def _colon(line: int, before: str, bracket: str) -> Misread | None:
    word = _WORD_BEFORE.search(before)
    field = _last_field(before)
    if word is None:
        return None
    is_field = word[1] in field_names(Catalogue)
    if is_field and bracket == "}" and not (field and field[1] in TEXTS):
        return _comma(line, word.start() + 1, word[1])
    start = field.end() if field else word.start()
    return Misread(
        line,
        start + 1,
        f"In braces the colon in the text {quoted(before[start:] + ': …')} begins a value.",
        _QUOTE,
    )


def _last_field(written: str) -> re.Match[str] | None:
    """The name of the last field in a line that has a value, with its colon."""
    return next(reversed(list(_VALUE.finditer(written))), None)


def _comma(line: int, column: int, ahead: str) -> Misread:
    word = re.match(r"[\"'\[{]?[^\s,:\[\]{}]*", ahead)
    shown = word[0] if word and word[0] else ahead[:1]
    return Misread(line, column, f"A comma is missing before {quoted(shown)}.", "Write it.")


CONFLICT = re.compile(r"^(?:<{7}|\|{7}|={7}|>{7})(?: .*)?$", re.MULTILINE)


def conflicts(text: str) -> Iterator[Misread]:
    """The marks that a merge of two versions has left, one finding for each conflict."""
    marks = list(CONFLICT.finditer(text))
    begun: int | None = None
    for mark in marks:
        line = text.count("\n", 0, mark.start()) + 1
        if mark[0].startswith("<"):
            begun = line
        elif mark[0].startswith(">") and begun is not None:
            yield Misread(
                begun,
                1,
                f"A merge has left both of its versions here, down to line {line}.",
                "Keep one of the two, and delete the lines that begin with <<<<<<<, ======= and"
                " >>>>>>>.",
            )
            begun = None
        elif mark[0].startswith(">"):
            yield _half(line)
    if begun is not None:
        yield _half(begun)


def _half(line: int) -> Misread:
    return Misread(
        line,
        1,
        "A mark of a merge is left here.",
        "Delete this line, and look whether both versions are still below or above it.",
    )
