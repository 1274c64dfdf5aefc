"""Where an answer depends on a condition, what is on line and how it is set can be read."""

from __future__ import annotations

import re
from typing import Any

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.output.site import build_site
from sitegen.quiz.facts import Facts
from sitegen.quiz.paper import make_paper
from sitegen.quiz.paper_pages import paper_page, practise_page
from sitegen.quiz.printed_cards import cards_page
from sitegen.quiz.quiz_text import quiz_json, quiz_text
from sitegen.terminal.shared_text import condition_text
from tests.nets import network
from tests.pages.pages_sample import context_of, reading, sample

FLIGHT = "On line: Generator 1, Generator 2 and Battery. Switches: Generator 1 and Battery: on."
PARKED = "On line: Battery. Switches: Battery: on; all others: off."


def catalogue(**more: Any) -> dict[str, Any]:
    changed = sample() | more
    changed["conditions"][1]["note"] = "Doors open, nobody on board."
    return changed


def words(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def test_a_condition_in_words_has_what_is_pulled_and_what_is_held() -> None:
    net = network(
        """
        sources: {gen: 28, bat: {kind: battery, volts: 24}}
        buses: [main]
        devices: {cb: breaker, k: {kind: contactor, closes-when: {live: [main], closed: [k]}}}
        feeders: [gen > cb > main, bat > k > main]
        switches: {tie: [auto, "off"], lamp: ["off", "on"]}
        conditions: {flight: {sources: [gen], pulled: [cb], held-closed: [k]}, dark: {sources: []}}
        """
    )
    flight, dark = net.catalogue.conditions
    assert condition_text(net, flight) == (
        "On line: gen. Switches: all: auto or off. Pulled: cb. Held closed: k."
    )
    assert condition_text(net, dark) == "On line: no source. Switches: all: auto or off."


def test_a_page_and_every_handout_explain_the_conditions() -> None:
    handouts = [
        {"id": "card", "name": "Card", "sections": ["failures"], "conditions": ["parked"]},
        {"id": "course", "name": "Course", "sections": ["cover", "failures"]},
    ]
    files = dict(build_site(reading(catalogue(handout=handouts))).files)
    page = words(str(files["early/conditions.html"]))
    assert FLIGHT in page
    assert f"Doors open, nobody on board. How it is set {PARKED}" in page
    card, course = (words(str(files[f"early/handout{n}.html"])) for n in ("", "-course"))
    assert f"Doors open, nobody on board. {PARKED}" in card
    assert FLIGHT not in card
    assert FLIGHT in course


def test_questions_come_with_the_conditions_that_they_name() -> None:
    written = catalogue()
    net = context_of(written).answers.network
    facts = Facts(AirframeAnswers(reading(written), net), (net,))
    paper = make_paper(facts, 200, "1", allow_fewer=True)
    for text in (
        words(paper_page(paper, "a4")),
        words(practise_page(paper)),
        words("\n".join(quiz_text(paper))),
    ):
        assert FLIGHT in text
        assert f"{PARKED} Doors open, nobody on board." in text
    assert PARKED in words(cards_page(paper, "a4"))
    assert quiz_json(paper)["conditions"] == {"Flight": FLIGHT, "Parked on battery": PARKED}
    only = make_paper(Facts(facts.answers, (net,), "flight"), 200, "1", allow_fewer=True)
    assert PARKED not in words(paper_page(only, "a4"))
