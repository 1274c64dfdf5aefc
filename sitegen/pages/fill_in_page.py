"""Diagrams to fill in with a pencil: names, amps or states left out, the key on its own sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sitegen.catalogue.kinds import KINDS
from sitegen.diagram.drawing import Drawing
from sitegen.diagram.numbering import numbers
from sitegen.pages.links import BLANK, INDEX, blank_page, bus_page
from sitegen.pages.page_context import PageContext, PageKind
from sitegen.pages.views import Choice, ChoiceRow
from sitegen.quantities import NO_BREAK

BARE = "States left out"


@dataclass(frozen=True)
class Sheet:
    """One diagram to fill in."""

    path: str
    name: str
    bus: str
    """The bus whose feed it shows; empty for the whole wiring."""
    back: str
    """The page that shows it filled in."""


def _sheets(context: PageContext) -> list[Sheet]:
    """The whole diagram, and what feeds each bus."""
    buses = context.answers.network.catalogue.buses
    return [
        Sheet(BLANK, "Whole diagram", "", INDEX),
        *(Sheet(blank_page(b.id), b.name, b.id, bus_page(b.id)) for b in buses),
    ]


def _values(context: PageContext, sheet: Sheet) -> Mapping[str, Any]:
    conditions = [BARE, *(c.name for c in context.answers.conditions)]
    drawings = context.drawings
    drawing = drawings.feeds[sheet.bus] if sheet.bus else drawings.whole
    return {
        "rows": [ChoiceRow("", tuple(Choice(i, c, "") for i, c in enumerate(conditions)))],
        "svg": drawings.drawn(drawing, [None, *context.answers.normal], blank=True),
        "lies": drawing.width > drawing.height,
        "key": key_rows(context, drawing),
        "back": sheet.back,
        "other_drawings": [
            {"href": other.path, "name": other.name}
            for other in _sheets(context)
            if other.path != sheet.path
        ],
    }


def key_rows(context: PageContext, drawing: Drawing) -> list[dict[str, Any]]:
    """What each number of a blank drawing means."""
    network = context.answers.network
    rows = []
    for part, number in numbers(drawing).items():
        known = network.components[part]
        source = network.sources.get(part)
        rating = NO_BREAK.rated(known.amps)
        if source:
            rating = ", ".join(
                filter(None, (NO_BREAK.volts(source.volts), NO_BREAK.rated(source.amps)))
            )
        rows.append(
            {
                "number": number,
                "id": part,
                "name": known.name,
                "kind": KINDS[known.kind].noun.lower(),
                "rating": rating,
                "place": network.positions[part],
            }
        )
    return rows


PAGE: PageKind[Sheet] = PageKind(
    template="fill-in",
    subjects=_sheets,
    path=lambda sheet: sheet.path,
    title=lambda sheet: sheet.name,
    kind=lambda context, sheet: "To fill in",
    values=_values,
)
