"""Each record on its own against the format: one finding a mistake, in an author's words."""

from __future__ import annotations

import re
import typing
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from pydantic import BaseModel, ValidationError

from sitegen.catalogue import model
from sitegen.catalogue.did_you_mean import closest, did_you_mean
from sitegen.catalogue.field_messages import (
    container_noun,
    expected_words,
    field_words,
    meant_id,
    who,
)
from sitegen.catalogue.findings import Finding, Place, error, with_rule
from sitegen.catalogue.kinds import SECTION_NOUNS
from sitegen.catalogue.model import Catalogue
from sitegen.catalogue.yaml_tree import MOST_FINDINGS
from sitegen.catalogue.yaml_values import Node, find, ids_in, plain
from sitegen.words import MOST_LISTED, join_words, quoted, with_article

Path = tuple[str | int, ...]

FEWEST_MISPLACED = 2
"""This many fields of another section show that a record is in the wrong one."""
MOST_LOOKED_UP = 50
"""For how many invalid ids a suggestion is looked for ..."""
MOST_IDS = 2_000
"""... among how many ids."""

_ID = re.compile(model.ID_PATTERN)
_ROUNDS = 10  # how often a broken part may take the part around it with it

# Placeholders for required sections that are missing, so that the others can be checked.
_PLACEHOLDERS: dict[str, Any] = {
    "aircraft": {"name": "?", "revision": "?", "revised": "2000-01-01"},
    "conditions": [{"id": "none", "name": "?", "sources": []}],
}


SECTION_RECORDS: dict[str, type[BaseModel]] = {
    info.alias or name: typing.get_args(info.annotation)[0]
    for name, info in Catalogue.model_fields.items()
    if typing.get_origin(info.annotation) is list
}
"""By section: the class of its records."""


@dataclass(frozen=True)
class Formed:
    """A catalogue as far as its records can be understood."""

    catalogue: Catalogue | None
    root: Node
    """The tree that the catalogue was built from: the same records at the same positions."""
    findings: tuple[Finding, ...]
    whole: bool
    """False when parts were left out because they are wrong."""


def form(root: Node, all_read: bool = True) -> Formed:
    """Build the catalogue, leaving out what is wrong and reporting it.

    Parameters
    ----------
    root : the merged tree of all files.
    all_read : whether every file could be read; if not, no section is said to be missing.
    """
    findings: list[Finding] = []
    whole = True
    fixed: set[Place] = set()
    for _ in range(_ROUNDS):
        try:
            catalogue = Catalogue.model_validate(plain(root))
        except ValidationError as error:
            problems = error.errors(include_url=False)
            # Later rounds report only what is in fields whose names were fixed.
            reported = [p for p in problems if whole or _is_within(root, p["loc"], fixed)]
            findings.extend(_findings(root, reported, all_read))
            whole = False
            if len(problems) > MOST_FINDINGS:
                break
            remaining = _without(root, problems, fixed)
            if remaining is None:
                break
            root = remaining
        else:
            return Formed(catalogue, root, tuple(findings), whole)
    return Formed(None, root, tuple(findings), False)


def _is_within(root: Node, path: Path, keys: set[Place]) -> bool:
    """Whether a path leads through one of the fields whose names are at these places."""
    nodes = (find(root, path[:i]) for i in range(len(path) + 1))
    return any(node.key_line and node.key_place in keys for node in nodes)


def _findings(root: Node, problems: Iterable[Any], all_read: bool) -> Iterator[Finding]:
    problems = list(problems)[:MOST_FINDINGS]
    meant = _misspelt(root, problems)
    ids = _ids_meant(root, problems)
    missing: dict[Path, list[str]] = {}
    misplaced = dict(_misplaced(root, problems))
    yield from with_rule("section", misplaced.values())
    for problem in problems:
        path: Path = problem["loc"]
        if path[:-1] in misplaced and problem["type"] in ("missing", "extra_forbidden"):
            continue
        if problem["type"] != "missing":
            unknown = problem["type"] == "extra_forbidden"
            rule = "field-unknown" if unknown else "field-value"
            yield replace(_finding(root, problem, ids), rule=rule)
        elif len(path) == 1:
            if all_read:
                message = f"No file has the section {quoted(path[0])}."
                missing_section = error(root.place, message, "A catalogue needs one.")
                yield replace(missing_section, rule="section")
        # The field is there under a wrong name: one mistake, one finding.
        elif path[-1] not in meant.get(id(find(root, path[:-1])), {}).values():
            missing.setdefault(path[:-1], []).append(str(path[-1]))
    for path, fields in missing.items():
        where = container_noun(model_at(path))
        are = f"{'is' if len(fields) == 1 else 'are'} missing{f' in its {where}' if where else ''}"
        message = (
            f"{who(root, path)}: {join_words([quoted(f) for f in fields], most=MOST_LISTED)} {are}."
        )
        yield replace(error(find(root, path).place, message), rule="field-missing")


