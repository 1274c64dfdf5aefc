"""The page of a function: who provides it, what takes it, alone and together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from markupsafe import Markup

from sitegen.answers.cut_sets import LARGEST_SET
from sitegen.answers.drop import enough_providers, state_with
from sitegen.catalogue.model import Function
from sitegen.pages.fragments.condition_states import StateRow
from sitegen.pages.fragments.failure_sets import by_component, sets_in_condition
from sitegen.pages.links import function_page
from sitegen.pages.page_context import PageContext, PageKind
from sitegen.pages.views import classes
from sitegen.solver.scenarios import Fault, bits
from sitegen.words import counted

NOT_HERE = "Not available in this condition with nothing failed."
STATES = {"kept": "live", "one-left": "live", "lost": "dead"}
WORDS = {"kept": "Kept", "one-left": "Nothing to spare", "lost": "Lost"}


def _values(context: PageContext, function: Function) -> Mapping[str, Any]:
    fragments, rows = context.fragments, _states(context, function)
    return {
        "rows": context.by_condition([row.word for row in rows]),
        "states": rows,
        "providers": [
            {"name": fragments.links[p], "place": _places(context, p)} for p in function.provided_by
        ],
        "needs": f"{function.need} of {counted(len(function.provided_by), 'provider')} needed",
        "independent": [fragments.list(pair) for pair in function.independent],
        "lost": _single(context, function, 0),
        "spare": _single(context, function, 1),
        "sets": list(_sets(context, function)),
        "note": context.fragments.prose(function.note),
    }


def _sets(context: PageContext, function: Function) -> Iterator[dict[str, object]]:
    """The failures that take it only together, condition by condition."""
    conditions = context.answers.conditions
    for i, condition in enumerate(conditions):
        found = context.answers.function_sets[i].get(function.id)
        shown = classes(1 << i, len(conditions))
        if found is None:
            yield {"classes": shown, "condition": condition.name, "says": NOT_HERE, "sizes": []}
        else:
            yield sets_in_condition(context, condition.name, found, 2 if i else LARGEST_SET, shown)


def _places(context: PageContext, item: str) -> Markup:
    return Markup("").join(
        context.fragments.supply(c) for c in context.answers.network.connections[item]
    )


def _states(context: PageContext, function: Function) -> list[StateRow]:
    """The state of the function in each condition with nothing failed."""
    answers = context.answers
    found = []
    for i, condition in enumerate(answers.conditions):
        working = [p for p in function.provided_by if answers.before.works[p] >> i & 1]
        state = state_with(function, len(working))
        fed_from = context.fragments.list(working) if working else Markup("nothing")
        word = "Not available" if state == "lost" else WORDS[state]
        if state == "one-left" and function.need == len(function.provided_by):
            word = "Kept, all needed"
        mark = context.drawings.marks["dead" if state == "lost" else "live"]
        found.append(StateRow(i, condition.name, STATES[state], word, mark, fed_from))
    return found


def taken_by(context: PageContext, function: Function, which: int) -> dict[Fault, tuple[str, ...]]:
    """The single failures that take a function (0), or leave it nothing to spare (1).

    Each with the conditions in which it does. What a condition itself lacks is not held against a
    failure.
    """
    outcome = context.answers.every_fault
    available = enough_providers(outcome, function, to_spare=which)
    mask = context.answers.function_states[function.id][which] & available
    return outcome.scenarios.conditions_by_fault(mask)


def _single(context: PageContext, function: Function, which: int) -> list[dict[str, object]]:
    """The single failures that take it (0), or leave nothing to spare (1), by their conditions.

    What a condition itself lacks is not held against a failure.
    """
    numbers = {c.id: i for i, c in enumerate(context.answers.conditions)}
    together: dict[int, list[Fault]] = {}
    for fault, conditions in taken_by(context, function, which).items():
        together.setdefault(sum(1 << numbers[c] for c in conditions), []).append(fault)
    none = ((1 << len(numbers)) - 1) & ~sum({1 << i for m in together for i in bits(m)})
    quiet: dict[str, object] = {
        "classes": classes(none, len(numbers)),
        "names": ["None in this condition."],
    }
    return ([quiet] if none else []) + [
        {
            "classes": classes(conditions, len(numbers)),
            "names": by_component(context, found),
        }
        for conditions, found in sorted(together.items(), key=lambda t: -bin(t[0]).count("1"))
    ]


PAGE: PageKind[Function] = PageKind(
    template="function",
    subjects=lambda context: context.answers.network.catalogue.functions,
    path=lambda function: function_page(function.id),
    title=lambda function: function.name,
    kind=lambda context, f: "Function, essential" if f.essential else "Function",
    values=_values,
)
