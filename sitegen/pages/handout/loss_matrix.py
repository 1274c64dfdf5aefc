"""Failures in columns, functions or equipment in rows.

A table breaks over pages with its heads repeated. More failures than fit side by side make several
tables.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from sitegen.answers.drop import Loss
from sitegen.pages.fragments.failure_view import View
from sitegen.pages.handout.handout_context import (
    GROUPS,
    HandoutContext,
    NumberedFailure,
    by_conditions,
)
from sitegen.pages.links import equipment_page, function_page

MOST_COLUMNS = 36
"""What fits beside the names on a page in portrait."""

GONE, LESS, ON = "\u25cf", "\u25cb", "+"
"""Lost; reduced, or with nothing to spare; comes on, or is available again."""


@dataclass(frozen=True)
class Row:
    """A function or a piece of equipment."""

    id: str
    chapter: str
    """The heading that it is under; empty for none."""
    name: str
    href: str | None
    essential: bool = False


@dataclass(frozen=True)
class Subject:
    """What the rows of a table are about: functions or equipment."""

    rows: Sequence[Row]
    mark: Callable[[str, View], str]
    """The mark of a row for a failure; empty for none."""
    is_off: Callable[[str, Loss], bool]
    """Whether it does not work with nothing failed."""


def of_functions(handout: HandoutContext) -> dict[str, Any]:
    """Which failure takes which function."""
    rows = [
        Row(f.id, "", f.name, handout.place(function_page(f.id)), f.essential)
        for f in handout.context.answers.network.catalogue.functions
    ]
    return {
        "less": "nothing to spare",
        "more": "available, was not before",
        "tables": _by_condition(
            handout, Subject(rows, _function_mark, lambda f, normal: normal.functions[f] == "lost")
        ),
    }


def _function_mark(function: str, view: View) -> str:
    state, was = view.loss.functions[function], view.normal.functions[function]
    if state == was or (state == "kept" and was != "lost"):
        return ""
    if was == "lost":
        return ON
    return GONE if state == "lost" else LESS


def of_equipment(handout: HandoutContext) -> dict[str, Any]:
    """Which failure takes which equipment, chapter by chapter."""
    names = handout.context.answers.network.names
    rows = [
        Row(item, title, names[item], handout.place(equipment_page(item)))
        for title, items in handout.context.fragments.chapters.items()
        for item in items
    ]
    return {
        "less": "reduced: works, but has lost a supply or an alternative",
        "more": "comes on: did not work before",
        "tables": _by_condition(
            handout, Subject(rows, _item_mark, lambda i, normal: i in normal.not_powered)
        ),
    }


def _item_mark(item: str, view: View) -> str:
    marks = ((GONE, view.gone), (LESS, view.less), (ON, view.comes_on))
    return next((sign for sign, items in marks if item in items), "")


def _by_condition(handout: HandoutContext, subject: Subject) -> list[dict[str, Any]]:
    return [
        {"condition": name, **table}
        for k, name in by_conditions(handout)
        for table in _tables(handout, k, subject)
    ]


def _tables(handout: HandoutContext, condition: int, subject: Subject) -> list[dict[str, Any]]:
    columns = handout.failures
    shares = max(1, math.ceil(len(columns) / MOST_COLUMNS))
    size = math.ceil(len(columns) / shares)
    return [_table(columns[i * size : (i + 1) * size], condition, subject) for i in range(shares)]


def _table(columns: Sequence[NumberedFailure], condition: int, subject: Subject) -> dict[str, Any]:
    views = [f.stages[0][condition] for f in columns]
    marked = [(row, [subject.mark(row.id, view) for view in views]) for row in subject.rows]
    shown = [(row, marks) for row, marks in marked if any(marks)]
    unmarked = [row for row, marks in marked if not any(marks)]
    return {
        "groups": list(Counter(GROUPS[f.group] for f in columns).items()),
        "columns": columns,
        "begins_group": [k == 0 or f.group != columns[k - 1].group for k, f in enumerate(columns)],
        "lost": [len(view.loss.lost) for view in views],
        "come_on": [len(view.loss.comes_on) for view in views],
        "chapters": [(c, list(rows)) for c, rows in groupby(shown, lambda r: r[0].chapter)],
        "spared": [row for row in unmarked if not subject.is_off(row.id, views[0].normal)],
        "off": [row for row in unmarked if subject.is_off(row.id, views[0].normal)],
    }
