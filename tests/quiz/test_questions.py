"""Every question has one right choice, by the plain solver.

The suite asks 336 questions, of every kind, difficulty and airframe; `SITEGEN_SAMPLES=full` asks
5,040 (`tests/samples.py`).
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from copy import deepcopy
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.answers.drop import drop
from sitegen.catalogue.model import Catalogue
from sitegen.catalogue.read import ReadResult, read
from sitegen.catalogue.record_locations import RecordLocations
from sitegen.quiz.difficulty import DIFFICULTIES
from sitegen.quiz.facts import Facts
from sitegen.quiz.kinds import KINDS
from sitegen.quiz.paper import Paper, TooFew, make_paper
from sitegen.quiz.question import Choice
from sitegen.quiz.question_wording import why_comes_on
from sitegen.quiz.quiz_text import question_json, quiz_json
from sitegen.quiz.seeded_random import SeededRandom
from sitegen.quiz.wrong_choices import gives_away
from sitegen.solver.network import Network, build
from tests.nets import expand
from tests.nets import network as built
from tests.quiz.checker import Checker, words
from tests.random_nets import Raw, catalogues
from tests.samples import sample_size, thorough

DEMO = Path(__file__).parents[2] / "data" / "tarn-19"
A_PAPER = sample_size(560)
SEEDS = ("1", "2", "3") if A_PAPER == 560 else ("1",)


def demo_as_written() -> Raw:
    """The demo's sections as YAML gives them, from all its files."""
    sections: Raw = {}
    for path in sorted(DEMO.glob("*.yaml")):
        for name, written in yaml.safe_load(path.read_text(encoding="utf-8")).items():
            if isinstance(written, list):
                sections.setdefault(name, []).extend(written)
            else:
                sections[name] = written
    return sections


@pytest.fixture(scope="module")
def checker() -> Checker:
    return Checker(demo_as_written())


def fleet(reading: ReadResult) -> tuple[Network, ...]:
    assert reading.catalogue is not None
    return tuple(build(reading.catalogue, a.id) for a in reading.catalogue.airframes)


@pytest.fixture(scope="module")
def demo() -> dict[str, Facts]:
    reading = read(DEMO)
    networks = fleet(reading)
    return {n.airframe: Facts(AirframeAnswers(reading, n), networks) for n in networks}


@pytest.fixture(scope="module")
def papers(demo: dict[str, Facts]) -> dict[tuple[str, str], Paper]:
    """Questions about each of the demo's airframes."""
    return {
        (airframe, seed): make_paper(facts, A_PAPER, seed)
        for airframe, facts in demo.items()
        for seed in SEEDS
    }


def test_one_choice_of_each_question_is_right_and_the_others_are_wrong(
    papers: dict[tuple[str, str], Paper], checker: Checker
) -> None:
    for (airframe, _), paper in papers.items():
        assert len(paper.questions) == A_PAPER
        for question in quiz_json(paper)["questions"]:
            checker.check(airframe, question)


def test_every_kind_is_asked_in_every_difficulty_on_every_airframe(
    papers: dict[tuple[str, str], Paper],
) -> None:
    every = {(kind.id, difficulty) for kind in KINDS for difficulty in DIFFICULTIES}
    for paper in papers.values():
        asked = {(q.kind, q.difficulty) for q in paper.questions}
        # No battery question is easy: the first condition has the generators on line. Little comes
        # on in a condition in which nearly everything works.
        assert asked >= every - {("minutes", "easy"), ("comes-on", "easy")}


def test_no_question_is_in_a_paper_twice(papers: dict[tuple[str, str], Paper]) -> None:
    for paper in papers.values():
        texts = [words(q.text) for q in paper.questions]
        assert len(set(texts)) == len(texts)


def test_no_question_contains_its_answer(papers: dict[tuple[str, str], Paper]) -> None:
    for paper in papers.values():
        for question in paper.questions:
            for name in (question.answer.text, *question.answer.names):
                assert words(name) not in words(question.text), question.text


