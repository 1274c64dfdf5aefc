"""The page of the whole drawing alone: every source, bus and feeder, in each condition."""

from __future__ import annotations

from sitegen.pages.links import OVERVIEW
from sitegen.pages.sheet import Page, Sheet


def pages(sheet: Sheet) -> list[Page]:
    """The one page."""
    return [sheet.page(OVERVIEW, lambda: _page(sheet))]


def _page(sheet: Sheet) -> str:
    answers = sheet.answers
    dead = [
        sum(not loss.nodes[b.id].live for b in answers.network.catalogue.buses)
        for loss in answers.normal
    ]
    says = [f"{count} dead" if count else "all live" for count in dead]
    return sheet.fill(
        "overview",
        OVERVIEW,
        answers.airframe.name,
        "Drawing",
        rows=sheet.by_condition(says),
        picture=sheet.pictures.overview(answers.normal, opens="whole"),
    )
