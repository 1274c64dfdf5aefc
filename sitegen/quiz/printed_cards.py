"""Cards to cut out: a question on the front, its answer on the back.

Sheets of fronts and of backs alternate. A sheet of backs mirrors its fronts, so that a printer that
flips sheets on the long edge prints every back on its front. All cards have one size on either
paper and are centred on the sheet, where both sides match.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

from sitegen.pages.handout.page_setup import SIZES
from sitegen.pages.theme import fill, with_policy
from sitegen.quiz.paper import Paper
from sitegen.quiz.paper_pages import paper_frame, questions_of

ACROSS, DOWN = 2, 4
WIDTH, HEIGHT = 95.0, 62.0
"""One card, mm."""
MARK, MARK_APART, CROSS = 3.0, 1.5, 1.5
"""A cut mark's length, how far from the cards it begins, and half a cross between cards, mm."""
ROOM = 46.0
"""Height available for lines, mm: a card without its edges, its number and its gaps."""


TEXT_SIZES = (
    ("", (35, 4.8), (38, 4.9)),
    ("full", (40, 4.3), (43, 4.5)),
    ("very-full", (48, 3.5), (49, 3.9)),
)
"""The text sizes of a side, the largest first; the last is used even if its text does not fit.

Name (`quiz.css` has the sizes); of the question or answer, then of the choices or reason: the wide
letters in a line, and the line height, mm.
"""

Side = tuple[str, list[dict[str, Any] | None], bool]
"""`front` or `back`; the cards in rows from the top left, None for an empty place; whether it is
the last sheet."""


def cards_page(paper: Paper, size: str) -> str:
    """The sheets of cards, to be printed on both sides."""
    width, height = SIZES[size]
    left, top = (width - ACROSS * WIDTH) / 2, (height - DOWN * HEIGHT) / 2
    page = fill(
        "quiz-cards",
        {
            **paper_frame(paper),
            "sides": _sides(_cards(paper)),
            "marks": [f"{a:g} {b:g}L{c:g} {d:g}" for a, b, c, d in _marks(left, top)],
            "width": f"{width:g}",
            "height": f"{height:g}",
            "left": f"{left:g}",
            "top_margin": f"{top:g}",
            "card_width": f"{WIDTH:g}",
            "card_height": f"{HEIGHT:g}",
            "across": ACROSS,
        },
    )
    return with_policy(page)


def mirrored(cards: Sequence[Any]) -> list[Any]:
    """The cards of a sheet as they are after it is flipped on its long edge.

    >>> mirrored([1, 2, 3, 4])
    [2, 1, 4, 3]
    """
    return [card for k in range(0, len(cards), ACROSS) for card in reversed(cards[k : k + ACROSS])]


def _cards(paper: Paper) -> list[dict[str, Any]]:
    total = len(paper.questions)
    cards = questions_of(paper, linked=False)
    for card in cards:
        card["of"] = f"{card['number']}/{total}"
    # Questions name a condition and no more: each has a card that says what it is.
    for name, explained, _ in paper.conditions:
        front = f"{name}: what is on line, and how are the switches set?"
        back = {"letter": "", "answer": name, "reason": explained, "page": "the front page"}
        cards.append({"of": "Condition", "text": front, "choices": [], **back})
    for card in cards:
        card["front_size"] = _text_size(card["text"], [c["text"] for c in card["choices"]])
        card["back_size"] = _text_size(card["answer"], [card["reason"], card["page"]])
    return cards


def _text_size(head: str, rest: Sequence[str]) -> str:
    """The name of the largest text size in which a side's texts fit."""
    fitting = (
        name
        for name, of_head, of_rest in TEXT_SIZES
        if _height(head, *of_head) + sum(_height(text, *of_rest) for text in rest) <= ROOM
    )
    return next(fitting, TEXT_SIZES[-1][0])


def _height(text: str, characters: int, line: float) -> float:
    return len(textwrap.wrap(text, characters)) * line


def _sides(cards: list[dict[str, Any]]) -> list[Side]:
    on_a_sheet = ACROSS * DOWN
    sides: list[Side] = []
    for start in range(0, len(cards), on_a_sheet):
        sheet: list[dict[str, Any] | None] = [*cards[start : start + on_a_sheet]]
        sheet += [None] * (on_a_sheet - len(sheet))
        last = start + on_a_sheet >= len(cards)
        sides.append(("front", sheet, False))
        sides.append(("back", mirrored(sheet), last))
    return sides


def _marks(left: float, top: float) -> list[tuple[float, float, float, float]]:
    """Cut marks at every edge of the cards, and crosses between: (x1, y1, x2, y2), mm."""
    right, bottom = left + ACROSS * WIDTH, top + DOWN * HEIGHT
    near, far = MARK_APART, MARK_APART + MARK
    marks = []
    for k in range(ACROSS + 1):
        x = left + k * WIDTH
        marks += [(x, top - far, x, top - near), (x, bottom + near, x, bottom + far)]
    for k in range(DOWN + 1):
        y = top + k * HEIGHT
        marks += [(left - far, y, left - near, y), (right + near, y, right + far, y)]
    for k in range(1, ACROSS):
        for n in range(1, DOWN):
            x, y = left + k * WIDTH, top + n * HEIGHT
            marks += [(x - CROSS, y, x + CROSS, y), (x, y - CROSS, x, y + CROSS)]
    return marks
