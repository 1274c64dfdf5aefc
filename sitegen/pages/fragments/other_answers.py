"""What differs in the other answers to a failure: contactors drop out, or overload opens."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from markupsafe import Markup

from sitegen.answers.besides import besides
from sitegen.answers.drop import Loss
from sitegen.pages.fragments import consequences
from sitegen.pages.fragments.chain_of_events import Step, chain
from sitegen.pages.fragments.failure_view import View, losses_before
from sitegen.pages.page_context import PageContext
from sitegen.pages.views import ShownIn, by_text, shown_in, with_classes
from sitegen.terminal.headline_text import sentences
from sitegen.words import counted


@dataclass(frozen=True)
class OtherAnswer:
    """One of them, in the views in which it differs from answer 1."""

    anchor: str
    title: str
    classes: str
    dead: Markup
    """The buses that drop in it."""
    besides: Markup
    """What is true in it besides what the lists name."""
    lists: tuple[tuple[Markup, ShownIn], ...]
    """How many items fare otherwise, and their names."""
    readings: ShownIn | None
    """What each meter, lamp and flag shows in it, where that differs from the condition."""
    chains: list[tuple[tuple[Step, ...], str]]
    """How it comes about, with the classes of the views."""


def other_answers(context: PageContext, views: Sequence[View]) -> Iterator[OtherAnswer]:
    """Those that differ in a way that a reader must know."""
    for anchor, title, pick, changes in ANSWERS:
        others = [pick(view) for view in views]
        if not any(others):
            continue
        # Where it does not differ there is nothing to show: as if nothing had failed.
        then_views = [
            replace(view, loss=other or view.normal, other=None, **changes)
            for view, other in zip(views, others, strict=True)
        ]
        every = list(zip(then_views, others, losses_before(then_views), strict=True))
        overload = anchor == OVERLOAD
        chains = [chain(context, v, was, overload) if other else () for v, other, was in every]
        shown = shown_in(others, None)
        yield OtherAnswer(
            anchor,
            title,
            shown.classes if shown else "",
            by_text("p", [consequences.dead_buses(context, v) if o else "" for v, o, _ in every]),
            by_text("p", [_besides(v) if o else "" for v, o, _ in every]),
            tuple(_lists(context, views, [v if o else None for v, o, _ in every])),
            consequences.readings(context, then_views, changed=True),
            with_classes([steps or None for steps in chains]),
        )


def _besides(view: View) -> str:
    """What is true in it besides what its lists name."""
    more = besides(view.network, view.loss, view.normal)
    more = replace(more, comes_on=(), reduced=(), newly_on_battery=())
    return " ".join(sentences(view.network, view.loss, more, view.normal))


def _lists(
    context: PageContext, views: Sequence[View], then_views: Sequence[View | None]
) -> Iterator[tuple[Markup, ShownIn]]:
    for noun, words, pick in LISTS:
        found = [
            () if then is None else pick(view, then)
            for view, then in zip(views, then_views, strict=True)
        ]
        shown = shown_in(found, consequences.names(context, found))
        if shown:
            titles = [f"{counted(len(ids), noun)} {words}" if ids else "" for ids in found]
            yield by_text("span", titles), shown


def _more(now: Sequence[str], than: Sequence[str]) -> tuple[str, ...]:
    before = frozenset(than)
    return tuple(item for item in now if item not in before)


def _gone(view: View) -> tuple[str, ...]:
    """The functions that are lost, apart from those that end with what the crew turns off."""
    ended = [f for f, state in view.loss.functions.items() if state == "lost"]
    return _more(ended, view.besides.functions_off)


def _off(view: View, than: View) -> tuple[str, ...]:
    """The functions that end with what the crew turns off, and not so in another answer."""
    return _more(view.besides.functions_off, than.besides.functions_off)


OVERLOAD = "if-overload-opens"
ANSWERS: tuple[tuple[str, str, Callable[[View], Loss | None], dict[str, Any]], ...] = (
    (
        "if-dropping-out",
        "If contactors drop out",
        lambda view: view.besides.dip,
        {"is_dip": True},
    ),
    (OVERLOAD, "If what is overloaded opens", lambda view: view.besides.overload, {}),
)
"""Anchor, title, which answer in a view, and how its view is otherwise."""
LISTS: tuple[tuple[str, str, Callable[[View, View], tuple[str, ...]]], ...] = (
    ("function", "lost as well", lambda view, then: _more(_gone(then), _gone(view))),
    ("function", "not lost then", lambda view, then: _more(_gone(view), _gone(then))),
    ("function", "turned off then", lambda view, then: _off(then, view)),
    (
        "function",
        "not turned off then",
        lambda view, then: _more(_off(view, then), _gone(then)),
    ),
    ("item", "lost as well", lambda view, then: _more(then.loss.lost, view.loss.lost)),
    ("item", "not lost then", lambda view, then: _more(view.loss.lost, then.loss.lost)),
    ("item", "turned off then", lambda view, then: _more(then.loss.shed, view.loss.shed)),
    ("item", "coming on as well", lambda view, then: _more(then.loss.comes_on, view.loss.comes_on)),
    (
        "item",
        "not coming on then",
        lambda view, then: _more(view.loss.comes_on, then.loss.comes_on),
    ),
    (
        "item",
        "reduced as well",
        lambda view, then: _more(_more(then.loss.reduced, view.loss.reduced), view.loss.lost),
    ),
    (
        "item",
        "on battery only as well",
        lambda view, then: _more(then.loss.on_battery, view.loss.on_battery),
    ),
)
"""What fares otherwise: its noun, how, and which ids of the answer shown and of the other."""
