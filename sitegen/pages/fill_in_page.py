"""Diagrams to fill in with a pencil: names, amps or states left out, the key on its own sheet."""

from __future__ import annotations

from functools import partial
from typing import Any

from sitegen.diagram.drawing import Drawing
from sitegen.diagram.numbering import numbers
from sitegen.pages.links import BLANK, INDEX, blank_page, bus_page
from sitegen.pages.page_context import Page, PageContext
from sitegen.pages.views import Choice, ChoiceRow
from sitegen.words import KINDS

BARE = "States left out"


def pages(context: PageContext) -> list[Page]:
    """The whole diagram, and a page for what feeds each bus."""
    catalogue = context.answers.network.catalogue
    whole = context.pictures.whole
    return [
        context.page(BLANK, partial(_page, context, BLANK, "Whole diagram", whole, INDEX)),
        *(
            context.page(
                blank_page(b.id),
                partial(
                    _page,
                    context,
                    blank_page(b.id),
                    b.name,
                    context.pictures.feeds[b.id,],
                    bus_page(b.id),
                ),
            )
            for b in catalogue.buses
        ),
    ]


def _page(context: PageContext, path: str, name: str, drawing: Drawing, back: str) -> str:
    conditions = [BARE, *(c.name for c in context.answers.conditions)]
    choices = tuple(Choice(i, says, "") for i, says in enumerate(conditions))
    buses = context.answers.network.catalogue.buses
    others = [(BLANK, "Whole diagram"), *((blank_page(b.id), b.name) for b in buses)]
    return context.fill(
        "blank",
        path,
        name,
        "To fill in",
        rows=[ChoiceRow("", choices)],
        svg=context.pictures.drawn(drawing, [None, *context.answers.normal], blank=True),
        lies=drawing.width > drawing.height,
        key=key_rows(context, drawing),
        back=back,
        other_drawings=[{"href": href, "name": n} for href, n in others if href != path],
    )


def key_rows(context: PageContext, drawing: Drawing) -> list[dict[str, Any]]:
    """What each number of a blank drawing stands for."""
    network = context.answers.network
    rows = []
    for part, number in numbers(drawing).items():
        known = network.components[part]
        source = network.sources.get(part)
        rating = f"{known.amps:g}\u00a0A" if known.amps else ""
        if source:
            rating = f"{source.volts:g}\u00a0V" + (
                f", {source.amps:g}\u00a0A" if source.amps else ""
            )
        panel = network.panel_names.get(known.panel or "", "")
        rows.append(
            {
                "number": number,
                "name": known.name,
                "kind": KINDS[known.kind].lower(),
                "rating": rating,
                "place": f"{panel} {known.at}".strip() if known.at else "",
            }
        )
    return rows
