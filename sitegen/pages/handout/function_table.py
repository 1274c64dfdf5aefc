"""Functions: what provides each, which single failures take it or leave it nothing to spare."""

from __future__ import annotations

from typing import Any

from sitegen.catalogue.model import Function
from sitegen.pages.fragments.failure_sets import by_component
from sitegen.pages.function_page import taken_by
from sitegen.pages.handout.handout_context import HandoutContext, by_conditions
from sitegen.pages.links import function_page
from sitegen.solver.scenarios import Fault
from sitegen.words import join_words

MOST_NAMED = 24
"""Failures that a line names; the rest are counted."""


def values(handout: HandoutContext) -> dict[str, Any]:
    """Values for the template."""
    functions = handout.context.answers.network.catalogue.functions
    return {
        "tables": [
            {"condition": name, "rows": [_row(handout, k, f) for f in functions]}
            for k, name in by_conditions(handout)
        ]
    }


def _row(handout: HandoutContext, condition: int, function: Function) -> dict[str, Any]:
    context = handout.context
    network = context.answers.network
    works = context.answers.before.works
    providers = []
    for provider in function.provided_by:
        buses = join_words(
            list(dict.fromkeys(network.names[c.bus] for c in network.connections[provider])), "or"
        )
        providers.append(
            {
                "name": context.fragments.links[provider],
                "buses": buses,
                "off": not works[provider] >> condition & 1,
            }
        )
    return {
        "anchor": function_page(function.id).removesuffix(".html"),
        "name": function.name,
        "essential": function.essential,
        "providers": providers,
        "need": f"{function.need} of {len(function.provided_by)}",
        "lost": _named(handout, condition, function, 0),
        "spare": _named(handout, condition, function, 1),
        "note": context.fragments.prose(function.note),
    }


def _named(
    handout: HandoutContext, condition: int, function: Function, which: int
) -> dict[str, Any]:
    here = handout.context.answers.conditions[condition].id
    faults: list[Fault] = [
        fault
        for fault, where in taken_by(handout.context, function, which).items()
        if here in where
    ]
    names = by_component(handout.context, faults)
    shown = names if len(names) <= MOST_NAMED + 1 else names[:MOST_NAMED]
    return {"names": shown, "more": len(names) - len(shown)}
