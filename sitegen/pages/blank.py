"""Diagrams to fill in with a pencil: names, amps or states left out, the key on its own sheet."""

from __future__ import annotations

from functools import partial
from typing import Any

from sitegen.diagram.drawing import Drawing
from sitegen.diagram.numbers import numbers
from sitegen.pages.links import BLANK, INDEX, blank_page, bus_page
from sitegen.pages.sheet import Page, Sheet
from sitegen.pages.views import Choice, ChoiceRow
from sitegen.pages.words import KINDS

BARE = "States left out"


def pages(sheet: Sheet) -> list[Page]:
    """The whole diagram, and a page for what feeds each bus."""
    catalogue = sheet.answers.network.catalogue
    whole = sheet.pictures.whole
    return [
        sheet.page(BLANK, partial(_page, sheet, BLANK, "Whole diagram", whole, INDEX)),
        *(
            sheet.page(
                blank_page(b.id),
                partial(
                    _page,
                    sheet,
                    blank_page(b.id),
                    b.name,
                    sheet.pictures.feeds[b.id,],
                    bus_page(b.id),
                ),
            )
            for b in catalogue.buses
        ),
    ]


def _page(sheet: Sheet, path: str, name: str, drawing: Drawing, back: str) -> str:
    conditions = [BARE, *(c.name for c in sheet.answers.conditions)]
    choices = tuple(Choice(i, says, "") for i, says in enumerate(conditions))
    buses = sheet.answers.network.catalogue.buses
    others = [(BLANK, "Whole diagram"), *((blank_page(b.id), b.name) for b in buses)]
    return sheet.fill(
        "blank",
        path,
        name,
        "To fill in",
        rows=[ChoiceRow("", choices)],
        svg=sheet.pictures.drawn(drawing, [None, *sheet.answers.normal], blank=True),
        lies=drawing.width > drawing.height,
        key=key_rows(sheet, drawing),
        back=back,
        other_drawings=[{"href": href, "name": n} for href, n in others if href != path],
    )


def key_rows(sheet: Sheet, drawing: Drawing) -> list[dict[str, Any]]:
    """What each number of a blank drawing stands for."""
    network = sheet.answers.network
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
