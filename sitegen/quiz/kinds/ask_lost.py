"""Something fails; which of these is lost?

The wrong choices still work in that very case; they may be reduced.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from sitegen.answers.drop import is_fed
from sitegen.quiz.facts import Facts, FailureCase
from sitegen.quiz.kinds.ask_still_works import item_choice
from sitegen.quiz.question import Choice, Kind, Question, Subject
from sitegen.quiz.question_wording import why_lost
from sitegen.quiz.seeded_random import SeededRandom
from sitegen.quiz.wrong_choices import question_from_pool


def subjects(facts: Facts) -> Iterator[Subject]:
    """A subject for every case that takes something."""
    for case in (*facts.singles, *facts.named):
        if case.loss.lost:
            yield Subject(case.key, case.page.file, case.points, partial(_make, facts, case))


def _make(facts: Facts, case: FailureCase, rng: SeededRandom, near: bool) -> Question | None:
    loss, network = case.loss, facts.network
    left = [i for i in facts.distinct_items if i in case.working]
    lost = [i for i in facts.distinct_items if i in loss.lost]
    if not left or not lost:
        return None
    if near:
        # Lost through what it depends on, with its own bus live: the loss most easily missed.
        dependent = [i for i in lost if any(is_fed(loss, c) for c in network.connections[i])]
        lost = dependent or lost
    item = rng.choice(lost)
    right = item_choice(facts, item)
    text = f"{case.condition.name}: {case.words}. Which of these is lost?"
    reduced = frozenset(loss.reduced)

    def similarity(choice: Choice) -> float:
        other = choice.means["item"]
        return facts.similarity(item, other) + (other in reduced) / 2

    pool = [item_choice(facts, i) for i in left]
    reason = why_lost(network, loss, item)
    return question_from_pool(
        rng, near, text, right, pool, similarity, reason, case.page, case.asks
    )


KIND = Kind("lost", "this fails: which of these is lost", subjects)
