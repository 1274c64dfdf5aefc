"""`sitegen quiz` as it is called: what it prints and writes, and what it refuses."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import Result

from sitegen.output.atomic_write import atomic_write
from sitegen.quiz.kinds import KINDS
from tests.test_commands import run

FINE, CALLED_WRONGLY, NOT_READ_OR_WRITTEN = 0, 2, 3


def quiz(*arguments: object) -> Result:
    return run("quiz", *map(str, arguments))


def of_places(*arguments: object) -> Result:
    """The same of a kind of question that is soon made."""
    return quiz("--kind", "place", *arguments)


def test_it_prints_questions_and_the_key_after_them() -> None:
    result = quiz("--count", 5)
    assert result.exit_code == FINE, result.output
    questions, key = result.output.split("\nKey\n")
    assert "Tarn 19, revision 8 | Serials 1 to 24" in questions
    assert [f"\n{n}. " in questions for n in range(1, 7)] == [True] * 5 + [False]
    assert questions.count("?\n    A  ") == 5
    assert key.count(" Page: ") == 5
    assert "approved manuals" in key


def test_json_and_text_have_the_same_questions() -> None:
    said = quiz("--count", 9).output
    paper = json.loads(quiz("--count", 9, "--json").stdout)
    assert paper["airframe"] == "block-1"
    assert len(paper["questions"]) == 9
    for question in paper["questions"]:
        assert question["text"] in said
        assert question["choices"][question["right"]]["text"] == question["answer"]
        assert f"{question['letter']}  {question['answer']}" in said


@pytest.mark.parametrize("kind", [k.id for k in KINDS])
def test_a_kind_can_be_asked_for_alone(kind: str) -> None:
    paper = json.loads(quiz("--count", 4, "--kind", kind, "--json").stdout)
    assert {q["kind"] for q in paper["questions"]} == {kind}


def test_airframe_condition_difficulty_and_several_kinds_go_together() -> None:
    result = quiz(
        *("--airframe", "Serials 25 to 58", "--condition", "Before start", "--difficulty", "hard"),
        *("--kind", "lost", "--kind", "still-works", "--count", 6, "--json"),
    )
    paper = json.loads(result.stdout)
    assert paper["airframe"] == "block-2"
    assert {q["asks"]["condition"] for q in paper["questions"]} == {"battery-only"}
    assert {q["difficulty"] for q in paper["questions"]} == {"hard"}
    assert {q["kind"] for q in paper["questions"]} == {"lost", "still-works"}


def test_the_same_seed_gives_the_same_paper_and_another_seed_another() -> None:
    once, again, other = (of_places("--count", 12, "--seed", s).output for s in ("7", "7", "8"))
    assert once == again
    assert once != other


@pytest.mark.parametrize(
    ("option", "said"),
    [("--paper", "Name"), ("--practise", "What you miss comes back"), ("--cards", "Print on both")],
)
def test_files_are_written_whole_and_named(tmp_path: Path, option: str, said: str) -> None:
    path = tmp_path / "written.html"
    path.write_text("an older file", encoding="utf-8")
    result = of_places("--count", 4, option, path)
    assert result.output.splitlines()[1:] == [f"4 questions in {path}."]
    text = path.read_text(encoding="utf-8")
    assert said in text
    assert text.startswith("<!doctype html>")
    assert text.rstrip().endswith("</html>")
    assert "approved manuals" in text
    assert [p.name for p in tmp_path.iterdir()] == ["written.html"]


@pytest.mark.parametrize("option", ["--paper", "--practise", "--cards"])
def test_a_file_of_questions_asks_for_no_other_file(tmp_path: Path, option: str) -> None:
    path = tmp_path / "written.html"
    quiz("--count", 9, option, path)
    text = path.read_text(encoding="utf-8")
    for outside in ("http://www.", "https://", ' src="', 'rel="stylesheet"', "@import", "url("):
        assert outside not in text, outside
    assert text.count("href=") == text.count('href="data:,"') + text.count('href="#')


def test_letter_paper_is_a_choice(tmp_path: Path) -> None:
    a4, letter = tmp_path / "a4.html", tmp_path / "letter.html"
    of_places("--count", 2, "--cards", a4)
    of_places("--count", 2, "--cards", letter, "--paper-size", "letter")
    assert "size: 210mm 297mm" in a4.read_text(encoding="utf-8")
    assert "size: 215.9mm 279.4mm" in letter.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--count", 0), "--count 0: ask for one question or more."),
        (("--count", -3), "--count -3: ask for one question or more."),
        (("--kind", "buss"), "'buss' is not a kind of question here: did you mean 'bus'?"),
        (("--kind", "x"), "There are: still-works, lost, comes-on, bus, place, cause, readings,"),
        (("--airframe", "block-9"), "'block-9' is not an airframe here: did you mean"),
        (("--condition", "cruse"), "'cruse' is not a condition here: did you mean 'cruise'?"),
        (("--difficulty", "impossible"), "'impossible' is not one of 'easy', 'fair', 'hard'"),
    ],
)
def test_a_wrong_call_gets_one_sentence(arguments: tuple[object, ...], said: str) -> None:
    result = quiz(*arguments)
    assert result.exit_code == CALLED_WRONGLY
    assert said in result.output
    assert "Traceback" not in result.output


def test_asking_for_too_many_says_how_many_there_are() -> None:
    result = quiz("--count", 4000, "--kind", "minutes")
    assert result.exit_code == CALLED_WRONGLY
    assert result.stderr.startswith("sitegen: 4000 such questions were asked for, and there are")
    there = int(result.output.split()[-1].rstrip("."))
    assert quiz("--count", there, "--kind", "minutes").exit_code == FINE


def test_a_folder_in_the_place_of_the_file_is_left_alone(tmp_path: Path) -> None:
    result = of_places("--count", 2, "--paper", tmp_path)
    assert result.exit_code == NOT_READ_OR_WRITTEN
    assert result.stderr == f"sitegen: {tmp_path} could not be written: it is a folder.\n"
    assert not list(tmp_path.iterdir())


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    result = of_places("--count", 2, "--cards", tmp_path / "nowhere" / "cards.html")
    assert result.exit_code == NOT_READ_OR_WRITTEN
    assert result.stderr.count("\n") == 1
    assert "nowhere/cards.html could not be written" in result.stderr


def test_two_outputs_cannot_share_a_file(tmp_path: Path) -> None:
    path = tmp_path / "one.html"
    result = of_places("--count", 2, "--paper", path, "--cards", path)
    assert result.exit_code == CALLED_WRONGLY
    assert "need a file each" in result.output
    assert not path.exists()


def test_a_file_that_fails_on_the_way_leaves_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "paper.html"
    path.write_text("old", encoding="utf-8")

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", refuse)
    with pytest.raises(OSError, match="No space"):
        atomic_write(path, "new")
    assert path.read_text(encoding="utf-8") == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["paper.html"]


# As small a catalogue as the README's has one bus with neighbours and few failures.

SMALL = """\
format: 1
aircraft: {name: Siskin, revision: "1", revised: 2026-01-01, statement: An invented aircraft.}
sources: [{id: bat, name: Battery, kind: battery, volts: 24}]
buses: [{id: main, name: Main bus}]
feeders: [{from: bat, to: main}]
equipment:
  - {id: lamp, name: Lamp, ata: 33, supplies: [{bus: main, breaker: {name: LAMP, amps: 1}}]}
conditions: [{id: parked, name: Parked, sources: [bat]}]
"""


def test_a_catalogue_too_small_to_ask_about_says_so(tmp_path: Path) -> None:
    path = tmp_path / "siskin.yaml"
    path.write_text(SMALL, encoding="utf-8")
    result = quiz(path)
    assert result.exit_code == CALLED_WRONGLY
    assert result.output == "sitegen: 20 such questions were asked for, and there is none.\n"


def test_the_site_of_a_catalogue_too_small_to_ask_about_says_so(tmp_path: Path) -> None:
    path = tmp_path / "siskin.yaml"
    path.write_text(SMALL, encoding="utf-8")
    site = tmp_path / "site"
    done = run("publish", str(path), "--to", str(site))
    assert done.exit_code == FINE, done.output
    [page] = site.glob("*/practise.html")
    assert "too little in this catalogue" in page.read_text(encoding="utf-8")
