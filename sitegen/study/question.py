"""What a question is, and how hard it is.

How hard
--------
A question has one of three steps, `easy`, `fair` and `hard`. The step is worked out, not judged:

- *points of the matter*: one for a condition other than the catalogue's first; one for more than
  one failure at a time, or once the crew has acted; one for a failure in another than its
  component's plain mode (a short, a contactor that sticks). A kind that is not about failures
  gives its own points, and says for what.
- *points of the choices*: none where the wrong choices were taken from far away (another bus,
  another chapter, another panel), one where they were taken from as near as there are.

No points is easy, one is fair, two or more are hard.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from sitegen.study.chance import Chance

if TYPE_CHECKING:
    from sitegen.study.matter import Matter

STEPS = ("easy", "fair", "hard")


@dataclass(frozen=True)
class Choice:
    """One thing that may be ticked."""

    text: str
    means: Mapping[str, Any]
    """The same for a program, as plain values by ids."""
    names: tuple[str, ...] = ()
    """What it names, where its text says more than that: none of it may stand in the question."""


@dataclass(frozen=True)
class PageToRead:
    """The page of the site on which the answer stands."""

    file: str
    """Its file in the airframe's folder."""
    title: str


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
    """One of `STEPS`."""

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
    subjects: Callable[[Matter], Iterable[Subject]]


def step_of(points: int, near: bool) -> str:
    """How hard a question is.

    >>> step_of(0, False), step_of(0, True), step_of(2, True)
    ('easy', 'fair', 'hard')
    """
    return STEPS[min(points + near, len(STEPS) - 1)]


def letter(number: int) -> str:
    """The letter of a choice.

    >>> letter(0)
    'A'
    """
    return "ABCDEFGH"[number]
