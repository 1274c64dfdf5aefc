"""Single points of failure: what a single failure must not take, and does."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
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

_ByComponent = dict[str, dict[tuple[str, ...], list[SingleFailure]]]
"""By component, by the conditions in which it takes something: its failures."""


def _values(context: PageContext, subject: None) -> Mapping[str, Any]:
    answers = context.answers
    weaknesses = single_points(answers.single_failures)
    conditions = answers.conditions
    counts = [sum(c.id in w.by.conditions for w in weaknesses.essential) for c in conditions]
    functions = answers.network.catalogue.functions
    return {
        "rows": context.by_condition([f"{n} found" if n else "none found" for n in counts]),
        "headline": by_text(
            "p",
            [_headline(context, weaknesses.essential, c.id) for c in conditions],
            "headline",
        ),
        "protection": PROTECTION,
        "essential": _by_function(context, weaknesses.essential),
        "independent": _by_function(context, weaknesses.independent),
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


def _by_function(context: PageContext, weaknesses: Sequence[Weakness]) -> list[dict[str, object]]:
    """The weaknesses by function (and pair), each failure in the views of its conditions."""
    conditions = [c.id for c in context.answers.conditions]
    count = len(conditions)
    names = context.answers.network.names
    groups: dict[tuple[str, tuple[str, ...]], _ByComponent] = {}
    for w in weaknesses:
        of_component = groups.setdefault((w.function, w.items), {}).setdefault(w.by.fault[0], {})
        of_component.setdefault(w.by.conditions, []).append(w.by)
    rows: list[dict[str, object]] = []
    for (function, items), components in groups.items():
        lines = [
            {"classes": classes(_mask(conditions, where), count), "name": name}
            for by_conditions in components.values()
            for where, modes in by_conditions.items()
            for name in single_failures(context, modes)
        ]
        anywhere = {c for by in components.values() for where in by for c in where}
        rows.append(
            {
                "classes": classes(_mask(conditions, tuple(anywhere)), count),
                "href": function_page(function),
                "name": names[function],
                "bar": context.lookups["point_bar"](function, items),
                "items": context.fragments.list(items) if items else "",
                "lines": lines,
            }
        )
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
