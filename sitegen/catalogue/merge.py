"""The trees of all files -> one tree: lists joined, tables taken once."""

from __future__ import annotations

import typing
from collections.abc import Sequence
from dataclasses import dataclass

from sitegen.catalogue.did_you_mean import did_you_mean
from sitegen.catalogue.findings import Finding, Place
from sitegen.catalogue.model import FORMAT, Catalogue
from sitegen.catalogue.yaml_values import Node
from sitegen.words import join_words, quoted

LIST_SECTIONS = tuple(
    info.alias or name
    for name, info in Catalogue.model_fields.items()
    if typing.get_origin(info.annotation) is list
)
TABLE_SECTIONS = ("aircraft", "battery-time", "abbreviations")
SECTIONS = ("format", *TABLE_SECTIONS, *LIST_SECTIONS)

MOST_UNKNOWN = 200
"""How many unknown sections are reported."""
MOST_RECORDS = 20_000
"""How many records a section may have."""


@dataclass(frozen=True)
class Merged:
    """One tree of all sections, and what was wrong in joining them."""

    root: Node
    findings: tuple[Finding, ...]
    whole: bool
    """False when a section was left out."""
    later_format: bool
    """The catalogue is written for a later program, so nothing else can be said about it."""


def merge(roots: Sequence[Node], top: str, all_read: bool = True) -> Merged:
    """Join the trees of the files, in the order given.

    Parameters
    ----------
    roots : one tree a file.
    top : the name of the file or folder, for what no file says.
    all_read : whether every file could be read; if not, nothing is said to be missing.
    """
    findings: list[Finding] = []
    sections: dict[str, Node] = {}
    whole = True
    later = False
    unknown = 0
    formats = False
    empty = [root for root in roots if root.value is None]
    for root in roots:
        if root.value is None:
            findings.append(_empty(root, len(roots) == len(empty)))
            continue
        if not isinstance(root.value, dict):
            findings.append(_no_sections(root))
            whole = False
            continue
        for name, node in root.value.items():
            if name == "format":
                formats = True
                problem = _format(node)
                if problem:
                    findings.append(problem)
                    later = later or (type(node.value) is int and node.value > FORMAT)
                continue
            if name not in SECTIONS:
                unknown += 1
                if unknown <= MOST_UNKNOWN:
                    findings.append(_unknown(name, node))
                whole = False
            elif node.value is None:
                whole = False  # reported as a field without a value
            elif name in LIST_SECTIONS and not isinstance(node.value, list):
                findings.append(_no_list(name, node))
                whole = False
            elif name not in sections:
                sections[name] = (
                    Node(list(node.value), *_places(node)) if name in LIST_SECTIONS else node
                )
            elif name in LIST_SECTIONS:
                sections[name].value.extend(node.value)
            else:
                findings.append(_duplicate(name, node, sections[name]))
    for name in LIST_SECTIONS:
        records = sections[name].value if name in sections else []
        if len(records) > MOST_RECORDS:
            findings.append(_too_many(name, records[MOST_RECORDS]))
            del records[MOST_RECORDS:]
            whole = False
    all_read = all_read and whole and len(empty) < len(roots)
    first = roots[0].file if roots else top
    if not formats and all_read:
        findings.append(
            Finding(
                "error",
                Place(first),
                "No file says which format it is in.",
                f"Write `format: {FORMAT}` in one of them.",
            )
        )
    sections["format"] = Node(FORMAT, first, 1, 1)
    return Merged(Node(sections, first, 1, 1), tuple(findings), all_read, later)


def _places(node: Node) -> tuple[str, int, int, int, int]:
    return node.file, node.line, node.column, node.key_line, node.key_column


def _empty(root: Node, alone: bool) -> Finding:
    return Finding(
        "error" if alone else "advice",
        root.place,
        "The file is empty.",
        "Write a section in it, or delete it.",
    )


def _no_sections(root: Node) -> Finding:
    return Finding(
        "error",
        root.place,
        "The file does not consist of sections.",
        "Begin it with the name of a section and a colon: `buses:`.",
    )


def _format(node: Node) -> Finding | None:
    if type(node.value) is int and node.value == FORMAT:
        return None
    if type(node.value) is int and node.value > FORMAT:
        return Finding(
            "error",
            node.place,
            f"Format {node.value} is later than this program, which reads format {FORMAT}.",
            "Use a later version of the program.",
        )
    if node.value is None:
        return None  # reported as a field without a value
    written = "more than one value"
    if not isinstance(node.value, (dict, list)):
        written = quoted(node.written or node.value)
    return Finding(
        "error",
        node.place,
        f"`format` must be {FORMAT}, not {written}.",
        f"Write `format: {FORMAT}`.",
    )


def _unknown(name: str, node: Node) -> Finding:
    hint = did_you_mean(name, SECTIONS)
    return Finding(
        "error",
        node.key_place,
        f"{quoted(name)} is no section of a catalogue.",
        hint or f"The sections are {join_words(sorted(SECTIONS))}.",
    )


def _too_many(name: str, record: Node) -> Finding:
    return Finding(
        "error",
        record.place,
        f"The section {quoted(name)} has more than {MOST_RECORDS} records.",
        "Split the catalogue into several.",
    )


def _no_list(name: str, node: Node) -> Finding:
    return Finding(
        "error",
        node.place,
        f"The section {quoted(name)} must be a list.",
        "Begin each of its entries with `- `.",
    )


def _duplicate(name: str, node: Node, first: Node) -> Finding:
    return Finding(
        "error",
        node.key_place,
        f"The section {quoted(name)} is defined twice; first at {first.key_place}.",
        "Delete one of the two.",
    )
