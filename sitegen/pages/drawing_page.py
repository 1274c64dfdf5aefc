"""The page of the whole drawing alone: every source, bus and feeder, in each condition."""

from __future__ import annotations

from sitegen.pages.links import OVERVIEW
from sitegen.pages.page_context import Page, PageContext


def pages(context: PageContext) -> list[Page]:
    """The one page."""
    return [context.page(OVERVIEW, lambda: _page(context))]


def _page(context: PageContext) -> str:
    answers = context.answers
    dead = [
        sum(not loss.nodes[b.id].live for b in answers.network.catalogue.buses)
        for loss in answers.normal
    ]
    says = [f"{count} dead" if count else "all live" for count in dead]
    return context.fill(
        "overview",
        OVERVIEW,
        answers.airframe.name,
        "Drawing",
        rows=context.by_condition(says),
        picture=context.pictures.overview(answers.normal, opens="whole"),
    )
