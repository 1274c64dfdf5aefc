"""Diagrams to fill in, each with its key on a sheet of its own."""

from __future__ import annotations

from typing import Any

from sitegen.pages.fill_in_page import key_rows
from sitegen.pages.handout.handout_context import Course
from sitegen.pages.handout.page_setup import drawn_height, lies


def diagram(course: Course) -> dict[str, Any]:
    """The whole drawing, without what the author leaves out."""
    pictures, paper = course.context.pictures, course.paper
    whole = pictures.whole
    return {
        "wide": lies(whole.width, whole.height, paper),
        "height": f"{drawn_height(whole.width, whole.height, paper):.1f}",
        **_shared(course),
        "svg": pictures.drawn(whole, _losses(course), blank=True),
        "key": key_rows(course.context, whole),
    }


def buses(course: Course) -> dict[str, Any]:
    """What feeds each bus, without what the author leaves out; the keys follow together."""
    pictures = course.context.pictures
    losses = _losses(course)
    return {
        **_shared(course),
        "buses": [
            {
                "name": bus.name,
                "number": course.numbered("blank-buses", k),
                "svg": pictures.drawn(pictures.feeds[bus.id,], losses, blank=True),
                "key": key_rows(course.context, pictures.feeds[bus.id,]),
            }
            for k, bus in enumerate(course.context.answers.network.catalogue.buses, 1)
        ],
    }


def _losses(course: Course) -> list[Any]:
    if "states" in course.handout.leave_out:
        return [None]
    return [course.context.answers.normal[course.conditions[0]]]


def _shared(course: Course) -> dict[str, Any]:
    left_out = course.handout.leave_out
    return {
        "leaves_out": " ".join(f"without-{what}" for what in left_out),
        "condition": course.condition_names[course.conditions[0]],
        "ask": [w for w in ("names", "amps", "states") if w in left_out],
    }