def test_every_page_to_read_is_a_page_of_the_site(
    demo: dict[str, Facts], papers: dict[tuple[str, str], Paper]
) -> None:
    for (airframe, _), paper in papers.items():
        c = demo[airframe].network.catalogue
        failing = (*c.sources, *c.buses, *c.devices)
        pages = {
            "which-failed.html",
            "loads.html",
            *(f"failure-{r.id}.html" for r in failing),
            *(f"named-failure-{f.id}.html" for f in c.failures),
            *(f"equipment-{e.id}.html" for e in c.equipment),
            *(f"function-{f.id}.html" for f in c.functions),
            *(f"bus-{b.id}.html" for b in c.buses),
        }
        assert {q.page.file for q in paper.questions} <= pages


def test_reasons_and_questions_are_one_line_each(papers: dict[tuple[str, str], Paper]) -> None:
    for paper in papers.values():
        for question in paper.questions:
            assert "\n" not in question.text + question.reason
            assert question.text.endswith("?")
            assert question.reason.endswith(".")
            assert "  " not in question.text + question.reason


@pytest.mark.parametrize("difficulty", DIFFICULTIES)
def test_a_paper_of_one_difficulty_has_no_other(demo: dict[str, Facts], difficulty: str) -> None:
    paper = make_paper(demo["block-2"], 40, "1", difficulty=difficulty)
    assert {q.difficulty for q in paper.questions} == {difficulty}


def test_easy_questions_about_failures_are_of_one_failure_in_the_first_condition(
    demo: dict[str, Facts],
) -> None:
    for question in make_paper(demo["block-3"], 80, "1", difficulty="easy").questions:
        asks = question.asks
        assert asks.get("condition", "cruise") == "cruise", question.text
        assert len(asks.get("failed", [0])) == 1, question.text
        assert not asks.get("crew-has-acted"), question.text


@pytest.mark.parametrize("condition", ["approach", "battery-only"])
def test_a_condition_that_is_asked_for_is_the_only_one(
    demo: dict[str, Facts], condition: str
) -> None:
    whole = demo["block-2"]
    paper = make_paper(Facts(whole.answers, whole.fleet, condition), 60, "1")
    named = {q.asks["condition"] for q in paper.questions if "condition" in q.asks}
    assert named == {condition}


def test_a_request_for_too_many_questions_says_how_many_there_are(demo: dict[str, Facts]) -> None:
    [bus] = [k for k in KINDS if k.id == "bus"]
    with pytest.raises(TooFew, match=r"there are only (\d+)\.") as refused:
        make_paper(demo["block-1"], 5000, "1", [bus])
    there = int(str(refused.value).split()[-1].rstrip("."))
    assert len(make_paper(demo["block-1"], there, "1", [bus]).questions) == there
    with pytest.raises(TooFew):
        make_paper(demo["block-1"], there + 1, "1", [bus])


def test_another_seed_is_another_paper(demo: dict[str, Facts]) -> None:
    one, other = (make_paper(demo["block-1"], 40, seed).questions for seed in "12")
    assert len({q.text for q in one} & {q.text for q in other}) < 20


def test_the_same_seed_gives_the_same_paper_whatever_the_order_of_hashes(tmp_path: Path) -> None:
    written = []
    for hashing in ("1", "2"):
        files = [tmp_path / f"{name}-{hashing}.html" for name in ("paper", "practise", "cards")]
        command = [sys.executable, "-m", "sitegen", "quiz", "--count", "27", "--json"]
        command += ["--paper", files[0], "--practise", files[1], "--cards", files[2]]
        environment = {**os.environ, "PYTHONHASHSEED": hashing}
        done = subprocess.run(command, env=environment, capture_output=True, check=True)
        written.append((done.stdout, *(f.read_bytes() for f in files)))
    assert written[0] == written[1]


