"""What a question is; a paper is made of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from sitegen.quiz.chance import Chance
from sitegen.quiz.facts import Facts
from sitegen.quiz.page_to_read import PageToRead


@dataclass(frozen=True)
class Choice:
    """One thing that may be ticked."""

    text: str
    means: Mapping[str, Any]
    """The same for a program, as plain values by ids."""
    names: tuple[str, ...] = ()
    """What it names, where its text says more than that: none of it may stand in the question."""


@dataclass(frozen=True)
class Question:
    """A question with its choices, one of which is right."""

    kind: str
    text: str
    choices: tuple[Choice, ...]
    right: int
    """The number of the right choice, from 0."""
    reason: str
    """Why it is right, in one line."""
    page: PageToRead
    asks: Mapping[str, Any]
    """What is asked, for a program: plain values by ids."""
    step: str = ""
    """One of `sitegen.quiz.difficulty.STEPS`."""

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
    """Something that a question can be made of."""

    key: str
    """Unlike that of every other subject of its kind."""
    topic: str
    """Subjects of one topic are alike; a paper takes another topic first."""
    points: int
    """Points of the matter, 0 to 2."""
    make: Callable[[Chance, bool], Question | None] = field(compare=False)
    """From chance, and whether the wrong choices are to be near: the question, or none."""


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
