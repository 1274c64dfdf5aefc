"""Something fails; which of these comes on?

The right choice did not work in the condition, and works now. The wrong ones are lost, or had no
power before and still have none: what worked all along is no choice, since it is on as well.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from sitegen.quiz.facts import Facts, FailureCase
from sitegen.quiz.kinds.ask_still_works import item_choice
from sitegen.quiz.question import Choice, Kind, Question, Subject
from sitegen.quiz.question_wording import why_comes_on
from sitegen.quiz.seeded_random import SeededRandom
from sitegen.quiz.wrong_choices import question_from_pool


def subjects(facts: Facts) -> Iterator[Subject]:
    """A subject for every case in which something comes on before the crew acts."""
    for case in (*facts.singles, *facts.named):
        if case.loss.comes_on and not case.acted:
            yield Subject(case.key, case.page.file, case.points, partial(_make, facts, case))


def _make(facts: Facts, case: FailureCase, rng: SeededRandom, near: bool) -> Question | None:
    loss = case.loss
    on = [i for i in facts.distinct_items if i in loss.comes_on]
    if not on:
        return None
    item = rng.choice(on)
    still_off = {*loss.not_powered, *loss.lost}
    pool = [item_choice(facts, i) for i in facts.distinct_items if i in still_off]
    text = f"{case.condition.name}: {case.words}. Which of these comes on?"

    def similarity(choice: Choice) -> float:
        return facts.similarity(item, choice.means["item"])

    right, reason = item_choice(facts, item), why_comes_on(facts.network, loss, case.normal, item)
    return question_from_pool(
        rng, near, text, right, pool, similarity, reason, case.page, case.asks
    )


KIND = Kind("comes-on", "this fails: which of these comes on", subjects)
