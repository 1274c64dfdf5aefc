"""Cards to cut out: each question once on a front and once on the back of that front."""

from __future__ import annotations

import re

import pytest

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.catalogue.read import read
from sitegen.quiz.facts import Facts
from sitegen.quiz.kinds import ask_bus
from sitegen.quiz.paper import Paper, make_paper
from sitegen.quiz.printed_cards import ACROSS, DOWN, cards_page
from sitegen.resources import demo_catalogue
from sitegen.solver.network import build


@pytest.fixture(scope="module")
def paper() -> Paper:
    """Questions for a full sheet of cards and three more."""
    reading = read(demo_catalogue())
    assert reading.catalogue is not None
    network = build(reading.catalogue, "block-1")
    facts = Facts(AirframeAnswers(reading, network), (network,))
    return make_paper(facts, ACROSS * DOWN + 3, "1", [ask_bus.KIND])


def cards(paper: Paper, side: str) -> list[list[str]]:
    """By sheet the numbers on its fronts or backs, in rows; blank where there is no card."""
    page = cards_page(paper, "a4")
    sheets = re.findall(rf'<section[^>]*data-side="{side}">(.*?)</section>', page, re.S)
    return [
        [
            "".join(re.findall(r'<p class="of">(\d+)/11</p>', card))
            for card in re.findall(r"<article.*?</article>", sheet, re.S)
        ]
        for sheet in sheets
    ]


def test_every_question_is_on_one_front_and_one_back(paper: Paper) -> None:
    for side in ("front", "back"):
        numbers = [n for sheet in cards(paper, side) for n in sheet if n]
        assert sorted(numbers, key=int) == [str(n) for n in range(1, 12)]


def test_a_sheet_flipped_on_its_long_edge_has_each_answer_behind_its_question(
    paper: Paper,
) -> None:
    assert cards(paper, "front") == [
        ["1", "2", "3", "4", "5", "6", "7", "8"],
        ["9", "10", "11", "", "", "", "", ""],
    ]
    assert cards(paper, "back") == [
        ["2", "1", "4", "3", "6", "5", "8", "7"],
        ["10", "9", "", "11", "", "", "", ""],
    ]


def test_a_front_has_its_question_and_the_back_its_answer(paper: Paper) -> None:
    page = cards_page(paper, "a4")
    for question in paper.questions:
        assert page.count(f'<p class="text">{question.text}</p>') == 1
    backs = re.findall(r'<p class="text"><span class="abc">(\w)</span> (.*?)</p>', page)
    assert sorted(backs) == sorted((q.letter, q.answer.text) for q in paper.questions)
