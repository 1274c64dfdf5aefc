"""These are dead and these still work; which of these failures explains it?

The items named rule out every wrong choice: something dead that the wrong failure would have left
working, or something working that it would have taken. Two failures that take the same items are
therefore never choices of one question.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

from sitegen.quiz.facts import Facts, FailureCase
from sitegen.quiz.question import Choice, Kind, Question, Subject
from sitegen.quiz.question_wording import component_words, failed_words
from sitegen.quiz.seeded_random import SeededRandom
from sitegen.quiz.wrong_choices import question, wrong_choices
from sitegen.solver.scenarios import Fault
from sitegen.words import counted, join_words

FEWEST_DEAD = 3
"""Dead items that a question names if there are as many; more if they are needed."""


def subjects(facts: Facts) -> Iterator[Subject]:
    """A subject for every case that takes several items, with nobody having acted."""
    for case in facts.at_once:
        if len(case.lost & facts.distinct_item_set) > 1:
            yield Subject(case.key, case.page.file, case.points, partial(_make, facts, case))


def _make(facts: Facts, case: FailureCase, rng: SeededRandom, near: bool) -> Question | None:
    lost = case.lost & facts.distinct_item_set
    right = failed_choice(facts, case.faults)
    pool, others = [], {}
    for other in facts.at_once:
        theirs = other.lost & facts.distinct_item_set
        if other.number == case.number and theirs and theirs != lost:
            pool.append(failed_choice(facts, other.faults))
            others[pool[-1].text] = theirs

    def similarity(choice: Choice) -> float:
        theirs = others[choice.text]
        return len(lost & theirs) / len(lost | theirs)

    wrong = wrong_choices(rng, right, pool, near, similarity)
    if wrong is None:
        return None
    dead: set[str] = set()
    works: set[str] = set()
    for theirs in (others[c.text] for c in wrong):
        left = [i for i in facts.distinct_items if i in lost - theirs]
        taken = [i for i in facts.distinct_items if i in theirs - lost]
        if dead <= theirs and not works & theirs:
            if taken:
                works.add(rng.choice(taken))
            else:
                dead.add(rng.choice(left))
    # The rest are dead with most of the wrong choices too, so that no single item decides.
    fill = rng.shuffled([i for i in facts.distinct_items if i in lost - dead])
    fill.sort(key=lambda i: -sum(i in others[c.text] for c in wrong))
    dead.update(fill[: max(0, FEWEST_DEAD - len(dead))])
    if not works:
        working = case.working
        works.update(rng.shuffled([i for i in facts.distinct_items if i in working])[:1])
    names = facts.network.names
    named_dead = [i for i in facts.distinct_items if i in dead]
    named_works = [i for i in facts.distinct_items if i in works]
    text = f"{case.condition.name}. Dead: {join_words([names[i] for i in named_dead])}."
    if named_works:
        text += f" Still working: {join_words([names[i] for i in named_works])}."
    text += " Which of these failures explains it?"
    asks = {"condition": case.condition.id, "dead": named_dead, "works": named_works}
    takes = counted(len(case.loss.lost), "item")
    reason = f"It takes {takes}, the dead ones among them, and leaves what still works."
    return question(rng, text, right, wrong, reason, case.page, asks)


def failed_choice(facts: Facts, faults: Sequence[Fault]) -> Choice:
    """What has failed, as a choice."""
    network = facts.network
    return Choice(
        failed_words(network, faults),
        {"failed": [{"id": c, "mode": m} for c, m in faults]},
        tuple(component_words(network, c) for c, _ in faults),
    )


KIND = Kind("cause", "these are dead, these still work: what failed", subjects)