@pytest.mark.parametrize("kind", ["still-works", "lost"])
def test_what_the_crew_has_turned_off_is_no_choice_once_it_has_acted(
    demo: dict[str, Facts], checker: Checker, kind: str
) -> None:
    [asked] = [k for k in KINDS if k.id == kind]
    for airframe, facts in demo.items():
        acted = {case.key for case in facts.named if case.acted}
        for subject in asked.subjects(facts):
            if subject.key in acted:
                for number in range(6):
                    made = subject.make(SeededRandom(str(number)), bool(number % 2))
                    if made is not None:
                        checker.check(airframe, question_json(replace(made, kind=kind)))


RELAY_STICKS = """
sources: {bat: {kind: battery, volts: 24}}
buses: [hot, essential, aft]
devices: {k: {kind: relay, closes-when: {switches: {battery-switch: "on"}}}}
feeders: [bat > hot, hot > k > essential]
equipment: {clock: hot, alarm: hot, cabin: {supplies: [{bus: hot}], requires: [radio]},
            radio: essential, lamp: essential, pump: {supplies: [{bus: essential}]},
            heater: {supplies: [{bus: essential}], requires: [stove]}, stove: aft, oven: aft}
switches: {battery-switch: ["off", "on"]}
"""


def facts_of(catalogue: Raw) -> Facts:
    reading = ReadResult(Catalogue.model_validate(catalogue), (), (), RecordLocations())
    networks = fleet(reading)
    return Facts(AirframeAnswers(reading, networks[0]), networks)


def test_what_comes_on_is_asked_and_never_counted_as_lost_or_as_still_working() -> None:
    catalogue = expand(RELAY_STICKS)
    facts, checker = facts_of(catalogue), Checker(catalogue)
    [comes_on] = [k for k in KINDS if k.id == "comes-on"]
    asked = [q for s in comes_on.subjects(facts) for q in [s.make(SeededRandom("1"), True)] if q]
    assert {q.answer.text for q in asked} <= {"radio", "lamp", "pump", "cabin"}
    for question in asked:
        checker.check("all", question_json(replace(question, kind="comes-on")))
        assert {c.text for c in question.choices} - {question.answer.text} <= {
            "heater",
            "stove",
            "oven",
        }
        assert "k stuck closed" in question.text
        assert question.reason in (
            "It is on essential, now live.",
            "It had power, and depends on radio.",
        )
    assert asked
    assert not [s for k in ("lost", "still-works") for s in _subjects(facts, k) if "k:" in s]


def test_what_had_power_all_along_comes_on_because_of_what_it_depends_on() -> None:
    """A second supply comes live with it; the first has had power throughout."""
    net = built("""
sources: {gen: 28}
buses: [main, side]
switches: {sw: ["off", "on"]}
devices: {k: {kind: relay, closes-when: {switches: {sw: "on"}}}}
feeders: [gen > main, main > k > side]
equipment:
  computer: side
  pointer: {supplies: [{bus: main}, {bus: side}], requires: [computer]}
conditions: {flight: {sources: [gen]}}
""")
    normal, stuck = drop(net, "flight", []), drop(net, "flight", [("k", "stuck-closed")])
    assert stuck.comes_on == ("computer", "pointer")
    assert why_comes_on(net, stuck, normal, "pointer") == "It had power, and depends on computer."
    assert why_comes_on(net, stuck, normal, "computer") == "It is on side, now live."


def _subjects(facts: Facts, kind: str) -> list[str]:
    return [s.key for k in KINDS if k.id == kind for s in k.subjects(facts)]


