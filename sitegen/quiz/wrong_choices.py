"""Wrong choices: as similar to the right one as wanted, and none that gives the answer away.

Each kind of question works out what is certainly wrong; this module chooses among those.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from typing import Any

from sitegen.quiz.facts import PageToRead
from sitegen.quiz.question import Choice, Question
from sitegen.quiz.seeded_random import SeededRandom

WRONG = 3
"""Wrong choices in a question."""
FEWEST_WRONG = 2
SHORTEST_WORD = 3
"""Letters; shorter words, and figures, are not compared."""
STEM_LETTERS = 5
"""Words with the same first letters count as one: light, lights, lighting."""


def wrong_choices(
    rng: SeededRandom,
    right: Choice,
    pool: Sequence[Choice],
    near: bool,
    similarity: Callable[[Choice], float],
    text: str = "",
) -> list[Choice] | None:
    """Wrong choices out of a pool of them; None if there are too few.

    Parameters
    ----------
    right : the right choice; choices with the same words are left out.
    pool : choices that are certainly wrong.
    near : take the most similar to the right one, else the least similar.
    similarity : of a choice to the right one; more is more similar.
    text : the question. If the right choice shares a word with it, so must a wrong one.
    """
    distinct = {normalised(c.text): c for c in pool if normalised(c.text) != normalised(right.text)}
    sign = -1 if near else 1
    # The sort is stable: equally similar choices stay in random order.
    ranked = sorted(rng.shuffled(list(distinct.values())), key=lambda c: sign * similarity(c))
    chosen = ranked[:WRONG]
    shared = shared_words(right, text)
    if chosen and shared and all(shared_words(c, text) < shared for c in chosen):
        decoy = next((c for c in ranked if shared_words(c, text) >= shared), None)
        if decoy is None:
            return None
        chosen[-1] = decoy
    return chosen if len(chosen) >= FEWEST_WRONG else None


def question_from_pool(
    rng: SeededRandom,
    near: bool,
    text: str,
    right: Choice,
    pool: Sequence[Choice],
    similarity: Callable[[Choice], float],
    reason: str,
    page: PageToRead,
    asks: Mapping[str, Any],
    order: Callable[[Choice], float] | None = None,
) -> Question | None:
    """A question with wrong choices out of a pool; None if there are too few good ones."""
    wrong = wrong_choices(rng, right, pool, near, similarity, text)
    return question(rng, text, right, wrong, reason, page, asks, order)


def question(
    rng: SeededRandom,
    text: str,
    right: Choice,
    wrong: Sequence[Choice] | None,
    reason: str,
    page: PageToRead,
    asks: Mapping[str, Any],
    order: Callable[[Choice], float] | None = None,
) -> Question | None:
    """A question of these choices; None if its text would give the answer away.

    `order` is a sort key for the choices, such as figures; without it the order is random.
    """
    if wrong is None or gives_away(text, right, wrong):
        return None
    choices = [right, *wrong]
    choices = rng.shuffled(choices) if order is None else sorted(choices, key=order)
    return Question(text, tuple(choices), choices.index(right), reason, page, asks)


def gives_away(text: str, right: Choice, wrong: Sequence[Choice]) -> bool:
    """Whether a question's text gives its answer away.

    It does if it contains the right choice, or shares more words with it than with any wrong one.

    Examples
    --------
    >>> bus, other = Choice("Cabin bus", {}), Choice("Centre bus", {})
    >>> gives_away("Which bus is Cabin speaker amplifier on?", bus, [other])
    True
    """
    words = f" {normalised(text)} "
    if any(f" {normalised(name)} " in words for name in (right.text, *right.names)):
        return True
    shared = shared_words(right, text)
    return shared > 0 and all(shared_words(c, text) < shared for c in wrong)


def shared_words(choice: Choice, text: str) -> int:
    """How many significant words a choice shares with a text."""
    named = " ".join((choice.text, *choice.names))
    return len(_significant_words(named) & _significant_words(text))


@lru_cache(maxsize=4096)
def normalised(text: str) -> str:
    """A text as lowercase words separated by blanks.

    >>> normalised("Left ITT (inner)")
    'left itt inner'
    """
    return " ".join(re.findall(r"[^\W_]+", text.lower()))


def _significant_words(text: str) -> set[str]:
    words = re.findall(r"[^\W\d_]+", text.lower())
    return {w[:STEM_LETTERS] for w in words if len(w) >= SHORTEST_WORD}
