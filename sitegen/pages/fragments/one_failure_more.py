"""Of a failure that takes nothing: what one more failure would take."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import chain

from markupsafe import Markup

from sitegen.answers.latent_failures import Latent, Latents, latent_failures
from sitegen.catalogue.kinds import MODE_NOUNS
from sitegen.pages.fragments.failure_view import View
from sitegen.pages.links import function_page
from sitegen.pages.page_context import PageContext, once_per_context
from sitegen.pages.theme import macro
from sitegen.quantities import NO_BREAK, duration
from sitegen.solver.scenarios import Fault
from sitegen.terminal.headline_text import in_order
from sitegen.words import counted, join_words

MOST_NAMED, MOST_BESIDE = 4, 1
"""Functions; the rest are counted. Beside what is lost already there is less room."""


def one_failure_more(context: PageContext, view: View) -> Markup:
    """`One failure more takes Heading, and 2 more functions`; empty where something is lost, unless
    no battery is left to take over: then what is lost is the least of it.

    Of a device that has stuck closed, and of a shorted diode: the worst that comes on top.
    """
    loss = view.loss
    taken = loss.lost or loss.comes_on or loss.not_known
    if len(view.faults) != 1 or view.then or (taken and not view.besides.no_reserve):
        return Markup("")
    if latents := _latent(context).get((loss.condition, view.faults[0])):
        return macro("lines")([_on_top(context, latent, view) for latent in latents])
    found = _by_fault(context, view.condition).get(view.faults[0], ())
    functions = [f for f in view.network.catalogue.functions if f.id in found]
    essential = Markup(' <span class="tag">essential</span>')
    links = [
        context.fragments.link(function_page(f.id), f.name) + (essential if f.essential else "")
        for f in sorted(functions, key=lambda f: not f.essential)
    ]
    most = MOST_BESIDE if taken else MOST_NAMED
    more = len(links) - most
    named = Markup(", ").join(links[:most])
    rest = f" and {counted(more, 'function')} more" if more > 0 else ""
    return Markup("One failure more takes {}{}.").format(named, rest) if links else Markup("")


@once_per_context
def _latent(context: PageContext) -> Latents:
    return latent_failures(context.answers.single_failures)


def _on_top(context: PageContext, latent: Latent, view: View) -> Markup:
    component, mode = latent.by
    both, names = latent.both, context.answers.network.names
    was = view.normal.functions
    functions = [f for f, state in both.functions.items() if state == "lost" != was[f]]
    with_it = Markup("With {} {} as well, ").format(
        context.fragments.failing[component], MODE_NOUNS[mode].lower()
    )
    sound = "with a sound one" if view.faults[0][1] == "shorted" else "if it opened"
    found = []
    if latent.more:
        more = _counted(latent.more, latent.more_functions)
        verb = "is" if len(both.lost) == 1 and not functions else "are"
        found.append(
            f"{_counted(both.lost, functions)} {verb} lost; {more} of these would be kept {sound}"
        )
    # Minutes count only while these hold, also where one of the two overloads them by itself.
    must = [device for device, word in both.overloaded.items() if word == "must"]
    over = must if latent.minutes else () if latent.more else latent.must_open
    if over:
        them, first = in_order(context.answers.network, both, over)
        verb = "is" if len(over) == 1 or first else "are"
        found.append(f"{them} {verb} overloaded and must open{first}")
    if latent.driven:
        verb, them = ("stays", "it") if len(latent.driven) == 1 else ("stay", "them")
        driven = join_words([names[source] for source in latent.driven])
        found.append(f"{driven} {verb} connected: others may drive {them} as a motor")
    found += [
        f"{names[source]} is at {how.bound}{NO_BREAK.percent(how.percent)} of its rating"
        for source, how in latent.over.items()
    ]
    held = " if no breaker opens" if must else ""
    for battery, (minutes, alone) in latent.minutes.items():
        last = f"{names[battery]} lasts {duration(minutes, NO_BREAK.gap)}{held}"
        beside = f" ({duration(alone, NO_BREAK.gap)} {sound})" if alone is not None else ""
        found.append(last + beside)
    return with_it + ". ".join(found) + "."


def _counted(items: Sequence[str], functions: Sequence[str]) -> str:
    counts = (counted(len(items), "item"), counted(len(functions), "function") if functions else "")
    return " and ".join(filter(None, counts))


@once_per_context
def _by_fault(context: PageContext, condition: int) -> Mapping[Fault, frozenset[str]]:
    """By failure, the functions that it takes with one more of their minimal cut sets."""
    found: dict[Fault, set[str]] = {}
    for function, sets in context.answers.function_sets[condition].items():
        for groups in sets:
            for fault in chain(*groups) if len(groups) == 2 else ():
                found.setdefault(fault, set()).add(function)
    return {fault: frozenset(functions) for fault, functions in found.items()}
