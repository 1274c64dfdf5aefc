"""YAML text -> values that know their file, line and column.

The tree is built from the parser's events, without recursion and within limits, so that no text
(deep brackets, an alias of aliases, fifty megabytes of anything) costs more than a moment.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import yaml

from sitegen.catalogue.builder import Budget, Builder, LimitError
from sitegen.catalogue.findings import Finding, Place
from sitegen.catalogue.nodes import Node
from sitegen.catalogue.syntax import syntax_finding
from sitegen.catalogue.wording import counted

# What YAML allows, less the line breaks and marks that no editor shows.
_REFUSED = re.compile(
    "[^\t\n\r\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]"
)
_TAB_FIRST = re.compile(r"^ *\t[ \t]*(?=[^\s#])", re.MULTILINE)
_TAB = re.compile(r"^(?![ \t]*#)[^\n\t]*\t", re.MULTILINE)

_loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass(frozen=True)
class Parsed:
    """One text: its tree and what is wrong with it."""

    root: Node | None
    findings: tuple[Finding, ...]
    whole: bool
    """False when some of the text could not be read."""


def parse(text: str, file: str, budget: Budget | None = None) -> Parsed:
    """Read one text.

    Parameters
    ----------
    text : the YAML, as decoded from its file.
    file : the file's name, for places.
    budget : the values that may still be read, shared by all texts of a catalogue.

    Returns
    -------
    A Parsed, whose root is None when there is nothing to go on with. Nothing is raised for any
    text.
    """
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    refused = _REFUSED.search(text)
    if refused:
        return Parsed(None, (_refused_character(text, refused.start(), file),), False)
    findings: list[Finding] = []
    tab = _TAB.search(text) if "\t" in text else None
    if tab:
        findings.append(_tab_finding(text, tab.end() - 1, file))
        if _TAB_FIRST.search(text):
            # What a tab indents to is anybody's guess, so the rest of the file is not guessed at.
            return Parsed(None, tuple(findings), False)
        text = text.replace("\t", " ")
    builder = Builder(file, findings, budget or Budget())
    try:
        loader = _loader(text)
        try:
            whole = builder.run(loader.get_event)
        finally:
            loader.dispose()
    except LimitError as too_much:
        return Parsed(None, (*findings, too_much.finding), False)
    except (yaml.YAMLError, ValueError, OverflowError) as error:
        return Parsed(
            None, (*findings, syntax_finding(error, text, file, builder.long_quote)), False
        )
    return Parsed(builder.root, tuple(findings), whole)


def _position(text: str, index: int, file: str) -> Place:
    start = text.rfind("\n", 0, index) + 1
    return Place(file, text.count("\n", 0, index) + 1, index - start + 1)


def _refused_character(text: str, index: int, file: str) -> Finding:
    code = f"U+{ord(text[index]):04X}"
    if text[index] == "\0":
        message = "The file holds a NUL byte, so it is no text."
    else:
        message = f"The file holds a character that cannot be printed ({code})."
    hint = "Delete the character, or save the file as plain text in UTF-8."
    return Finding("error", _position(text, index, file), message, hint)


def _tab_finding(text: str, index: int, file: str) -> Finding:
    lines = sum(1 for _ in _TAB.finditer(text))
    more = f" ({counted(lines, 'line')} of this file)" if lines > 1 else ""
    return Finding(
        "error",
        _position(text, index, file),
        f"A tab stands here{more}; YAML is indented with spaces.",
        "Replace each tab by spaces.",
    )
