"""Single points of failure: what a single failure must not take, and does."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from markupsafe import Markup

from sitegen.answers.single_failures import SingleFailure
from sitegen.answers.single_points import Weakness, single_points
from sitegen.pages.fragments.failure_sets import single_failures
from sitegen.pages.links import AUDIT, PROTECTION, function_page
from sitegen.pages.page_context import PageContext, PageKind
from sitegen.pages.theme import macro
from sitegen.pages.views import by_text, classes
from sitegen.solver.scenarios import Fault

FEW = 3
"""How many of the worst failures the headline has room for."""

Taken = tuple[str, tuple[str, ...]]
"""A function, and the two items that are meant to be independent; none of a whole function."""


def _values(context: PageContext, subject: None) -> Mapping[str, Any]:
    answers = context.answers
    weaknesses = single_points(answers.single_failures)
    conditions = answers.conditions
    counts = [
        len({w.by.fault for w in weaknesses.essential if c.id in w.by.conditions})
        for c in conditions
    ]
    functions = answers.network.catalogue.functions
    return {
        "rows": context.by_condition([f"{n} found" if n else "none found" for n in counts]),
        "headline": by_text(
            "p",
            [_headline(context, weaknesses.essential, c.id) for c in conditions],
            "headline",
        ),
        "protection": PROTECTION,
        "essential": _by_failure(context, weaknesses.essential),
        "independent": _by_failure(context, weaknesses.independent),
        "none_essential": _none(context, weaknesses.essential),
        "none_independent": _none(context, weaknesses.independent),
        "essential_count": sum(f.essential for f in functions),
        "pair_count": sum(len(f.independent) for f in functions),
    }


def _headline(context: PageContext, weaknesses: Sequence[Weakness], condition: str) -> Markup:
    """How many single failures take an essential function there, and which take most of them."""
    taken: dict[Fault, list[Weakness]] = {}
    for w in weaknesses:
        if condition in w.by.conditions:
            taken.setdefault(w.by.fault, []).append(w)
    most = max(map(len, taken.values()), default=0)
    by = [found[0].by for found in taken.values() if len(found) == most > 1]
    worst = single_failures(context, by)
    return macro("worst_point")(
        len(taken),
        sum(all(w.by.remark for w in found) for found in taken.values()),
        sum(f.essential for f in context.answers.network.catalogue.functions),
        worst if len(worst) <= FEW else [*worst[: FEW - 1], f"{len(worst) - FEW + 1} more"],
        most,
    )


def _none(context: PageContext, weaknesses: Sequence[Weakness]) -> str | None:
    """The classes of the views in which nothing was found; None if something was in every one."""
    conditions = context.answers.conditions
    mask = sum(
        1 << i
        for i, c in enumerate(conditions)
        if not any(c.id in w.by.conditions for w in weaknesses)
    )
    return classes(mask, len(conditions)) if mask else None


def _by_failure(context: PageContext, weaknesses: Sequence[Weakness]) -> list[dict[str, object]]:
    """The failures that take most first, modes that take the same together: what each takes."""
    conditions = [c.id for c in context.answers.conditions]
    count, names = len(conditions), context.answers.network.names
    taken: dict[SingleFailure, dict[Taken, int]] = {}
    for w in weaknesses:
        by = replace(w.by, conditions=())
        taken.setdefault(by, {})[w.function, w.items] = _mask(conditions, w.by.conditions)
    # The modes of a component that take the same are together, condition by condition.
    groups: dict[tuple[SingleFailure, ...], int] = {}
    for i in range(count):
        same: dict[tuple[str, str, frozenset[Taken]], list[SingleFailure]] = {}
        for by, masks in taken.items():
            if here := frozenset(one for one, mask in masks.items() if mask >> i & 1):
                same.setdefault((by.fault[0], by.remark, here), []).append(by)
        for together in map(tuple, same.values()):
            groups[together] = groups.get(together, 0) | 1 << i
    by_group = {
        failures: {one: m & where for one, m in taken[failures[0]].items() if m & where}
        for failures, where in groups.items()
    }
    rows: list[dict[str, object]] = []
    for failures, found in sorted(by_group.items(), key=lambda group: -len(group[1])):
        takes = [
            {
                "classes": classes(mask, count),
                "name": context.fragments.link(function_page(function), names[function]),
                "items": context.fragments.list(items) if items else "",
                "bar": context.lookups["point_bar"](function, items),
            }
            for (function, items), mask in found.items()
        ]
        [name] = single_failures(context, failures)
        where = classes(groups[failures], count)
        rows.append({"classes": where, "name": name, "takes": takes})
    return rows


def _mask(conditions: Sequence[str], where: Sequence[str]) -> int:
    return sum(1 << i for i, c in enumerate(conditions) if c in where)


PAGE: PageKind[None] = PageKind(
    template="single-points",
    subjects=lambda context: [None] if context.answers.network.catalogue.functions else [],
    path=lambda _: AUDIT,
    title=lambda _: "Single-failure audit",
    kind=lambda context, _: "Functions",
    values=_values,
)