def _misplaced(root: Node, problems: Sequence[Any]) -> Iterator[tuple[Path, Finding]]:
    """The records that are in the wrong section: their fields are those of another."""
    unknown: dict[Path, int] = {}
    for problem in problems:
        if problem["type"] == "extra_forbidden" and len(problem["loc"]) == 3:
            above = problem["loc"][:-1]
            unknown[above] = unknown.get(above, 0) + 1
    for path, count in unknown.items():
        record = find(root, path)
        fits = [s for s, kind in SECTION_RECORDS.items() if _fits(record.value, kind)]
        if count >= FEWEST_MISPLACED and fits:
            noun = with_article(SECTION_NOUNS[str(path[0])])
            message = f"{who(root, path)}: its fields are not those of {noun}."
            places = join_words([quoted(section) for section in fits], "or")
            hint = f"Move it to the section {places}."
            yield path, error(record.place, message, hint)


def _fits(record: Mapping[str, Node], kind: type[BaseModel]) -> bool:
    """Whether a record has all fields that a kind of record needs, and no others."""
    fields = {info.alias or name: info.is_required() for name, info in kind.model_fields.items()}
    return fields.keys() >= record.keys() >= {name for name, needed in fields.items() if needed}


def _ids_meant(root: Node, problems: Sequence[Any]) -> Collection[str]:
    """The ids that may be meant in place of invalid ones; none where the search would take long."""
    wrong = [p for p in problems if p["type"] == "string_pattern_mismatch"]
    ids = ids_in(root) if 0 < len(wrong) <= MOST_LOOKED_UP else set()
    return sorted(filter(_ID.fullmatch, ids)) if len(ids) <= MOST_IDS else ()


def _misspelt(root: Node, problems: Iterable[Any]) -> dict[int, dict[str, str]]:
    """By a table's identity: its unknown fields, each with the field that was probably meant."""
    meant_by_table: dict[int, dict[str, str]] = {}
    for problem in problems:
        if problem["type"] == "extra_forbidden":
            path: Path = problem["loc"]
            above = find(root, path[:-1])
            written = str(path[-1])
            meant = closest(written, _fields(path[:-1]))
            fields = meant_by_table.setdefault(id(above), {})
            if meant and meant not in above.value and meant not in fields.values():
                fields[written] = meant
    return meant_by_table


def _finding(root: Node, problem: Mapping[str, Any], ids: Collection[str]) -> Finding:
    path: Path = problem["loc"]
    kind: str = problem["type"]
    node = find(root, path)
    if kind == "extra_forbidden":
        fields = _fields(path[:-1])
        where = container_noun(model_at(path[:-1])) or who(root, path, noun_only=True)
        message = f"{who(root, path)}: {quoted(path[-1])} is no field of {with_article(where)}."
        hint = (
            did_you_mean(str(path[-1]), fields) or f"Its fields are {join_words(sorted(fields))}."
        )
        return error(node.key_place, message, hint)
    if path and path[-1] == "[key]":
        place = find(root, path[:-1]).key_place
        key = Node(str(path[-2]), place.file, place.line, place.column)
        message, hint = field_words(problem, key, f"The name {quoted(key.value)}", ids)
        return error(place, f"{who(root, path)}: {message}", hint)
    field = next((step for step in reversed(_yaml_path(root, path)) if isinstance(step, str)), "")
    subject = quoted(field) if field else "The entry"
    message, hint = field_words(problem, node, subject, () if field == "id" else ids)
    return error(node.place, f"{who(root, path)}: {message}", hint)