TWO_AC_SOURCES = """
sources:
  gen-1: {kind: generator, volts: 115, current: ac}
  gen-2: {kind: generator, volts: 115, current: ac}
  gen-3: 28
buses: [left, right, main]
devices:
  k-1: {kind: contactor, closes-when: {live: [gen-1]}}
  k-2: {kind: contactor, closes-when: {live: [gen-2]}}
  tie: {kind: contactor, closes-when: [{dead: [gen-1]}, {dead: [gen-2]}]}
  k-3: {kind: contactor, closes-when: {open: [tie]}}
feeders: [gen-1 > k-1 > left, gen-2 > k-2 > right, left > tie > right, gen-3 > k-3 > main]
equipment: {fan: left, pump: right, light: right, radio: main, lamp: main, bell: main}
functions: {air: {provided-by: [fan, pump], need: 2}, talk: {provided-by: [radio]}}
"""


def test_nothing_is_asked_of_a_failure_after_which_it_is_not_known_what_works() -> None:
    def shut(text: str) -> list[str]:
        """The subjects with the tie failed closed, which takes what is on the main bus."""
        facts = facts_of(expand(text))
        kinds = ("lost", "still-works", "function", "cause")
        return [s for k in kinds for s in _subjects(facts, k) if "tie:stuck-closed" in s]

    assert shut(TWO_AC_SOURCES.replace("current: ac", "current: ac, synchronised: bus"))
    assert not shut(TWO_AC_SOURCES)


DROPS_OUT = """
sources: {gen: 28}
buses: [main, side, third]
devices:
  k: {kind: contactor, closes-when: {live: [main], closed: [k]}}
  cb: breaker
  cb-2: breaker
feeders: [gen > cb > main, main > k > side, main > cb-2 > third]
equipment: {radio: side, lamp: side, pump: main, fan: third}
conditions: {flight: {sources: [gen], held-closed: [k]}}
"""


def test_a_short_with_two_answers_is_not_asked_about() -> None:
    """The contactor holds itself in: the dip of a short on the third bus drops it for good."""
    facts = facts_of(expand(DROPS_OUT))
    short, dead = ("third", "shorted"), ("third", "dead")
    assert facts.answers.single[short][0].lost == ("fan",)
    assert facts.answers.single_dip[short][0].lost == ("fan", "lamp", "radio")
    assert [c.faults for c in facts.singles if c.faults[0][0] == "third"] == [(dead,)]
    assert dead in facts.effects[0]
    assert short not in facts.effects[0]


def test_a_question_about_what_the_crew_has_done_says_all_that_it_does(
    demo: dict[str, Facts],
) -> None:
    for facts in demo.values():
        acted = [case for case in facts.named if case.acted]
        assert acted
        for case in acted:
            assert case.failure
            done = case.failure.crew_does(case.condition.id)
            assert done.changes_wiring
            for part in (*done.switches, *done.shed, *done.pulled, *done.reset):
                assert facts.network.names[part] in case.words
            for position in done.switches.values():
                assert f"to {position}" in case.words


TWO_SUPPLIES = """
sources: {gen: 28}
buses: [left, right]
feeders: [gen > left, gen > right]
equipment:
  radio:
    supplies:
      - {bus: left, breaker: {name: RADIO L, amps: 5, panel: wall, at: A1}}
      - {bus: right, breaker: {name: RADIO R, amps: 5, panel: wall, at: A2}}
  lamp: {supplies: [{bus: left, breaker: {name: LAMP, amps: 5, panel: wall, at: A3}}]}
  pump: {supplies: [{bus: right, breaker: {name: PUMP, amps: 5, panel: wall, at: A4}}]}
"""


def test_the_other_breaker_of_the_same_item_is_never_a_wrong_place() -> None:
    catalogue = expand(TWO_SUPPLIES)
    wall = {"id": "wall", "name": "Wall", "where": "here", "rows": ["A"], "columns": 4}
    reading = ReadResult(
        Catalogue.model_validate({**catalogue, "panels": [wall]}), (), (), RecordLocations()
    )
    [network] = fleet(reading)
    [place] = [k for k in KINDS if k.id == "place"]
    asked = 0
    for subject in place.subjects(Facts(AirframeAnswers(reading, network), (network,))):
        if subject.key.startswith("radio"):
            for number in range(10):
                made = subject.make(SeededRandom(str(number)), bool(number % 2))
                assert made
                places = {c.means["at"] for c in made.choices}
                assert len(places & {"A1", "A2"}) == 1
                asked += 1
    assert asked == 20


