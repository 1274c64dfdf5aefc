"""Functions: what provides each, which single failures take it or leave it nothing to spare."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from sitegen.catalogue.model import Function
from sitegen.pages.fragments.failure_sets import single_failures
from sitegen.pages.handout.handout_context import HandoutContext, anchor_of, by_conditions
from sitegen.pages.links import function_page

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
    network = handout.context.answers.network
    works = handout.context.answers.before.works
    return {
        "function": function,
        "anchor": anchor_of(function_page(function.id)),
        "providers": [
            {
                "id": provider,
                "buses": dict.fromkeys(network.names[c.bus] for c in network.connections[provider]),
                "off": not works[provider] >> condition & 1,
            }
            for provider in function.equipment
        ],
        "lost": _named(handout, condition, function, 0),
        "spare": _named(handout, condition, function, 1),
    }


def _named(
    handout: HandoutContext, condition: int, function: Function, which: int
) -> tuple[list[Markup], int]:
    """The single failures that take it (0), or leave nothing to spare (1); how many more."""
    here = handout.context.answers.conditions[condition].id
    hitting = handout.context.answers.hitting_functions[function.id][which]
    names = single_failures(handout.context, [f for f in hitting if here in f.conditions])
    shown = names if len(names) <= MOST_NAMED + 1 else names[:MOST_NAMED]
    return shown, len(names) - len(shown)
