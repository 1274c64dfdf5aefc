"""The large first line of a failure's page: how much is lost."""

from __future__ import annotations

from dataclasses import replace

from markupsafe import Markup

from sitegen.pages.fragments.consequences import FEW, View
from sitegen.pages.page_context import PageContext
from sitegen.pages.theme import macro
from sitegen.terminal.headline_text import drops_out_text
from sitegen.words import counted, join_words


def headline(context: PageContext, view: View) -> Markup:
    """How much is lost, in a few large words."""
    lost, functions = _lost(expected(view))
    first = _lost(view)
    # What the catalogue says is expected comes first.
    riding = ""
    if first != (lost, functions):
        riding = f"or {', '.join(filter(None, first)) or 'none lost'} if contactors ride through"
        riding += ": 'Lost' lists these" if first[0] else ""
    on = view.loss.comes_on
    names = [view.network.names[i] for i in on]
    few = f"Comes on: {join_words(names)}"
    comes_on = few if len(names) <= FEW else f"{counted(len(names), 'item')} come on"
    off = view.loss.shed
    return macro("headline")(
        lost,
        functions,
        counted(len(off), "item") if off else "",
        comes_on if on else "" if off else view.no_loss,
        riding,
    )


def expected(view: View) -> View:
    """The view with contactors dropping out, where the catalogue says that they do."""
    dip = view.besides.dip
    if dip is None or not drops_out_text(view.network, view.loss, dip):
        return view
    return replace(view, loss=dip, dip=None)


def _lost(view: View) -> tuple[str, str]:
    """`50 items` and `8 functions` that are lost; empty for none."""
    functions = len(view.besides.functions_lost)
    return (
        counted(len(view.loss.lost), "item") if view.loss.lost else "",
        counted(functions, "function") if functions else "",
    )
