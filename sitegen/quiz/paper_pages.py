"""A paper as pages: to print, with the key on separate sheets, and to practise on a phone."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from markupsafe import Markup

from sitegen.pages.handout.page_setup import SIZES, quoted
from sitegen.pages.links import PRACTISE
from sitegen.pages.page_context import PageContext, PageKind, frame, one_page
from sitegen.pages.theme import fill, theme_text, with_policy
from sitegen.quiz.facts import Facts
from sitegen.quiz.kinds import QUICK_KINDS
from sitegen.quiz.paper import Paper, make_paper
from sitegen.quiz.question import letter
from sitegen.words import counted

SITE_SEED = "1"
SITE_COUNT = 24
"""Questions on a site's practice page; fewer if there are fewer."""


def paper_page(paper: Paper, size: str) -> str:
    """A paper to print: questions, then the key on a new sheet."""
    width, height = SIZES[size]
    values = {**_values(paper), "width": f"{width:g}", "height": f"{height:g}"}
    return with_policy(fill("quiz-paper", values))


def practise_page(paper: Paper) -> str:
    """One self-contained file to practise with."""
    return with_policy(fill("quiz-practise", {**_values(paper), "style": _file("style.css")}))


def _site_values(context: PageContext, subject: None) -> Mapping[str, Any]:
    facts = Facts(context.answers, (context.answers.network,))
    paper = make_paper(facts, SITE_COUNT, SITE_SEED, QUICK_KINDS, allow_fewer=True)
    return {
        "questions": questions_of(paper, linked=True),
        "conditions": paper.conditions,
        "count": counted(len(paper.questions), "question"),
        "view_style": _file("quiz.css"),
        "script": _file("quiz.js"),
    }


PRACTISE_PAGE: PageKind[None] = PageKind(
    template="quiz-site",
    subjects=one_page,
    path=lambda _: PRACTISE,
    title=lambda _: "Practise",
    kind=lambda context, _: "Questions and answers",
    values=_site_values,
)


def questions_of(paper: Paper, linked: bool) -> list[dict[str, Any]]:
    """The questions as values for a template."""
    return [
        {
            "number": number,
            "text": question.text,
            "choices": [
                {"letter": letter(k), "text": choice.text}
                for k, choice in enumerate(question.choices)
            ],
            "right": question.right,
            "letter": question.letter,
            "answer": question.answer.text,
            "reason": question.reason,
            "page": question.page.title,
            "href": question.page.file if linked else "",
        }
        for number, question in enumerate(paper.questions, 1)
    ]


def paper_frame(paper: Paper) -> dict[str, Any]:
    """The values that head every paper: aircraft, airframe, revision, caution."""
    network = paper.facts.network
    return {
        **frame(network.catalogue),
        "airframe": paper.facts.answers.airframe.name,
        "title": paper.title,
        "running": Markup(quoted(_running(paper))),
        "quiz_style": _file("palette.css") + _file("quiz.css"),
    }


def _values(paper: Paper) -> dict[str, Any]:
    return {
        **paper_frame(paper),
        "count": counted(len(paper.questions), "question"),
        "questions": questions_of(paper, linked=False),
        "conditions": paper.conditions,
        "script": _file("helpers.js") + _file("quiz.js"),
    }


def _running(paper: Paper) -> str:
    aircraft = paper.facts.network.catalogue.aircraft
    airframe = paper.facts.answers.airframe.name
    return f"{aircraft.name}, {airframe}, revision {aircraft.revision}. {paper.title}"


def _file(name: str) -> Markup:
    return Markup(theme_text(name))