# The checker itself


@pytest.mark.parametrize("kind", [k.id for k in KINDS])
def test_the_checker_finds_a_wrong_key(
    papers: dict[tuple[str, str], Paper], checker: Checker, kind: str
) -> None:
    questions = quiz_json(papers["block-3", "1"])["questions"]
    question = deepcopy(next(q for q in questions if q["kind"] == kind))
    question["right"] = (question["right"] + 1) % len(question["choices"])
    question["answer"] = question["choices"][question["right"]]["text"]
    with pytest.raises(AssertionError):
        checker.check("block-3", question)


@pytest.mark.parametrize("kind", ["still-works", "lost", "cause", "readings", "function"])
def test_the_checker_finds_two_right_choices(
    papers: dict[tuple[str, str], Paper], checker: Checker, kind: str
) -> None:
    questions = quiz_json(papers["block-3", "1"])["questions"]
    question: Any = deepcopy(next(q for q in questions if q["kind"] == kind))
    wrong = (question["right"] + 1) % len(question["choices"])
    right = question["choices"][question["right"]]
    question["choices"][wrong] = {**right, "text": right["text"] + " as well"}
    with pytest.raises(AssertionError):
        checker.check("block-3", question)


# What gives an answer away


def test_a_question_that_contains_its_answer_is_refused() -> None:
    bus, other = Choice("Left main bus", {}), Choice("Right main bus", {})
    assert gives_away("Left main bus voltmeter: on which bus?", bus, [other])
    assert not gives_away("Battery voltmeter: on which bus?", bus, [other])
    assert gives_away(
        "Sub-bus 1 relay: on which bus?", Choice("Sub-bus 1", {}), [Choice("Sub-bus 2", {})]
    )


def test_a_word_that_only_the_answer_shares_with_the_question_gives_it_away() -> None:
    survey, cabin, aft = (Choice(f"{name} bus", {}) for name in ("Survey", "Cabin", "Aft survey"))
    assert gives_away("Surveying camera: on which bus?", survey, [cabin])
    assert not gives_away("Survey camera: on which bus?", survey, [cabin, aft])


# Other nets


@thorough(60)
@given(catalogues())
def test_questions_about_any_net_are_as_sound(catalogue: Raw) -> None:
    reading = ReadResult(Catalogue.model_validate(catalogue), (), (), RecordLocations())
    networks = fleet(reading)
    checker = Checker(catalogue)
    for network in networks:
        facts = Facts(AirframeAnswers(reading, network), networks)
        paper = make_paper(facts, 12, "1", allow_fewer=True)
        for question in json.loads(json.dumps(quiz_json(paper)))["questions"]:
            checker.check(network.airframe, question)


def test_a_fleet_of_one_is_asked_nothing_about_its_airframes() -> None:
    [airframe] = [k for k in KINDS if k.id == "airframe"]
    reading = read(DEMO)
    networks = fleet(reading)[:1]
    assert not list(airframe.subjects(Facts(AirframeAnswers(reading, networks[0]), networks)))


def test_a_function_of_groups_says_of_which_groups_it_needs_how_many(
    demo: dict[str, Facts],
) -> None:
    """`1 of A, B, C and D` would be another function."""
    [kind] = [k for k in KINDS if k.id == "function"]
    subjects = {s.key: s for s in kind.subjects(demo["block-2"])}
    question = subjects["oil-indication cruise"].make(SeededRandom("1"), False)
    assert question
    left = "1 of Left oil pressure, Left low oil pressure warning"
    right = "1 of Right oil pressure, Right low oil pressure warning"
    assert f"(needed: ({left}) and ({right}))" in question.text
