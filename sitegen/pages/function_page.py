"""The page of a function: who provides it, what takes it, alone and together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import reduce
from operator import or_
from typing import Any

from markupsafe import Markup

from sitegen.answers.drop import state_with
from sitegen.answers.single_failures import SingleFailure
from sitegen.catalogue.model import Function
from sitegen.pages.fragments.condition_states import StateRow
from sitegen.pages.fragments.failure_sets import (
    SetsInCondition,
    sets_in_condition,
    single_failures,
)
from sitegen.pages.fragments.named_effects import named_effects
from sitegen.pages.links import function_page
from sitegen.pages.page_context import PageContext, PageKind
from sitegen.pages.views import classes

WORDS = {"kept": "Kept", "one-left": "Nothing to spare", "lost": "Not available"}


def _values(context: PageContext, function: Function) -> Mapping[str, Any]:
    return {
        **context.by_state(list(_states(context, function))),
        "function": function,
        "lost": _single(context, function, 0),
        "spare": _single(context, function, 1),
        "named": named_effects(context, context.answers.named_failures.on_function(function.id)),
        "sets": list(_sets(context, function)),
    }


def _sets(context: PageContext, function: Function) -> Iterator[SetsInCondition]:
    """The failures that take it only together, condition by condition."""
    for i, (condition, shown) in enumerate(context.condition_classes):
        sets = context.answers.function_sets[i].get(function.id)
        order = context.answers.function_set_order(i)
        yield sets_in_condition(context, condition.name, sets, order, shown)


def _states(context: PageContext, function: Function) -> Iterator[StateRow]:
    """The state of the function in each condition with nothing failed."""
    for i in range(len(context.answers.conditions)):
        working = [p for p in function.equipment if context.answers.before.works[p] >> i & 1]
        providing = context.answers.before.working_providers(function)
        state = state_with(function, sum(mask >> i & 1 for mask in providing))
        every_provider = state == "one-left" and function.need == len(function.provided_by)
        # A group counts as one provider, and may have something to spare in itself.
        grouped = every_provider and not all(isinstance(p, str) for p in function.provided_by)
        all_needed = every_provider and not grouped
        yield StateRow(
            "dead" if state == "lost" else "live",
            "Kept, all needed" if all_needed else WORDS["kept" if grouped else state],
            context.fragments.list(working) if working else Markup("nothing"),
        )


def _single(
    context: PageContext, function: Function, which: int
) -> list[tuple[list[Markup] | None, str]]:
    """The single failures that take it (0), or leave nothing to spare (1), by their conditions.

    Each group with the classes of the views that it shows in; None in those without any.
    """
    conditions = [c.id for c in context.answers.conditions]
    groups: dict[int, list[SingleFailure]] = {}
    for failure in context.answers.hitting_functions[function.id][which]:
        mask = sum(1 << conditions.index(c) for c in failure.conditions)
        groups.setdefault(mask, []).append(failure)
    count, every = len(conditions), (1 << len(conditions)) - 1
    none = every & ~reduce(or_, groups, 0)
    return ([(None, classes(none, count))] if none else []) + [
        (single_failures(context, failures), classes(mask, count))
        for mask, failures in sorted(groups.items(), key=lambda group: -bin(group[0]).count("1"))
    ]


PAGE: PageKind[Function] = PageKind(
    template="function",
    subjects=lambda context: context.answers.network.catalogue.functions,
    path=lambda function: function_page(function.id),
    title=lambda function: function.name,
    kind=lambda context, f: "Function, essential" if f.essential else "Function",
    values=_values,
)
