"""YAML text -> values that know their file, line and column.

The tree is built from the parser's events, without recursion and within limits, so that no text
(deep brackets, an alias of aliases, fifty megabytes of anything) costs more than a moment.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import islice
from typing import Any

import yaml

from sitegen.catalogue.braces import conflicts
from sitegen.catalogue.characters import position, refused, without_unseen
from sitegen.catalogue.findings import Finding, Place, advice, error, with_rule
from sitegen.catalogue.syntax import syntax_finding
from sitegen.catalogue.yaml_tree import Budget, Builder, LimitError
from sitegen.catalogue.yaml_values import Node
from sitegen.words import counted, quoted

_TAB_FIRST = re.compile(r"^ *\t[ \t]*(?=[^\s#])", re.MULTILINE)
_TAB = re.compile(r"^(?![ \t]*#)[^\n\t]*\t", re.MULTILINE)

_NUMBER_SIGN = re.compile(r"#[0-9]\S*")
SYNTAX = "yaml-syntax"
MOST_CUT_OFF = 20
"""How many texts cut off by a number sign are reported, per file."""

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
    findings = refused(text, file)
    seen = without_unseen(text) if findings else text
    if seen is None:
        return Parsed(None, tuple(findings), False)
    text = seen
    merged = [error(Place(file, m.line, 1), m.message, m.hint) for m in conflicts(text)]
    if merged:
        return Parsed(None, (*findings, *with_rule(SYNTAX, merged)), False)
    tab = _TAB.search(text) if "\t" in text else None
    if tab:
        findings += with_rule(SYNTAX, [_tab_finding(text, tab.end() - 1, file)])
        if _TAB_FIRST.search(text):
            # What a tab indents to is anybody's guess, so the rest of the file is not guessed at.
            return Parsed(None, tuple(findings), False)
        text = text.replace("\t", " ")
    builder = Builder(file, findings, budget or Budget())
    try:
        loader = _loader(text)
        try:
            whole = builder.run(loader.get_event)
            findings.extend(_cut_off(text, file, builder.ends))
        finally:
            loader.dispose()
    except LimitError as too_much:
        return Parsed(None, (*findings, *with_rule(SYNTAX, [too_much.finding])), False)
    except (yaml.YAMLError, ValueError, OverflowError) as failure:
        finding = syntax_finding(failure, text, file, builder.long_quote)
        if finding.place.line == builder.unspaced:
            return Parsed(None, tuple(findings), False)  # it follows from what is reported
        return Parsed(None, (*findings, *with_rule(SYNTAX, [finding])), False)
    return Parsed(builder.root, tuple(findings), whole)


def _tab_finding(text: str, index: int, file: str) -> Finding:
    lines = sum(1 for _ in _TAB.finditer(text))
    more = f" ({counted(lines, 'line')} of this file)" if lines > 1 else ""
    return error(
        position(text, index, file),
        f"There is a tab here{more}; YAML is indented with spaces.",
        "Replace each tab by spaces.",
    )


def _cut_off(text: str, file: str, ends: Mapping[int, int]) -> Iterator[Finding]:
    """Texts such as `Pump #2`, of which YAML takes the end for a comment."""
    # A `#` is rare, blanks before it are not: it is looked for first.
    signs = ((m, _before(text, m.start())) for m in _NUMBER_SIGN.finditer(text))
    cut = ((m, before.rstrip(" ")) for m, before in signs if before.endswith(" "))
    for match, before in islice(((m, b) for m, b in cut if b), MOST_CUT_OFF):
        place = position(text, match.start(), file)
        if ends.get(place.line) == len(before) + 1:
            yield advice(
                place,
                f"{quoted(match[0])} is read as a comment, not as the end of the text before it.",
                "Put the whole text in quotes; after the # of a comment write a space.",
            )


def _before(text: str, index: int) -> str:
    """What is before a character in its line."""
    return text[text.rfind("\n", 0, index) + 1 : index]
