"""Each record on its own against the format: one finding a mistake, in an author's words."""

from __future__ import annotations

import typing
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from pydantic import BaseModel, ValidationError

from sitegen.catalogue import model
from sitegen.catalogue.builder import MOST_FINDINGS
from sitegen.catalogue.findings import Finding
from sitegen.catalogue.formwords import container_noun, expected_words, field_words, likely_id, who
from sitegen.catalogue.model import Catalogue
from sitegen.catalogue.nodes import Node, find, plain
from sitegen.catalogue.wording import a, did_you_mean, likely, listed, shown

Path = tuple[str | int, ...]

_ROUNDS = 10  # how often a broken part may take the part around it with it

# What stands in where a section that must be there is not, so that the others can be checked.
_STAND_INS: dict[str, Any] = {
    "aircraft": {"name": "?", "revision": "?", "revised": "2000-01-01"},
    "conditions": [{"id": "none", "name": "?", "sources": []}],
}


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
    findings: tuple[Finding, ...] = ()
    whole = True
    for _ in range(_ROUNDS):
        try:
            catalogue = Catalogue.model_validate(plain(root))
        except ValidationError as error:
            problems = error.errors(include_url=False)
            if whole:
                findings = tuple(_findings(root, problems, all_read))
                whole = False
            if len(problems) > MOST_FINDINGS:
                break
            remaining = _without(root, problems)
            if remaining is None:
                break
            root = remaining
        else:
            return Formed(catalogue, root, findings, whole)
    return Formed(None, root, findings, False)


def _findings(root: Node, problems: Iterable[Any], all_read: bool) -> Iterator[Finding]:
    problems = list(problems)[:MOST_FINDINGS]
    meant = _misspelt(root, problems)
    for problem in problems:
        path: Path = problem["loc"]
        if problem["type"] == "missing":
            # The field is there under a wrong name: one mistake, one finding.
            if path[-1] in meant.get(id(find(root, path[:-1])), {}).values():
                continue
            if len(path) == 1 and not all_read:
                continue
        yield _finding(root, problem)


def _misspelt(root: Node, problems: Iterable[Any]) -> dict[int, dict[str, str]]:
    """By a table's identity: its unknown fields, each with the field that was probably meant."""
    found: dict[int, dict[str, str]] = {}
    for problem in problems:
        if problem["type"] == "extra_forbidden":
            path: Path = problem["loc"]
            above = find(root, path[:-1])
            written = str(path[-1])
            meant = likely(written, _fields(path[:-1]))
            fields = found.setdefault(id(above), {})
            if meant and meant not in above.value and meant not in fields.values():
                fields[written] = meant
    return found


def _finding(root: Node, problem: Mapping[str, Any]) -> Finding:
    path: Path = problem["loc"]
    kind: str = problem["type"]
    node = find(root, path)
    if kind == "missing":
        above = find(root, path[:-1])
        if len(path) == 1:
            message = f"No file has the section {shown(path[0])}."
            return Finding("error", above.place, message, "A catalogue needs one.")
        where = container_noun(model_at(path[:-1]))
        inside = f" in its {where}" if where else ""
        message = f"{who(root, path)}: {shown(path[-1])} is missing{inside}."
        return Finding("error", above.place, message)
    if kind == "extra_forbidden":
        fields = _fields(path[:-1])
        where = container_noun(model_at(path[:-1])) or who(root, path, noun_only=True)
        message = f"{who(root, path)}: {shown(path[-1])} is no field of {a(where)}."
        hint = did_you_mean(str(path[-1]), fields) or f"Its fields are {listed(sorted(fields))}."
        return Finding("error", node.key_place, message, hint)
    if path and path[-1] == "[key]":
        place = find(root, path[:-1]).key_place
        key = Node(str(path[-2]), place.file, place.line, place.column)
        message, hint = field_words(problem, key, f"The name {shown(key.value)}")
        return Finding("error", place, f"{who(root, path)}: {message}", hint)
    field = next((step for step in reversed(_yaml_path(root, path)) if isinstance(step, str)), "")
    subject = shown(field) if field else "The entry"
    message, hint = field_words(problem, node, subject)
    return Finding("error", node.place, f"{who(root, path)}: {message}", hint)


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
    """The record class that stands at a path of the format."""
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
    for inner in typing.get_args(annotation):
        found = _record_in(inner)
        if found is not None:
            return found
    return None


def _fields(path: Path) -> list[str]:
    record = model_at(path)
    return [info.alias or name for name, info in record.model_fields.items()] if record else []


def _without(root: Node, problems: Iterable[Any]) -> Node | None:
    """The tree with each mistake mended as was probably meant, or else left out.

    None when nothing is left to build from.
    """
    problems = list(problems)
    meant = _misspelt(root, problems)
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
                stand_ins[str(path[0])] = _STAND_INS.get(str(path[0]))
                continue
            node = find(root, path[:-1])
        elif problem["type"] == "extra_forbidden" and path[-1] in fields:
            changes.renamed[id(node)] = fields[str(path[-1])]
            continue
        is_key = path[-1:] == ("[key]",)
        mended = None if is_key else _mended(node, problem)
        if mended is not None:
            changes.values[id(node)] = mended
        elif node is root:
            return None
        else:
            changes.dropped.add(id(node))
    if None in stand_ins.values():
        return None
    kept = _changed(root, changes)
    kept.value.update({name: _as_node(value, root) for name, value in stand_ins.items()})
    return kept


def _mended(node: Node, problem: Mapping[str, Any]) -> Any:
    """A value that lets the rest of its record be checked, or None."""
    kind: str = problem["type"]
    if kind == "string_type" and isinstance(node.value, (int, float)):
        return node.written
    if kind == "literal_error" and isinstance(node.value, str):
        return likely(node.value, expected_words(problem))
    if kind == "string_pattern_mismatch" and problem["ctx"]["pattern"] == model.ID_PATTERN:
        return likely_id(str(node.value))
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
