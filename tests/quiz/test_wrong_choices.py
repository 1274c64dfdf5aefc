"""Wrong choices: certainly wrong, and as similar to the right one as the difficulty asks for."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.catalogue.model import Catalogue
from sitegen.catalogue.read import ReadResult
from sitegen.catalogue.record_locations import RecordLocations
from sitegen.quiz.facts import Facts
from sitegen.quiz.kinds import KINDS
from sitegen.quiz.question import Choice, Question
from sitegen.quiz.seeded_random import SeededRandom
from sitegen.quiz.wrong_choices import wrong_choices
from sitegen.solver.network import build
from tests.nets import expand

WORDS = ["one", "two", "three", "four", "five", "six", "seven", "eight"]
POOL = [Choice(word, {"at": k}) for k, word in enumerate(WORDS)]
SEEDS = [str(n) for n in range(12)]


def chosen(seed: str, near: bool, similar: Sequence[float]) -> list[int]:
    right = Choice("nothing", {})
    wrong = wrong_choices(SeededRandom(seed), right, POOL, near, lambda c: similar[c.means["at"]])
    assert wrong is not None
    return [c.means["at"] for c in wrong]


@pytest.mark.parametrize("seed", SEEDS)
def test_a_hard_question_has_the_most_similar_wrong_choices(seed: str) -> None:
    assert chosen(seed, True, [0, 5, 1, 7, 2, 6, 3, 4]) == [3, 5, 1]


@pytest.mark.parametrize("seed", SEEDS)
def test_an_easy_question_has_the_least_similar_wrong_choices(seed: str) -> None:
    assert chosen(seed, False, [0, 5, 1, 7, 2, 6, 3, 4]) == [0, 2, 4]


def test_among_equally_similar_ones_any_may_be_chosen() -> None:
    taken = {k for seed in SEEDS for k in chosen(seed, True, [1] * 8)}
    assert taken == set(range(8))


def test_what_reads_like_the_right_choice_or_like_another_is_chosen_once_at_most() -> None:
    same = [Choice(text, {}) for text in ("Left bus", "LEFT BUS", "Right bus", "right-bus", "Hot")]
    wrong = wrong_choices(SeededRandom("1"), Choice("left bus", {}), same, True, lambda _: 0)
    assert wrong is not None
    assert sorted(c.text.lower().replace("-", " ") for c in wrong) == ["hot", "right bus"]


def test_one_wrong_choice_is_too_few() -> None:
    assert wrong_choices(SeededRandom("1"), POOL[0], POOL[:2], True, lambda _: 0) is None
    assert wrong_choices(SeededRandom("1"), POOL[0], POOL[:3], True, lambda _: 0) is not None


def test_a_word_that_the_right_choice_shares_with_the_question_is_in_a_wrong_one_too() -> None:
    cabin, far = Choice("Cabin bus", {}), Choice("Cabin lights bus", {})
    pool = [far, *(Choice(f"{word} bus", {}) for word in ("Left", "Right", "Hot"))]
    text = "Cabin fan: on which bus?"
    wrong = wrong_choices(SeededRandom("1"), cabin, pool, True, lambda c: -(c is far), text)
    assert wrong is not None
    assert far in wrong
    assert wrong_choices(SeededRandom("1"), cabin, pool[1:], True, lambda _: 0, text) is None


# What similar means for each kind of question

TWO_SIDES = """
sources: {gen-1: 28, gen-2: 28}
buses: [bus-1, bus-2, bus-3, bus-4, bus-5]
feeders:
  - gen-1 > bus-1
  - gen-2 > bus-2
  - bus-1 > bus-3
  - bus-2 > bus-4
  - bus-2 > bus-5
"""
LEFT = {"left-pump": 28, "left-heater": 21, "left-horn": 31, "left-clock": 31, "left-lamp": 33}
RIGHT = {"right-pump": 28, "right-gauge": 34, "right-radio": 23, "right-fan": 25, "right-bell": 26}


@pytest.fixture(scope="module")
def facts() -> Facts:
    catalogue = expand(TWO_SIDES)
    for side, items in (("1", LEFT), ("2", RIGHT)):
        for column, (item, chapter) in enumerate(items.items(), 1):
            breaker = {"name": item.upper(), "amps": 5, "panel": f"wall-{side}", "at": f"A{column}"}
            catalogue["equipment"].append(
                {
                    "id": item,
                    "name": item.capitalize().replace("-", " "),
                    "ata": str(chapter),
                    "supplies": [{"bus": f"bus-{side}", "breaker": breaker}],
                }
            )
    catalogue["panels"] = [
        {"id": f"wall-{side}", "name": f"Wall {side}", "where": "here", "rows": ["A"], "columns": 5}
        for side in "12"
    ]
    reading = ReadResult(Catalogue.model_validate(catalogue), (), (), RecordLocations())
    network = build(reading.catalogue, "all")  # type: ignore[arg-type]
    return Facts(AirframeAnswers(reading, network), (network,))


def asked(facts: Facts, kind: str, key: str, near: bool) -> list[Question]:
    """The questions of many seeds about one subject."""
    [asks] = [k for k in KINDS if k.id == kind]
    [subject] = [s for s in asks.subjects(facts) if s.key.startswith(key)]
    made = [subject.make(SeededRandom(seed), near) for seed in SEEDS]
    assert all(made)
    return [q for q in made if q]


def wrong_of(question: Question, key: str) -> set[str]:
    return {c.means[key] for c in question.choices if c is not question.answer}


def test_near_places_are_the_neighbours_on_the_panel_and_far_ones_another_panel(
    facts: Facts,
) -> None:
    for question in asked(facts, "place", "left-heater", near=True):
        assert {"A1", "A3"} < wrong_of(question, "at") <= {"A1", "A3", "A4"}
        assert wrong_of(question, "panel") == {"wall-1"}
    for question in asked(facts, "place", "left-heater", near=False):
        assert wrong_of(question, "panel") == {"wall-2"}


def test_a_near_bus_has_the_pair_of_the_item_on_it(facts: Facts) -> None:
    for question in asked(facts, "bus", "left-pump", near=True):
        assert "bus-2" in wrong_of(question, "bus")
    for question in asked(facts, "bus", "left-pump", near=False):
        assert "bus-2" not in wrong_of(question, "bus")


def test_equipment_is_similar_by_bus_panel_chapter_and_pair(facts: Facts) -> None:
    assert facts.similarity("left-horn", "left-clock") == 3
    assert facts.similarity("left-horn", "left-lamp") == 2
    assert facts.similarity("left-pump", "right-pump") == 2
    assert facts.similarity("left-horn", "right-bell") == 0


def test_with_near_choices_what_still_works_and_what_is_lost_are_a_pair(facts: Facts) -> None:
    for question in asked(facts, "still-works", "flight bus-1:dead", near=True):
        assert question.answer.means["item"] == "right-pump"
        assert "left-pump" in wrong_of(question, "item")
    for question in asked(facts, "lost", "flight bus-1:dead", near=True):
        if question.answer.means["item"] == "left-pump":
            assert "right-pump" in wrong_of(question, "item")
