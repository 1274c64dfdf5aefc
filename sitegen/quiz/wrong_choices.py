"""Wrong choices: as near or as far as wanted, and none that gives the answer away.

What is wrong for certain is worked out by each kind of question; here one chooses among that.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

from sitegen.quiz.chance import Chance
from sitegen.quiz.page_to_read import PageToRead
from sitegen.quiz.question import Choice, Question

WRONG = 3
"""Wrong choices in a question."""
FEWEST_WRONG = 2
SHORTEST_TELLING = 3
"""Shorter words, and figures, tell nothing by themselves."""
BEGINNING = 5
"""Words that begin with so many letters alike are one: light, lights, lighting."""


def wrong_choices(
    chance: Chance,
    right: Choice,
    pool: Sequence[Choice],
    near: bool,
    likeness: Callable[[Choice], float],
    text: str = "",
) -> list[Choice] | None:
    """Wrong choices out of a pool of them; None if there are too few.

    Parameters
    ----------
    right : the right choice; what reads the same is left out.
    pool : what is wrong for certain.
    near : take what is most like the right one, else what is least.
    likeness : how like the right one a choice is.
    text : the question. Where the right choice shares a word with it, a wrong one must as well.
    """
    apart = {plain(c.text): c for c in pool if plain(c.text) != plain(right.text)}
    sign = -1 if near else 1
    # Sorting keeps chance's order among those that are equally like.
    ranked = sorted(chance.shuffled(list(apart.values())), key=lambda c: sign * likeness(c))
    chosen = ranked[:WRONG]
    shared = words_shared(right, text)
    if chosen and shared and all(words_shared(c, text) < shared for c in chosen):
        decoy = next((c for c in ranked if words_shared(c, text) >= shared), None)
        if decoy is None:
            return None
        chosen[-1] = decoy
    return chosen if len(chosen) >= FEWEST_WRONG else None


def question(
    chance: Chance,
    kind: str,
    text: str,
    right: Choice,
    wrong: Sequence[Choice] | None,
    reason: str,
    page: PageToRead,
    asks: Mapping[str, Any],
    order: Callable[[Choice], float] | None = None,
) -> Question | None:
    """A question of these choices; None where its text would tell the answer.

    `order` sorts the choices, such as figures; without it they stand in any order.
    """
    if wrong is None or tells(text, right, wrong):
        return None
    choices = [right, *wrong]
    choices = chance.shuffled(choices) if order is None else sorted(choices, key=order)
    return Question(kind, text, tuple(choices), choices.index(right), reason, page, asks)


def tells(text: str, right: Choice, wrong: Sequence[Choice]) -> bool:
    """Whether a question's text tells its answer.

    It does if it holds the right choice, or shares more words with it than with any wrong one.

    Examples
    --------
    >>> bus, other = Choice("Cabin bus", {}), Choice("Centre bus", {})
    >>> tells("Which bus is Cabin speaker amplifier on?", bus, [other])
    True
    """
    said = f" {plain(text)} "
    if any(f" {plain(name)} " in said for name in (right.text, *right.names)):
        return True
    shared = words_shared(right, text)
    return shared > 0 and all(words_shared(c, text) < shared for c in wrong)


def words_shared(choice: Choice, text: str) -> int:
    """How many telling words a choice shares with a text."""
    named = " ".join((choice.text, *choice.names))
    return len(_telling(named) & _telling(text))


@lru_cache(maxsize=4096)
def plain(text: str) -> str:
    """A text as its words alone.

    >>> plain("Left ITT (inner)")
    'left itt inner'
    """
    return " ".join(re.findall(r"[^\W_]+", text.lower()))


def with_step(made: Question, step: str) -> Question:
    """A question with its step."""
    return replace(made, step=step)


def _telling(text: str) -> set[str]:
    words = re.findall(r"[^\W\d_]+", text.lower())
    return {w[:BEGINNING] for w in words if len(w) >= SHORTEST_TELLING}
