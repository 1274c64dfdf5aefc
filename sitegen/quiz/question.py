"""What a question consists of."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from sitegen.quiz.facts import Facts, PageToRead
from sitegen.quiz.seeded_random import SeededRandom


@dataclass(frozen=True)
class Choice:
    """One choice of a question."""

    text: str
    means: Mapping[str, Any]
    """The same as JSON values, by ids."""
    names: tuple[str, ...] = ()
    """The names in its text, if it says more than one: none may occur in the question."""


@dataclass(frozen=True)
class Question:
    """A question with its choices, one of which is right."""

    text: str
    choices: tuple[Choice, ...]
    right: int
    """The index of the right choice, from 0."""
    reason: str
    """Why it is right, in one line."""
    page: PageToRead
    asks: Mapping[str, Any]
    """What is asked, as JSON values by ids."""
    kind: str = ""
    """The id of its kind."""
    difficulty: str = ""
    """One of `sitegen.quiz.difficulty.DIFFICULTIES`."""

    @property
    def letter(self) -> str:
        """The right choice's letter."""
        return letter(self.right)

    @property
    def answer(self) -> Choice:
        """The right choice."""
        return self.choices[self.right]


@dataclass(frozen=True)
class Subject:
    """Something to make a question about."""

    key: str
    """Unique within its kind."""
    topic: str
    """Subjects of one topic are similar; a paper takes another topic first."""
    points: int
    """Points of the subject, 0 to 2 (`sitegen.quiz.difficulty`)."""
    make: Callable[[SeededRandom, bool], Question | None] = field(compare=False)
    """From random numbers, and whether wrong choices are to be similar: the question, or None."""


@dataclass(frozen=True)
class Kind:
    """A kind of question."""

    id: str
    asks: str
    """What is asked, in a few words."""
    subjects: Callable[[Facts], Iterable[Subject]]


def letter(number: int) -> str:
    """The letter of a choice.

    >>> letter(0)
    'A'
    """
    return "ABCDEFGH"[number]
