"""Functions: who provides each, what alone takes it, and what leaves it nothing to spare."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from sitegen.catalogue.model import Function
from sitegen.pages.fragments.failure_sets import by_component
from sitegen.pages.function_page import taken_by
from sitegen.pages.handout.handout_context import Course, by_conditions
from sitegen.pages.links import function_page
from sitegen.solver.scenarios import Fault
from sitegen.words import join_words

MOST_NAMED = 24
"""Failures that a line names; the rest are counted."""


def values(course: Course) -> dict[str, Any]:
    """What the template is given."""
    functions = course.context.answers.network.catalogue.functions
    return {
        "tables": [
            {"condition": name, "rows": [_row(course, k, f) for f in functions]}
            for k, name in by_conditions(course)
        ]
    }


def _row(course: Course, condition: int, function: Function) -> dict[str, Any]:
    context = course.context
    network = context.answers.network
    works = context.answers.before.works
    providers = []
    for provider in function.provided_by:
        buses = join_words(
            list(dict.fromkeys(network.names[c.bus] for c in network.connections[provider])), "or"
        )
        off = "" if works[provider] >> condition & 1 else ", not on in this condition"
        providers.append(
            Markup("{} <span class=also>on {}{}</span>").format(
                context.fragments.links[provider], buses, off
            )
        )
    return {
        "anchor": function_page(function.id).removesuffix(".html"),
        "name": function.name,
        "essential": function.essential,
        "providers": providers,
        "need": f"{function.need} of {len(function.provided_by)}",
        "lost": _named(course, condition, function, 0),
        "spare": _named(course, condition, function, 1),
        "note": context.fragments.prose(function.note),
    }


def _named(course: Course, condition: int, function: Function, which: int) -> Markup:
    here = course.context.answers.conditions[condition].id
    found: list[Fault] = [
        fault for fault, where in taken_by(course.context, function, which).items() if here in where
    ]
    names = by_component(course.context, found)
    shown = names if len(names) <= MOST_NAMED + 1 else names[:MOST_NAMED]
    more = len(names) - len(shown)
    text = Markup(", ").join(shown)
    return text + Markup(" and {} more").format(more) if more else text
