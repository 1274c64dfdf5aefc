"""Failures across, functions or equipment down: look along a line, or down a column.

Heads and lines are kept short enough that a table folds over pages with its heads repeated. More
failures than fit side by side make several tables.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from markupsafe import Markup, escape

from sitegen.pages.fragments.consequences import View
from sitegen.pages.handout.handout_context import GROUPS, Course, Failing, by_conditions
from sitegen.pages.links import function_page

MOST_COLUMNS = 36
"""What fits beside the names on an upright page."""

GONE, LESS = "\u25cf", "\u25cb"
"""Lost; works with less behind it, or with nothing to spare."""

Rows = Iterable[tuple[str, Markup, Callable[[View], str]]]
"""(heading to stand above it, name, mark for a failure)."""


def of_functions(course: Course) -> dict[str, Any]:
    """Which failure takes which function."""
    functions = course.context.answers.network.catalogue.functions

    def mark(function: str) -> Callable[[View], str]:
        def of(view: View) -> str:
            state = view.loss.functions[function]
            if state == view.normal.functions[function] or state == "kept":
                return ""
            return GONE if state == "lost" else LESS

        return of

    def rows() -> Rows:
        for f in functions:
            tag = Markup(" <b class=tag>essential</b>") if f.essential else ""
            name = Markup('<a href="{}">{}</a>{}').format(function_page(f.id), f.name, tag)
            yield "", name, mark(f.id)

    return {"less": "nothing to spare", "tables": _by_condition(course, rows)}


def of_equipment(course: Course) -> dict[str, Any]:
    """Which failure takes which equipment, chapter by chapter."""
    fragments = course.context.fragments

    def mark(item: str) -> Callable[[View], str]:
        def of(view: View) -> str:
            return GONE if item in view.gone else LESS if item in view.less else ""

        return of

    def rows() -> Rows:
        for title, items in fragments.chapters.items():
            for item in items:
                yield title, fragments.links[item], mark(item)

    return {"less": "works with less behind it", "tables": _by_condition(course, rows)}


def _by_condition(course: Course, rows: Callable[[], Rows]) -> list[dict[str, Any]]:
    return [
        {"condition": name, **table}
        for k, name in by_conditions(course)
        for table in _tables(course, k, rows)
    ]


def _tables(course: Course, condition: int, rows: Callable[[], Rows]) -> list[dict[str, Any]]:
    columns = course.failing
    shares = max(1, math.ceil(len(columns) / MOST_COLUMNS))
    size = math.ceil(len(columns) / shares)
    every = list(rows())
    return [_table(columns[i * size : (i + 1) * size], condition, every) for i in range(shares)]


def _table(columns: Sequence[Failing], condition: int, rows: Sequence[Any]) -> dict[str, Any]:
    views = [f.stages[0][condition] for f in columns]
    first = [k == 0 or f.group != columns[k - 1].group for k, f in enumerate(columns)]
    begins = ["<td class=g>" if new else "<td>" for new in first]
    heads = [
        Markup("<th scope=col{}><a{}><span>{}{}</span></a></th>").format(
            Markup(" class=g") if new else "",
            Markup(' href="{}.html"').format(f.anchor) if f.number else "",
            Markup("<b>{}</b> ").format(f.number) if f.number else "",
            f.name,
        )
        for f, new in zip(columns, first, strict=True)
    ]
    lines: list[str] = []
    spared: list[Markup] = []
    above = ""
    for heading, name, mark in rows:
        marks = [mark(view) for view in views]
        if not any(marks):
            spared.append(name)
            continue
        if heading != above:
            above = heading
            lines.append(
                f"<tr class=chapter><th colspan={len(columns) + 1} scope=colgroup>"
                f"{escape(heading)}</th></tr>"
            )
        cells = "".join([f"{b}{m}</td>" for b, m in zip(begins, marks, strict=True)])
        lines.append(f"<tr><th scope=row>{name}</th>{cells}</tr>")
    lost = [str(len(v.loss.lost)) for v in views]
    counts = "".join([f"{b}{n}</td>" for b, n in zip(begins, lost, strict=True)])
    groups: dict[str, int] = {}
    for f in columns:
        groups[GROUPS[f.group]] = groups.get(GROUPS[f.group], 0) + 1
    return {
        "groups": list(groups.items()),
        "heads": Markup("").join(heads),
        "counts": Markup(counts),
        "lines": Markup("".join(lines)),
        "spared": Markup(", ").join(spared),
    }
