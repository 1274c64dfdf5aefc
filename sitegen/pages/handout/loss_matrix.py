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

from sitegen.pages.fragments.consequences import View
from sitegen.pages.handout.handout_context import (
    GROUPS,
    HandoutContext,
    NumberedFailure,
    by_conditions,
)
from sitegen.pages.links import equipment_page, function_page

MOST_COLUMNS = 36
"""What fits beside the names on a page in portrait."""

GONE, LESS = "\u25cf", "\u25cb"
"""Lost; reduced, or with nothing to spare."""


@dataclass(frozen=True)
class Row:
    """A function or a piece of equipment."""

    id: str
    chapter: str
    """The heading that it is under; empty for none."""
    name: str
    href: str | None
    essential: bool
    mark: Callable[[View], str]
    """Its mark for a failure; empty for none."""


def of_functions(handout: HandoutContext) -> dict[str, Any]:
    """Which failure takes which function."""
    functions = handout.context.answers.network.catalogue.functions

    def mark(function: str) -> Callable[[View], str]:
        def of(view: View) -> str:
            state = view.loss.functions[function]
            if state == view.normal.functions[function] or state == "kept":
                return ""
            return GONE if state == "lost" else LESS

        return of

    rows = [
        Row(f.id, "", f.name, handout.place(function_page(f.id)), f.essential, mark(f.id))
        for f in functions
    ]
    return {"less": "nothing to spare", "tables": _by_condition(handout, rows)}


def of_equipment(handout: HandoutContext) -> dict[str, Any]:
    """Which failure takes which equipment, chapter by chapter."""
    names = handout.context.answers.network.names

    def mark(item: str) -> Callable[[View], str]:
        def of(view: View) -> str:
            return GONE if item in view.gone else LESS if item in view.less else ""

        return of

    rows = [
        Row(item, title, names[item], handout.place(equipment_page(item)), False, mark(item))
        for title, items in handout.context.fragments.chapters.items()
        for item in items
    ]
    return {
        "less": "reduced: works, but has lost a supply or an alternative",
        "tables": _by_condition(handout, rows),
    }


def _by_condition(handout: HandoutContext, rows: Sequence[Row]) -> list[dict[str, Any]]:
    return [
        {"condition": name, **table}
        for k, name in by_conditions(handout)
        for table in _tables(handout, k, rows)
    ]


def _tables(handout: HandoutContext, condition: int, rows: Sequence[Row]) -> list[dict[str, Any]]:
    columns = handout.failures
    shares = max(1, math.ceil(len(columns) / MOST_COLUMNS))
    size = math.ceil(len(columns) / shares)
    return [_table(columns[i * size : (i + 1) * size], condition, rows) for i in range(shares)]


def _table(
    columns: Sequence[NumberedFailure], condition: int, rows: Sequence[Row]
) -> dict[str, Any]:
    views = [f.stages[0][condition] for f in columns]
    marked = [(row, [row.mark(view) for view in views]) for row in rows]
    shown = [(row, marks) for row, marks in marked if any(marks)]
    return {
        "groups": list(Counter(GROUPS[f.group] for f in columns).items()),
        "columns": columns,
        "begins_group": [k == 0 or f.group != columns[k - 1].group for k, f in enumerate(columns)],
        "lost": [len(view.loss.lost) for view in views],
        "chapters": [(c, list(rows)) for c, rows in groupby(shown, lambda r: r[0].chapter)],
        "spared": [row for row, marks in marked if not any(marks)],
    }
