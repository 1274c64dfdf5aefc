"""The trees of all files -> one tree: lists joined, tables taken once."""

from __future__ import annotations

import typing
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from sitegen.catalogue.did_you_mean import did_you_mean
from sitegen.catalogue.findings import Finding, Place, advice, error
from sitegen.catalogue.kinds import KINDS
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

_SECTION_OF = {
    kind.plural.lower().replace(" ", "-"): f"{kind.role}s"
    for kind in KINDS.values()
    if kind.role != "bus"
}
"""By what an author may call it: the section in which a kind of component or indication is."""

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
            report = error if len(roots) == len(empty) else advice
            hint = "Write a section in it, or delete it."
            findings.append(report(root.place, "The file is empty.", hint))
            continue
        if not isinstance(root.value, dict):
            message = "The file does not consist of sections."
            hint = "Begin it with the name of a section and a colon: `buses:`."
            findings.append(error(root.place, message, hint))
            whole = False
            continue
        for name, node in root.value.items():
            if name == "format":
                formats = True
                findings.extend(_format(node))
                later = later or (type(node.value) is int and node.value > FORMAT)
            elif name not in SECTIONS:
                unknown += 1
                if unknown <= MOST_UNKNOWN:
                    message = f"{quoted(name)} is no section of a catalogue."
                    sections_are = f"The sections are {join_words(sorted(SECTIONS))}."
                    elsewhere = _SECTION_OF.get(name, "")
                    hint = elsewhere and f"They are written in the section {quoted(elsewhere)}."
                    hint = hint or did_you_mean(name, SECTIONS) or sections_are
                    findings.append(error(node.key_place, message, hint))
                whole = False
            elif node.value is None:
                whole = False  # reported as a field without a value
            elif name in LIST_SECTIONS and not isinstance(node.value, list):
                message = f"The section {quoted(name)} must be a list."
                findings.append(error(node.place, message, "Begin each of its entries with `- `."))
                whole = False
            elif name not in sections:
                value = list(node.value) if name in LIST_SECTIONS else node.value
                sections[name] = replace(node, value=value)
            elif name in LIST_SECTIONS:
                sections[name].value.extend(node.value)
            else:
                first_place = sections[name].key_place
                message = f"The section {quoted(name)} is defined twice; first at {first_place}."
                findings.append(error(node.key_place, message, "Delete one of the two."))
    for name in LIST_SECTIONS:
        records = sections[name].value if name in sections else []
        if len(records) > MOST_RECORDS:
            message = f"The section {quoted(name)} has more than {MOST_RECORDS} records."
            place = records[MOST_RECORDS].place
            findings.append(error(place, message, "Split the catalogue into several."))
            del records[MOST_RECORDS:]
            whole = False
    all_read = all_read and whole and len(empty) < len(roots)
    first = roots[0].file if roots else top
    if not formats and all_read:
        message = "No file says which format it is in."
        hint = f"Write `format: {FORMAT}` in one of them."
        findings.append(error(Place(first), message, hint))
    sections["format"] = Node(FORMAT, first, 1, 1)
    return Merged(Node(sections, first, 1, 1), tuple(findings), all_read, later)


def _format(node: Node) -> Iterator[Finding]:
    if (type(node.value) is int and node.value == FORMAT) or node.value is None:
        return  # without a value it is reported as a field
    if type(node.value) is int and node.value > FORMAT:
        yield error(
            node.place,
            f"Format {node.value} is later than this program, which reads format {FORMAT}.",
            "Use a later version of the program.",
        )
        return
    written = "more than one value"
    if not isinstance(node.value, (dict, list)):
        written = quoted(node.written or node.value)
    message = f"`format` must be {FORMAT}, not {written}."
    yield error(node.place, message, f"Write `format: {FORMAT}`.")
