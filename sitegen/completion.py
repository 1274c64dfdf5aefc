"""What a shell offers for a command's arguments: ids of the catalogue named, else of the demo.

The files are read as YAML and not checked: a catalogue that is being written completes too, and a
key press does not wait. What cannot be read offers nothing.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import click
from click.shell_completion import CompletionItem

from sitegen.arguments import CommandError, split_catalogue_path
from sitegen.catalogue.files import YAML_ENDINGS, gather
from sitegen.catalogue.kinds import KINDS
from sitegen.catalogue.protector_ids import protector_id
from sitegen.resources import demo_catalogue

Records = dict[str, list[dict[str, Any]]]
"""By section: its records, as they are in the files."""

BREAKERS = "breakers"
"""In place of a section: the breakers and fuses that are written in supplies."""


def ids(
    context: click.Context,
    begun: str,
    sections: Sequence[str],
    kinds: Collection[str] = (),
    may_be_catalogue: bool = False,
    with_modes: bool = False,
) -> list[CompletionItem]:
    """What may complete a word that names a record.

    Parameters
    ----------
    context : the command, with the words before this one.
    begun : the word as far as it is written.
    sections : those whose ids are offered.
    kinds : only records of these kinds; empty: of every kind.
    may_be_catalogue : whether a catalogue may be named here too, if none is named yet.
    with_modes : whether a failure mode may come after a colon.
    """
    try:
        named, words = split_catalogue_path([*context.params.get("names", ()), *context.args])
    except CommandError:
        return []  # of a mistyped catalogue; the demo's ids would mislead
    named = context.params.get("catalogue") or named
    may_be_catalogue = may_be_catalogue and named is None
    if may_be_catalogue and os.sep in begun:
        return [CompletionItem(begun, type="file")]
    records = _records(named or demo_catalogue())
    kind_of = {i: kind for section in sections for i, kind in _ids(records, section)}
    offered = _modes(kind_of, words, begun) if with_modes else []
    if not offered:
        offered = [i for i, kind in kind_of.items() if not kinds or kind in kinds]
        offered += _catalogues_here() if may_be_catalogue else []
    begun = "" if begun == ":" else begun
    return [CompletionItem(text) for text in offered if text.startswith(begun)]


def _modes(kind_of: Mapping[str, str], words: Sequence[str], begun: str) -> list[str]:
    """What may come after a colon; to bash the colon and what is before it are other words."""
    component, colon, _ = begun.rpartition(":")
    before = component + colon
    if not component and colon and words:
        component, before = words[-1], ""
    elif not colon and len(words) > 1 and words[-1] == ":":
        component = words[-2]
    kind = KINDS.get(kind_of.get(component, ""))
    return [before + mode for mode in kind.modes] if kind else []


def _catalogues_here() -> list[str]:
    """The YAML files of the current folder, and its folders that hold some."""
    with os.scandir() as entries:
        return sorted(
            entry.name
            for entry in entries
            if entry.name.endswith(YAML_ENDINGS)
            or (entry.is_dir() and any(n.endswith(YAML_ENDINGS) for n in os.listdir(entry)))
        )


def _records(path: Path) -> Records:
    import yaml

    loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    records: Records = {}
    for file in gather(path).yaml:
        try:
            sections = yaml.load(file.text, loader)
        except (yaml.YAMLError, ValueError, RecursionError):
            continue
        for section, entries in sections.items() if isinstance(sections, dict) else ():
            if isinstance(entries, list):
                records.setdefault(section, []).extend(e for e in entries if isinstance(e, dict))
    return records


def _ids(records: Records, section: str) -> Iterator[tuple[str, str]]:
    """(id, kind) of the records of a section."""
    if section == BREAKERS:
        for owner in (*records.get("equipment", ()), *records.get("indications", ())):
            supplies = owner.get("supplies")
            for index, supply in enumerate(supplies if isinstance(supplies, list) else ()):
                for kind in ("breaker", "fuse"):
                    written = supply.get(kind) if isinstance(supply, dict) else None
                    if isinstance(written, dict):
                        made = protector_id(str(owner.get("id")), len(supplies), index, kind)
                        yield str(written.get("id", made)), kind
    for record in records.get(section, ()):
        if isinstance(record.get("id"), str):
            yield record["id"], "bus" if section == "buses" else str(record.get("kind"))
