"""The handouts: the pages of an airframe set for paper."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sitegen.catalogue.model import Handout
from sitegen.pages.handout.handout_context import HandoutContext, handouts
from sitegen.pages.handout.handout_parts import parts
from sitegen.pages.handout.page_setup import NAMES, paper_style
from sitegen.pages.links import handout_page
from sitegen.pages.page_context import PageContext, PageKind


def _values(context: PageContext, subject: tuple[int, Handout]) -> Mapping[str, Any]:
    handout = HandoutContext(context, subject[1])
    return {
        "paper": NAMES[handout.paper],
        "paper_style": paper_style(handout),
        "has_cover": "cover" in handout.record.sections,
        "parts": parts(handout),
        "explained": () if handout.explains else handout.explained_conditions,
    }


PAGE: PageKind[tuple[int, Handout]] = PageKind(
    template="handout",
    # Without one in the catalogue, the default one.
    subjects=lambda context: enumerate(handouts(context.answers.network.catalogue)),
    path=lambda subject: handout_page(subject[1].id, subject[0]),
    title=lambda subject: subject[1].name,
    kind=lambda context, subject: "To print",
    values=_values,
)
