"""A path -> a checked catalogue, and every problem in every file."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal

from sitegen.catalogue.braces import conflicts
from sitegen.catalogue.characters import VISIBLE, code_points, position, refused
from sitegen.catalogue.checks import check
from sitegen.catalogue.checks.unread_records import UnreadRecords, unread_in
from sitegen.catalogue.files import File, gather
from sitegen.catalogue.findings import Finding, Place, advice, error, with_rule
from sitegen.catalogue.merge import merge
from sitegen.catalogue.model import ID_PATTERN, LONGEST_ID, Catalogue
from sitegen.catalogue.record_format import form
from sitegen.catalogue.record_locations import RecordLocations
from sitegen.catalogue.yaml_text import parse
from sitegen.catalogue.yaml_tree import Budget
from sitegen.catalogue.yaml_values import Node
from sitegen.words import counted, quoted

Kind = Literal["error", "advice"]

LONGEST_TITLE = 200
"""Characters, as of any name."""
MOST_SHOWN = 200
"""How many findings of one file are reported; the rest are counted."""


@dataclass(frozen=True)
class Note:
    """A longer text in Markdown beside the catalogue."""

    id: str
    title: str
    """Its first heading `# `, or the file's name."""
    text: str
    """All of the file, the heading included."""
    place: Place


@dataclass(frozen=True)
class ReadResult:
    """What became of reading a catalogue."""

    catalogue: Catalogue | None
    """None when there is any error."""
    findings: tuple[Finding, ...]
    """Errors first, then advice, each in the order of their locations."""
    notes: tuple[Note, ...]
    locations: RecordLocations = field(repr=False, compare=False)
    """Where each record of the catalogue is."""
    texts: Mapping[str, str] = field(default_factory=dict, repr=False, compare=False)
    """By file, its text as it was read."""

    @property
    def errors(self) -> tuple[Finding, ...]:
        """What must be fixed before anything can be answered."""
        return tuple(f for f in self.findings if f.kind == "error")

    @property
    def advice(self) -> tuple[Finding, ...]:
        """What is worth a thought."""
        return tuple(f for f in self.findings if f.kind == "advice")


def read(path: Path, follow_links: bool = False) -> ReadResult:
    """Read and check a catalogue.

    Parameters
    ----------
    path : the catalogue's folder, or its one file.
    follow_links : whether links are read that lead out of the folder.

    Returns
    -------
    A ReadResult. Nothing is raised for any path or any content: all that is wrong is in its
    findings, with locations relative to the path.
    """
    path = Path(path)
    gathered = gather(path, follow_links)
    reported = with_rule("file", gathered.findings)
    budget = Budget()
    roots: list[Node] = []
    unread = gathered.unread
    for file in gathered.yaml:
        parsed = parse(file.text, file.name, budget)
        reported.extend(with_rule("yaml-value", parsed.findings))
        if parsed.root is not None and (parsed.whole or isinstance(parsed.root.value, dict)):
            roots.append(parsed.root)
        elif parsed.whole:
            roots.append(Node(None, file.name, 1, 1))
        unread += not parsed.whole
    notes, note_findings = _notes(gathered.notes)
    reported.extend(with_rule("note", note_findings))
    texts = {file.name: file.text for file in (*gathered.yaml, *gathered.notes)}
    unusable = ReadResult(None, (), notes, RecordLocations(), texts)
    if not roots:
        return replace(unusable, findings=_in_order(reported))

    merged = merge(roots, path.name, not unread)
    of_sections = with_rule("section", merged.findings)
    if merged.later_format:
        later = [f for f in of_sections if "later than" in f.message]
        return replace(unusable, findings=_in_order(later))
    formed = form(merged.root, merged.whole)
    reported = _besides(reported, [*of_sections, *formed.findings])
    if formed.catalogue is not None:
        left_out = None if formed.whole else unread_in(merged.root)
        if not merged.whole:
            left_out = UnreadRecords(everything=True)
        locations = RecordLocations(formed.root, formed.catalogue)
        # A note whose file is wrong is reported there, and not as missing where it is named.
        there = [_stem(file) for file in gathered.notes]
        checked = check(formed.catalogue, locations, left_out, there, texts)
        found = with_rule("too-many", checked)
        reported = _besides(reported, found)
    findings = _in_order(reported)
    if not merged.whole and len(merged.root.value) > 1:  # besides the format
        findings = (*findings, _not_looked_up(findings[0].place))
    if formed.catalogue is None or any(f.kind == "error" for f in findings):
        return replace(unusable, findings=findings)
    return ReadResult(
        formed.catalogue,
        findings,
        notes,
        RecordLocations(formed.root, formed.catalogue),
        texts,
    )


