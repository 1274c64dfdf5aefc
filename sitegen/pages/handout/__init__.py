"""The handouts: what the site knows of an airframe, set for paper."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sitegen.catalogue.model import Handout
from sitegen.pages.handout.handout_context import Course, handouts
from sitegen.pages.handout.handout_parts import parts
from sitegen.pages.handout.internal_links import inward
from sitegen.pages.handout.page_setup import NAMES, paper_style
from sitegen.pages.links import handout_page
from sitegen.pages.page_context import PageContext, PageKind


def _values(context: PageContext, subject: tuple[int, Handout]) -> Mapping[str, Any]:
    course = Course(context, subject[1])
    found = parts(course)
    return {
        "paper": NAMES[course.paper],
        "paper_style": paper_style(course),
        "has_cover": "cover" in course.handout.sections,
        "parts": [
            (p, body) for p, body in zip(found, inward([p.body for p in found]), strict=True)
        ],
    }


PAGE: PageKind[tuple[int, Handout]] = PageKind(
    template="handout",
    # Without one in the catalogue, the usual parts.
    subjects=lambda context: enumerate(handouts(context.answers.network.catalogue)),
    path=lambda subject: handout_page(subject[1].id, subject[0]),
    title=lambda subject: subject[1].name,
    kind=lambda context, subject: "To print",
    values=_values,
)
