"""The page of what a revision changes on one airframe."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup, escape

from sitegen.answers.changes import Changes
from sitegen.answers.failure_groups import Group
from sitegen.answers.record_changes import FieldChange
from sitegen.answers.record_fields import CHANGE_KINDS
from sitegen.pages.links import CHANGES, condition_place, function_page
from sitegen.pages.page_context import PageContext, PageKind
from sitegen.terminal.changes_text import (
    KIND_TITLES,
    effects,
    failure_rest,
    one_failure_takes,
    rating_lines,
    record_noun,
    summary,
)
from sitegen.terminal.endurance_text import minutes_text
from sitegen.words import day


@dataclass(frozen=True)
class RecordLine:
    """One record of a list."""

    name: Markup
    noun: str
    """What it is, where its name does not say it."""
    fields: list[FieldChange]
    """Of a record that is new or gone, one without a field."""


@dataclass(frozen=True)
class EffectLine:
    """What is otherwise, and after which failures or in which condition."""

    effects: list[tuple[str, Markup]]
    """What is so, and of what."""
    after: list[Markup]


def _values(context: PageContext, changes: Changes) -> Mapping[str, Any]:
    old = changes.old.aircraft
    records = {KIND_TITLES[kind]: list(_records(context, changes, kind)) for kind in CHANGE_KINDS}
    follows = {
        "With nothing failed": _conditions(context, changes),
        "Failures that take something else": (
            EffectLine(_effects(context, changes, effects(g.what)), _after(context, changes, g))
            for g in changes.failure_groups
        ),
        "Over its rating with nothing failed": (
            EffectLine([(words.capitalize(), _name(context, changes, component))], [escape(where)])
            for words, component, where in rating_lines(changes)
        ),
        "Minutes on battery": (
            EffectLine(
                [
                    (
                        changes.names[g.what.battery],
                        Markup("{} \u2192 <b>{}</b>").format(
                            minutes_text(g.what.was), minutes_text(g.what.now)
                        ),
                    )
                ],
                _after(context, changes, g),
            )
            for g in changes.endurance_groups
        ),
        "Single points of failure": (
            EffectLine(
                [("New" if g.what.is_new else "Gone", _point(context, changes, g))],
                _after(context, changes, g),
            )
            for g in changes.point_groups
        ),
        "Between airframes": _pairs(context, changes),
    }
    return {
        "older": f"{old.revision} of {day(old.revised)}",
        "summary": summary(changes),
        "same_revision": changes.same_revision,
        "records": {title: rows for title, rows in records.items() if rows},
        "follows": {title: rows for title, lines in follows.items() if (rows := list(lines))},
    }


def _records(context: PageContext, changes: Changes, kind: str) -> Iterator[RecordLine]:
    for of in changes.records:
        fields = [field for field in of.what.fields if field.kind == kind]
        if fields:
            name = context.fragments.named_record(of.what.section, of.what.id, of.what.name)
            yield RecordLine(name, record_noun(of.what), fields)


def _conditions(context: PageContext, changes: Changes) -> Iterator[EffectLine]:
    for of in changes.conditions:
        works = [("no longer works", of.what.only_one), ("now works", of.what.only_other)]
        place = condition_place(of.what.condition)
        where = context.fragments.link(place, changes.names[of.what.condition])
        yield EffectLine(_effects(context, changes, works), [Markup("in {}").format(where)])


def _effects(
    context: PageContext, changes: Changes, found: Iterable[tuple[str, tuple[str, ...]]]
) -> list[tuple[str, Markup]]:
    return [(words.capitalize(), _list(context, changes, ids)) for words, ids in found if ids]


def _list(context: PageContext, changes: Changes, ids: Iterable[str]) -> Markup:
    return Markup(", ").join(_name(context, changes, i) for i in ids)


def _name(context: PageContext, changes: Changes, name: str) -> Markup:
    """As a link to its page, where it still has one."""
    return context.fragments.links.get(name) or escape(changes.names[name])


def _after(context: PageContext, changes: Changes, group: Group[Any]) -> list[Markup]:
    """The failures of a group, each with its conditions."""
    failing, names = context.fragments.failing_or_named, changes.names
    line = Markup("{} <span>{}</span>")
    return [
        line.format(failing.get(f.component) or names[f.component], failure_rest(changes, f))
        for f in group.failures
    ]


def _point(context: PageContext, changes: Changes, group: Group[Any]) -> Markup:
    point = group.what
    function = context.fragments.link(function_page(point.function), changes.names[point.function])
    takes = one_failure_takes(point)
    if not point.items:
        return Markup("{} {}").format(takes, function)
    items = Markup(" and ").join(_name(context, changes, i) for i in point.items)
    return Markup("{} {} together, for {}").format(takes, items, function)


def _pairs(context: PageContext, changes: Changes) -> Iterator[EffectLine]:
    here = context.answers.airframe.id
    for pair in changes.pairs:
        other = pair.other if pair.one == here else pair.one
        lists = [
            (words, Markup("; ").join(context.fragments.named_record(s, i, i) for s, i in records))
            for words, records in (("Now differ", pair.apart), ("No longer differ", pair.same))
            if records
        ]
        yield EffectLine(lists, [Markup("this airframe and {}").format(changes.names[other])])


PAGE: PageKind[Changes] = PageKind(
    template="changes",
    subjects=lambda context: [context.revision.changes] if context.revision else [],
    path=lambda _: CHANGES,
    title=lambda changes: f"What revision {changes.new.aircraft.revision} changes",
    kind=lambda context, changes: "Changes",
    values=_values,
)
