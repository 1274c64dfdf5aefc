"""Something fails; which of these still works?

The wrong choices are lost in the same case. What is turned off, what had no power before, and what
the failure turned on is not a choice. What is reduced still works.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from sitegen.quiz.facts import Facts, FailureCase
from sitegen.quiz.question import Choice, Kind, Question, Subject
from sitegen.quiz.question_wording import why_works
from sitegen.quiz.seeded_random import SeededRandom
from sitegen.quiz.wrong_choices import question_from_pool


def subjects(facts: Facts) -> Iterator[Subject]:
    """A subject for every case in which something is lost."""
    for case in (*facts.singles, *facts.named):
        if case.loss.lost:
            yield Subject(case.key, case.page.file, case.points, partial(_make, facts, case))


def _make(facts: Facts, case: FailureCase, rng: SeededRandom, near: bool) -> Question | None:
    loss, normal = case.loss, case.normal
    worked = {*normal.kept, *normal.reduced}
    kept = [i for i in facts.distinct_items if i in loss.kept and i in worked]
    reduced = [i for i in facts.distinct_items if i in loss.reduced and i in worked]
    lost = [i for i in facts.distinct_items if i in loss.lost]
    left = (reduced or kept) if near else (kept or reduced)
    if not left or not lost:
        return None
    if near and not reduced:
        # Most similar to something that is lost, so that bus or panel alone does not give it away.
        best = {i: max(facts.similarity(i, other) for other in lost) for i in left}
        left = [i for i in left if best[i] == max(best.values())]
    item = rng.choice(left)
    right = item_choice(facts, item)
    text = f"{case.condition.name}: {case.words}. Which of these still works?"
    pool = [item_choice(facts, i) for i in lost]
    reason = why_works(facts.network, loss, normal, item)

    def similarity(choice: Choice) -> float:
        return facts.similarity(item, choice.means["item"])

    return question_from_pool(
        rng, near, text, right, pool, similarity, reason, case.page, case.asks
    )


def item_choice(facts: Facts, item: str) -> Choice:
    """A piece of equipment as a choice."""
    return Choice(facts.network.names[item], {"item": item})


KIND = Kind("still-works", "this fails: which of these still works", subjects)
