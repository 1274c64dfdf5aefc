"""The front pages: of the site, where the airframe is chosen, and of each airframe."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sitegen.catalogue.model import Airframe, Catalogue
from sitegen.pages.author_text import prose
from sitegen.pages.links import (
    A_TO_Z,
    AUDIT,
    BOARD,
    BUSES,
    CHANGES,
    CONDITIONS,
    DIAGNOSE,
    FAILURES,
    FUNCTIONS,
    INDEX,
    LOADS,
    NOTES,
    PANELS,
    PAPER,
    PRACTISE,
    PROTECTION,
    WHICH,
    differences_page,
)
from sitegen.pages.page_context import Page, PageContext, PageKind, frame
from sitegen.pages.theme import fill
from sitegen.words import counted


def fleet_page(catalogue: Catalogue, shares: Sequence[tuple[Airframe, str, str]]) -> Page:
    """The front page of the site.

    Parameters
    ----------
    catalogue : the whole fleet's.
    shares : each airframe with a line about what is fitted to it, and the older revision since
        which its changes have a page, or empty.
    """

    def make() -> str:
        return fill(
            "fleet",
            {
                **frame(catalogue),
                "top": "",
                "airframe": "",
                "title": catalogue.aircraft.name,
                "kind": catalogue.aircraft.title,
                "others": [],
                "rows": [],
                "view_count": 0,
                "since": "",
                "revised_page": "",
                "statement_text": prose(catalogue.aircraft.statement, _no_page),
                "airframes": [
                    {
                        "href": f"{a.id}/{INDEX}",
                        "name": a.name,
                        "note": prose(a.note, _no_page),
                        "share": share,
                        "changes": f"{a.id}/{CHANGES}" if since else "",
                        "since": since,
                    }
                    for a, share, since in shares
                ],
            },
        )

    return Page(INDEX, make)


def _no_page(_: str) -> None:
    """The page of all airframes has no link to what one of them has: its id names no one page."""


def questions(context: PageContext) -> list[tuple[str, str, str]]:
    """What a person comes for: each page with its title here, and a few words about it."""
    answers = context.answers
    catalogue = answers.network.catalogue
    return [
        (
            FAILURES,
            "What do I lose?",
            counted(len(answers.paged) + len(catalogue.failures), "failure"),
        ),
        (DIAGNOSE, "What failed?", "from what you see"),
        (BOARD, "Board", "any combination"),
        (BUSES, "Buses", counted(len(catalogue.buses), "bus", "buses")),
    ]


def other_pages(context: PageContext) -> list[tuple[str, str, str]]:
    """The same of every other page that is not about one thing alone."""
    answers = context.answers
    catalogue = answers.network.catalogue
    since = context.revision.since if context.revision else ""
    more = [
        (CHANGES, "Changes", f"since {since}"),
        (LOADS, "Loads", "amps on sources and buses"),
        (FUNCTIONS, "Functions", f"{len(catalogue.functions)}, and what each needs"),
        (AUDIT, "Single failures", "what one of them takes"),
        (WHICH, "Which one failed?", "a table, for paper too"),
        (PANELS, "Panels", "every breaker in its place"),
        (PROTECTION, "Protection", "breakers, fuses, links"),
        (PRACTISE, "Practise", "questions with answers"),
        (PAPER, "On paper", "handouts, diagrams to fill in"),
        *((differences_page(a.id), a.name, "how they differ") for a in context.compared),
        (NOTES, "Notes", counted(len(answers.reading.notes), "text")),
        (CONDITIONS, "Conditions", "and what answers assume"),
        (A_TO_Z, "A to Z", "every name"),
    ]
    return [entry for entry in more if context.has(entry[0])]


def _values(context: PageContext, airframe: Airframe) -> Mapping[str, Any]:
    return {
        "rows": context.by_condition([""] * len(context.answers.conditions)),
        "first": questions(context),
        "more": other_pages(context),
        "drawing": context.drawings.live(),
    }


PAGE: PageKind[Airframe] = PageKind(
    template="front",
    subjects=lambda context: [context.answers.airframe],
    path=lambda airframe: INDEX,
    title=lambda airframe: airframe.name,
    kind=lambda context, airframe: context.answers.network.catalogue.aircraft.title,
    values=_values,
)
