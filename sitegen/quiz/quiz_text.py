"""A paper as terminal text and as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sitegen.quiz.paper import Paper
from sitegen.quiz.question import Question, letter
from sitegen.terminal.shared_text import CAUTION, heading


def quiz_text(paper: Paper) -> Iterator[str]:
    """The questions, and the key after them, line by line."""
    network = paper.facts.network
    yield heading(network)
    yield f"{paper.title}\n"
    for name, explained, note in paper.conditions:
        yield f"{name}. {explained} {note}".rstrip() + "\n"
    for number, question in enumerate(paper.questions, 1):
        yield f"{number}. {question.text}"
        for k, choice in enumerate(question.choices):
            yield f"    {letter(k)}  {choice.text}"
        yield ""
    yield "Key\n"
    width = len(str(len(paper.questions)))
    for number, question in enumerate(paper.questions, 1):
        yield f"{number:>{width}} {question.letter}  {question.answer.text}"
        yield f"{'':{width}}    {question.reason} Page: {question.page.file}"
    yield f"\n{CAUTION}"


def quiz_json(paper: Paper) -> dict[str, Any]:
    """The object that `quiz --json` prints."""
    return {
        "airframe": paper.facts.network.airframe,
        "seed": paper.seed,
        "conditions": {name: explained for name, explained, _ in paper.conditions},
        "questions": [question_json(question) for question in paper.questions],
    }


def question_json(question: Question) -> dict[str, Any]:
    """One question as JSON values."""
    return {
        "kind": question.kind,
        "difficulty": question.difficulty,
        "asks": dict(question.asks),
        "text": question.text,
        "choices": [{"text": c.text, **c.means} for c in question.choices],
        "right": question.right,
        "letter": question.letter,
        "answer": question.answer.text,
        "reason": question.reason,
        "page": question.page.file,
    }
