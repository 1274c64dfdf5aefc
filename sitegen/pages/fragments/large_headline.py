"""The large first line of a failure's page: how much is lost."""

from __future__ import annotations

from markupsafe import Markup

from sitegen.answers.drop import Loss
from sitegen.pages.fragments.consequences import FEW, View
from sitegen.pages.page_context import PageContext
from sitegen.pages.theme import macro
from sitegen.terminal.headline_text import contactors_drop_out
from sitegen.words import counted, join_words


def headline(context: PageContext, view: View) -> Markup:
    """How much is lost, in a few large words."""
    lost, functions = _lost(view, view.loss)
    riding = ""
    if contactors_drop_out(view.network, view.loss, view.besides.dip):
        # What the catalogue says is expected comes first.
        dropping = _lost(view, view.besides.dip or view.loss)
        if dropping != (lost, functions):
            riding = ", ".join(filter(None, (lost, functions))) or "none lost"
            lost, functions = dropping
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


def _lost(view: View, loss: Loss) -> tuple[str, str]:
    """`50 items` and `8 functions` that one answer takes; empty for none."""
    was = view.normal.functions
    functions = sum(state == "lost" != was[f] for f, state in loss.functions.items())
    return (
        counted(len(loss.lost), "item") if loss.lost else "",
        counted(functions, "function") if functions else "",
    )
