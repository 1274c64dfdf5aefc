"""The page of a function: who provides it, what takes it, alone and together."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from markupsafe import Markup

from sitegen.answers.drop import state_with
from sitegen.answers.function_status import with_none_to_spare
from sitegen.catalogue.model import Function
from sitegen.pages.fragments.condition_states import StateRow
from sitegen.pages.fragments.failure_sets import (
    SetsInCondition,
    by_conditions,
    sets_in_condition,
)
from sitegen.pages.fragments.named_effects import named_effects
from sitegen.pages.links import function_page
from sitegen.pages.page_context import PageContext, PageKind
from sitegen.pages.views import by_answer, classes
from sitegen.words import join_words

WORDS = {"kept": "Available", "lost": "Not available"}
ONE_LEFT = {
    "nothing to spare": "Nothing to spare",
    "all needed": "Available, all needed",
    "": "Available",
}


def _values(context: PageContext, function: Function) -> Mapping[str, Any]:
    return {
        **context.by_state(list(_states(context, function))),
        "function": function,
        "lost": _single(context, function, 0),
        "spare": _single(context, function, 1),
        "named": named_effects(context, context.answers.named_failures.on_function(function.id)),
        "sets": list(_sets(context, function)),
        "drawing": context.drawings.live(about=_buses(context, function)),
    }


def _buses(context: PageContext, function: Function) -> Iterable[str]:
    """The buses that its providers are on."""
    connections = context.answers.network.connections
    return dict.fromkeys(c.bus for item in function.equipment for c in connections[item])


def _sets(context: PageContext, function: Function) -> Iterator[SetsInCondition]:
    """The failures that take it only together, once for all conditions with the same."""
    answers = context.answers
    found = [
        sets_in_condition(
            context, "", answers.function_sets[i].get(function.id), answers.function_set_order(i)
        )
        for i in range(len(answers.conditions))
    ]
    for sets, mask in by_answer(found).items():
        names = [c.name for i, c in enumerate(answers.conditions) if mask >> i & 1]
        shown = classes(mask, len(answers.conditions))
        yield replace(sets, condition=join_words(names), classes=shown)


def _states(context: PageContext, function: Function) -> Iterator[StateRow]:
    """The state of the function in each condition with nothing failed."""
    one_left = ONE_LEFT[with_none_to_spare(function)]
    for i in range(len(context.answers.conditions)):
        working = [p for p in function.equipment if context.answers.before.works[p] >> i & 1]
        providing = context.answers.before.working_providers(function)
        state = state_with(function, sum(mask >> i & 1 for mask in providing))
        yield StateRow(
            "dead" if state == "lost" else "live",
            one_left if state == "one-left" else WORDS[state],
            context.fragments.list(working) if working else Markup("nothing"),
        )


def _single(
    context: PageContext, function: Function, which: int
) -> list[tuple[list[Markup] | None, str]]:
    """The single failures that take it (0), or leave nothing to spare (1), by their conditions.

    Each group with the classes of the views that it shows in; None in those without any.
    """
    count = len(context.answers.conditions)
    groups, some = by_conditions(context, context.answers.hitting_functions[function.id][which])
    none = (1 << count) - 1 & ~some
    return [*([(None, classes(none, count))] if none else []), *groups]


PAGE: PageKind[Function] = PageKind(
    template="function",
    subjects=lambda context: context.answers.network.catalogue.functions,
    path=lambda function: function_page(function.id),
    title=lambda function: function.name,
    kind=lambda context, f: "Function, essential" if f.essential else "Function",
    values=_values,
    depends_on=lambda context, function: [f"functions {function.id}"],
)
