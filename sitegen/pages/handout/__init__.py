"""The handouts: what the site knows of an airframe, set for paper."""

from __future__ import annotations

from functools import partial

from sitegen.pages.handout.handout_context import Course, handouts
from sitegen.pages.handout.handout_parts import parts
from sitegen.pages.handout.internal_links import inward
from sitegen.pages.handout.page_setup import NAMES, paper_style
from sitegen.pages.links import handout_page
from sitegen.pages.page_context import Page, PageContext


def pages(context: PageContext) -> list[Page]:
    """A page for each handout of the airframe; without one in the catalogue, the usual parts."""
    return [
        context.page(
            handout_page(h.id, i), partial(_page, Course(context, h), handout_page(h.id, i))
        )
        for i, h in enumerate(handouts(context.answers.network.catalogue))
    ]


def _page(course: Course, path: str) -> str:
    found = parts(course)
    return course.context.fill(
        "handout",
        path,
        course.handout.name,
        "To print",
        paper=NAMES[course.paper],
        paper_style=paper_style(course),
        has_cover="cover" in course.handout.sections,
        parts=[(p, body) for p, body in zip(found, inward([p.body for p in found]), strict=True)],
    )