def _not_looked_up(place: Place) -> Finding:
    message = "Whether the names mentioned exist was not checked, since not all could be read."
    finding = advice(place, message, "Fix the errors and check again.")
    return replace(finding, rule="not-looked-up")


def _besides(reported: list[Finding], further: Iterable[Finding]) -> list[Finding]:
    """What was reported, and further findings except those that follow from it at its place."""
    taken = {f.place for f in reported if f.kind == "error"}
    return [*reported, *(f for f in further if f.place not in taken)]


def _in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    unique = sorted(set(findings), key=lambda f: (f.kind != "error", f.place, f.message))
    counts: Counter[tuple[Kind, str]] = Counter()
    kept: list[Finding] = []
    last: dict[tuple[Kind, str], Finding] = {}
    for finding in unique:
        key = (finding.kind, finding.place.file)
        counts[key] += 1
        last[key] = finding
        if counts[key] <= MOST_SHOWN:
            kept.append(finding)
    for key, count in counts.items():
        if count > MOST_SHOWN:
            more = counted(count - MOST_SHOWN, "more problem")
            kept.append(replace(last[key], message=f"There are {more} up to here.", hint=""))
    return tuple(sorted(kept, key=lambda f: (f.kind != "error", f.place, f.message)))


def _notes(files: Iterable[File]) -> tuple[tuple[Note, ...], list[Finding]]:
    notes: dict[str, Note] = {}
    findings: list[Finding] = []
    for file in files:
        stem = _stem(file)
        text = file.text.replace("\r\n", "\n").replace("\r", "\n")
        place = Place(file.name)
        title = _title(text) or stem
        problem = _no_page(stem, title, notes)
        if problem:
            findings.append(error(place, *problem))
            continue
        findings.extend(refused(text, file.name))
        for conflict in conflicts(text):
            at_mark = Place(file.name, conflict.line)
            findings.append(error(at_mark, conflict.message, conflict.hint))
        if not VISIBLE.search(title):
            message = f"The note's title has nothing visible, only {code_points(title)}."
            at = position(text, text.index(title), file.name)
            findings.append(error(at, message, "Write it again."))
        notes[stem] = Note(stem, title, text, place)
    return tuple(notes.values()), findings


def _stem(file: File) -> str:
    return file.name.rsplit("/", 1)[-1].rsplit(".", 1)[0]


def _no_page(stem: str, title: str, notes: Mapping[str, Note]) -> tuple[str, str] | None:
    """Why a note cannot have a page, and what to do."""
    if not re.fullmatch(ID_PATTERN, stem):
        return (
            f"The note's file name {quoted(stem)} cannot name a page.",
            "Use lowercase letters and digits, in words joined by single hyphens.",
        )
    if len(stem) > LONGEST_ID:
        return f"The note's file name is longer than {LONGEST_ID} characters.", "Shorten it."
    if stem in notes:
        return (
            f"The note {quoted(stem)} is in two files; the other is {notes[stem].place.file}.",
            "Give one of them another name.",
        )
    if len(title) > LONGEST_TITLE:
        return f"The note's title is longer than {LONGEST_TITLE} characters.", "Shorten it."
    return None


def _title(text: str) -> str:
    fenced = False
    for line in text.split("\n"):
        if line.lstrip().startswith(("```", "~~~")):
            fenced = not fenced
        elif line.startswith("# ") and not fenced and line[2:].strip(" #"):
            return line[2:].strip(" #")
    return ""
