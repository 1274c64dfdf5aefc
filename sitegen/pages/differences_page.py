"""The page of how another airframe differs from this one: in wiring, and in what failures take."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from sitegen.answers.differences import Differences
from sitegen.answers.failure_changes import Consequence
from sitegen.answers.failure_groups import Case, FailuresOf, Group, grouped
from sitegen.answers.reading_changes import ReadingChange, reading_changes
from sitegen.answers.readings import reading_text
from sitegen.answers.record_changes import FieldChange, RecordChange
from sitegen.catalogue.ata_chapters import chapter, chapter_title
from sitegen.catalogue.kinds import SECTION_NOUNS
from sitegen.catalogue.model import Airframe
from sitegen.pages.fragments.names_and_rows import Fragments
from sitegen.pages.links import differences_page
from sitegen.pages.page_context import PageContext, PageKind
from sitegen.terminal.changes_text import rest_of_failure
from sitegen.terminal.differences_text import READ_WHERE


@dataclass(frozen=True)
class WiringRow:
    """A record that is not the same on both."""

    name: Markup
    fields: Sequence[FieldChange]


@dataclass(frozen=True)
class EffectRow:
    """Failures that take something else on each."""

    count: int
    failures: list[Markup]
    """What fails; those that fail in the same ways under the same conditions in one text."""
    here: list[tuple[str, list[Markup]]]
    """What is so on this airframe alone: words, and of what."""
    there: list[tuple[str, list[Markup]]]


@dataclass(frozen=True)
class ReadingRow:
    """Failures that show something else on each."""

    count: int
    failures: list[Markup]
    shown: list[tuple[Markup, str, str]]
    """Meters, lamps and flags, and what each shows on this airframe and on the other."""


def _values(context: PageContext, other: Airframe) -> Mapping[str, Any]:
    found = context.differences[other.id]
    network = context.answers.network
    names = {**context.other_networks[other.id].names, **network.names, **network.condition_names}
    there = _fragments_of(context, other)
    links = {**there.links, **context.fragments.links}
    groups = grouped(
        (c.effect, c, Case(c.fault, c.condition, (other.id,), c.answer)) for c in found.consequences
    )
    changes = reading_changes(network, context.other_networks[other.id])
    read = grouped((c.shown, c, Case(c.fault, c.condition, (other.id,), c.answer)) for c in changes)
    return {
        "here": context.answers.airframe.name,
        "there": other.name,
        "none": not (found.only_one or found.only_other or found.changed),
        "read_where": READ_WHERE,
        "readings": [_read(context, names, links, group) for group in read],
        "effects": [_effect(context, names, links, group) for group in groups],
        "conditions": [(names[c.condition], *_works(links, c)) for c in found.conditions],
        "wired": list(_wired(context, found)),
        "only_here": list(_only(context.fragments, found.only_one)),
        "only_there": list(_only(there, found.only_other)),
    }


def _fragments_of(context: PageContext, other: Airframe) -> Fragments:
    """The other airframe's names, with links to its own pages."""

    def resolve(page: str) -> str | None:
        known = page.partition("#")[0] in context.paths.get(other.id, ())
        return f"../{other.id}/{page}" if known else None

    return Fragments(context.other_networks[other.id], context.fragments.notes, resolve)


def _works(links: Mapping[str, Markup], change: Any) -> tuple[Markup, Markup]:
    return _list(links, change.only_one), _list(links, change.only_other)


def _effect(
    context: PageContext,
    names: Mapping[str, str],
    links: Mapping[str, Markup],
    group: Group[Consequence],
) -> EffectRow:
    what = group.what
    lists = (
        ("lost", what.only_one, what.only_other),
        ("comes on", what.on_one, what.on_other),
        ("not known", what.unsure_one, what.unsure_other),
    )
    return EffectRow(
        count=len(group.failures),
        failures=_failures(context, names, group.failures),
        here=[(words, [links[i] for i in ids]) for words, ids, _ in lists if ids],
        there=[(words, [links[i] for i in ids]) for words, _, ids in lists if ids],
    )


def _failures(
    context: PageContext, names: Mapping[str, str], failures: Sequence[FailuresOf]
) -> list[Markup]:
    """What fails; what fails in the same modes under the same conditions is in one text."""
    conditions = [c.id for c in context.answers.conditions]
    failing = context.fragments.failing_or_named
    same: dict[str, list[Markup | str]] = {}
    for f in failures:
        rest = rest_of_failure(f, names, conditions).strip()
        same.setdefault(rest, []).append(failing.get(f.component) or names[f.component])
    return [Markup("{} {}").format(Markup(", ").join(n), rest) for rest, n in same.items()]


def _read(
    context: PageContext,
    names: Mapping[str, str],
    links: Mapping[str, Markup],
    group: Group[ReadingChange],
) -> ReadingRow:
    kinds = {i.id: i.kind for i in context.answers.network.catalogue.indications}
    same: dict[tuple[str, str], list[str]] = {}
    for i, was, now in group.what.shown:
        texts = reading_text(was, kinds[i]), reading_text(now, kinds[i])
        same.setdefault(texts, []).append(i)
    return ReadingRow(
        count=len(group.failures),
        failures=_failures(context, names, group.failures),
        shown=[(_list(links, ids), *texts) for texts, ids in same.items()],
    )


def _list(links: Mapping[str, Markup], ids: Iterable[str]) -> Markup:
    return Markup(", ").join(links[i] for i in ids)


def _wired(context: PageContext, found: Differences) -> Iterator[tuple[str, list[WiringRow]]]:
    """What both have, by chapter or by kind."""
    titles: dict[str, list[WiringRow]] = {}
    for record in found.changed:
        name = context.fragments.named_record(record.section, record.id, record.name)
        titles.setdefault(_title(context, record), []).append(WiringRow(name, record.fields))
    yield from sorted(titles.items(), key=lambda item: (item[0][:1].isdigit(), item[0]))


def _title(context: PageContext, record: RecordChange) -> str:
    equipment = context.answers.network.equipment.get(record.id)
    if record.section == "equipment" and equipment:
        return chapter_title(chapter(equipment.ata))
    return record.section.capitalize()


def _only(
    fragments: Fragments, records: Sequence[RecordChange]
) -> Iterator[tuple[str, list[Markup]]]:
    sections: dict[str, list[Markup]] = {}
    for record in records:
        name = fragments.named_record(record.section, record.id, record.name)
        sections.setdefault(record.section, []).append(name)
    for section, names in sections.items():
        plural = section if len(names) > 1 or section == "equipment" else SECTION_NOUNS[section]
        yield plural.capitalize(), names


PAGE: PageKind[Airframe] = PageKind(
    template="differences",
    subjects=lambda context: context.compared,
    path=lambda other: differences_page(other.id),
    title=lambda other: f"How {other.name} differ",
    kind=lambda context, other: f"From {context.answers.airframe.name}",
    values=_values,
)