def _yaml_path(root: Node, path: Path) -> Path:
    """A validator's path without the marks of its branches and without passed-over positions."""
    steps: list[str | int] = []
    node = root
    for step in path:
        child = find(node, (step,))
        if child is not node:
            steps.append(step)
            node = child
    return tuple(steps)


def model_at(path: Path) -> type[BaseModel] | None:
    """The record class at a path of the format."""
    current: type[BaseModel] | None = Catalogue
    for step in path:
        if not isinstance(step, str) or current is None:
            continue
        for name, info in current.model_fields.items():
            if (info.alias or name) == step:
                current = _record_in(info.annotation)
                break
    return current


def _record_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, model.Record):
        return annotation
    records = map(_record_in, typing.get_args(annotation))
    return next((record for record in records if record is not None), None)


def _fields(path: Path) -> list[str]:
    record = model_at(path)
    return [info.alias or name for name, info in record.model_fields.items()] if record else []


def _without(root: Node, problems: Iterable[Any], fixed: set[Place]) -> Node | None:
    """The tree with each mistake fixed as was probably meant, or else left out.

    Where a field's name was fixed is added to `fixed`. None when nothing is left to build from.
    """
    problems = list(problems)
    meant = _misspelt(root, problems)
    ids = _ids_meant(root, problems)
    changes = _Changes({}, {}, set())
    stand_ins: dict[str, Any] = {}
    for problem in problems:
        path: Path = problem["loc"]
        fields = meant.get(id(find(root, path[:-1])), {})
        node = find(root, path)
        if problem["type"] == "missing":
            if path[-1] in fields.values():
                continue
            if len(path) == 1:
                stand_ins[str(path[0])] = _PLACEHOLDERS.get(str(path[0]))
                continue
            node = find(root, path[:-1])
        elif problem["type"] == "extra_forbidden" and path[-1] in fields:
            changes.renamed[id(node)] = fields[str(path[-1])]
            fixed.add(node.key_place)
            continue
        elif path[-1] == "fitted-to" and problem["type"] == "too_short":
            node = find(root, path[:-1])  # to which airframe is anybody's guess
        is_key = path[-1:] == ("[key]",)
        value = None if is_key else _fixed(node, problem, ids)
        if value is not None:
            changes.values[id(node)] = value
        elif node is root:
            return None
        else:
            changes.dropped.add(id(node))
    if None in stand_ins.values():
        return None
    kept = _changed(root, changes)
    kept.value.update({name: _as_node(value, root) for name, value in stand_ins.items()})
    return kept


def _fixed(node: Node, problem: Mapping[str, Any], ids: Collection[str]) -> Any:
    """A value that lets the rest of its record be checked, or None."""
    kind: str = problem["type"]
    if kind == "list_type" and isinstance(node.value, str):
        return [replace(node)]
    if kind == "string_type" and isinstance(node.value, (int, float)):
        return node.written
    if kind == "literal_error" and isinstance(node.value, str):
        return closest(node.value, expected_words(problem))
    if kind == "string_pattern_mismatch" and problem["ctx"]["pattern"] == model.ID_PATTERN:
        return meant_id(str(node.value), () if problem["loc"][-1] == "id" else ids)
    if kind in ("float_type", "greater_than", "greater_than_equal", "finite_number"):
        return 1  # no rule about several records looks at the figure
    return None


@dataclass(frozen=True)
class _Changes:
    """What becomes of nodes, by their identity."""

    values: dict[int, Any]
    renamed: dict[int, str]
    dropped: set[int]


def _changed(node: Node, changes: _Changes) -> Node:
    value = changes.values.get(id(node), node.value)
    if isinstance(value, dict):
        value = {
            changes.renamed.get(id(child), key): _changed(child, changes)
            for key, child in value.items()
            if id(child) not in changes.dropped
        }
    elif isinstance(value, list):
        value = [_changed(child, changes) for child in value if id(child) not in changes.dropped]
    return replace(node, value=value)


def _as_node(value: Any, root: Node) -> Node:
    if isinstance(value, dict):
        value = {key: _as_node(child, root) for key, child in value.items()}
    elif isinstance(value, list):
        value = [_as_node(child, root) for child in value]
    return Node(value, root.file, 1, 1)
