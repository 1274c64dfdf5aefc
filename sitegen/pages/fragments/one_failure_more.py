"""Of a failure that takes nothing: the functions that one more failure would take."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import chain

from markupsafe import Markup

from sitegen.pages.fragments.failure_view import View
from sitegen.pages.links import function_page
from sitegen.pages.page_context import PageContext, once_per_context
from sitegen.solver.scenarios import Fault
from sitegen.words import counted

MOST_NAMED = 4
"""Functions; the rest are counted."""


def one_failure_more(context: PageContext, view: View) -> Markup:
    """`One failure more takes Heading, and 2 more functions`; empty where something is lost."""
    loss = view.loss
    if len(view.faults) != 1 or view.then or any((loss.lost, loss.comes_on, loss.not_known)):
        return Markup("")
    found = _by_fault(context, view.condition).get(view.faults[0], ())
    functions = [f for f in view.network.catalogue.functions if f.id in found]
    essential = Markup(' <span class="tag">essential</span>')
    links = [
        context.fragments.link(function_page(f.id), f.name) + (essential if f.essential else "")
        for f in sorted(functions, key=lambda f: not f.essential)
    ]
    more = len(links) - MOST_NAMED
    named = Markup(", ").join(links[:MOST_NAMED])
    rest = f" and {counted(more, 'function')} more" if more > 0 else ""
    return Markup("One failure more takes {}{}.").format(named, rest) if links else Markup("")


@once_per_context
def _by_fault(context: PageContext, condition: int) -> Mapping[Fault, frozenset[str]]:
    """By failure, the functions that it takes with one more of their minimal cut sets."""
    found: dict[Fault, set[str]] = {}
    for function, sets in context.answers.function_sets[condition].items():
        for groups in sets:
            for fault in chain(*groups) if len(groups) == 2 else ():
                found.setdefault(fault, set()).add(function)
    return {fault: frozenset(functions) for fault, functions in found.items()}
