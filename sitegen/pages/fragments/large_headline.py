"""The large first line of a failure's page: how much is lost."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from markupsafe import Markup

from sitegen.pages.fragments.consequences import FEW
from sitegen.pages.fragments.failure_view import View
from sitegen.pages.page_context import PageContext
from sitegen.pages.theme import macro
from sitegen.words import counted, join_words


def headline(context: PageContext, view: View) -> Markup:
    """How much is lost, in a few large words."""
    lost, functions = _lost(view)
    on = view.loss.comes_on
    names = [view.network.names[i] for i in on]
    few = f"Comes on: {join_words(names)}"
    comes_on = few if len(names) <= FEW else f"{counted(len(names), 'item')} come on"
    off = view.loss.shed
    ended = view.besides.functions_off
    return macro("headline")(
        lost,
        functions,
        counted(len(off), "item") if off else "",
        counted(len(ended), "function") if ended else "",
        comes_on if on else "" if off else view.no_loss,
        list(_or_else(view, (lost, functions))),
    )


def _or_else(view: View, said: tuple[str, str]) -> Iterator[tuple[tuple[str, ...], str]]:
    """What is lost in the answers that may be the right one as well, where it is not the same."""
    more = view.besides
    others = ("contactors drop out", more.dip), ("what is overloaded opens", more.overload)
    for assumed, loss in others:
        if loss is not None:
            other = _lost(replace(view, loss=loss, other=None))
            if other != said:
                yield tuple(filter(None, other)) or ("none lost",), assumed


def _lost(view: View) -> tuple[str, str]:
    """`50 items` and `8 functions` that are lost; empty for none."""
    functions = len(view.besides.functions_lost)
    return (
        counted(len(view.loss.lost), "item") if view.loss.lost else "",
        counted(functions, "function") if functions else "",
    )
