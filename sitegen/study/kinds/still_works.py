"""Something fails; which of these still works?

The wrong choices are lost in that very case. What is turned off, what had no power to begin with,
and what the failure itself has brought to life is no choice at all. What is reduced still works.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from sitegen.study.chance import Chance
from sitegen.study.choose import question, wrong_choices
from sitegen.study.matter import Case, Matter
from sitegen.study.question import Choice, Kind, Question, Subject
from sitegen.study.wording import why_works


def subjects(matter: Matter) -> Iterator[Subject]:
    """A subject for every case that leaves something and takes something."""
    for case in (*matter.singles, *matter.named):
        if case.loss.lost:
            make = partial(_make, matter, case)
            yield Subject(case.key, case.page.file, case.points, make)


def _make(matter: Matter, case: Case, chance: Chance, near: bool) -> Question | None:
    loss, normal = case.loss, case.normal
    worked = {*normal.kept, *normal.reduced}
    kept = [i for i in matter.items if i in loss.kept and i in worked]
    reduced = [i for i in matter.items if i in loss.reduced and i in worked]
    lost = [i for i in matter.items if i in loss.lost]
    left = (reduced or kept) if near else (kept or reduced)
    if not left or not lost:
        return None
    if near and not reduced:
        # Most like something that is lost, so that its place alone does not give it away.
        best = {i: max(matter.likeness(i, other) for other in lost) for i in left}
        left = [i for i in left if best[i] == max(best.values())]
    item = chance.one(left)
    right = item_choice(matter, item)
    text = f"{case.condition.name}: {case.words}. Which of these still works?"
    pool = [item_choice(matter, i) for i in lost]
    wrong = wrong_choices(
        chance, right, pool, near, lambda c: matter.likeness(item, c.means["item"]), text
    )
    reason = why_works(matter.network, loss, normal, item)
    return question(chance, KIND.id, text, right, wrong, reason, case.page, case.asks)


def item_choice(matter: Matter, item: str) -> Choice:
    """A piece of equipment as a choice."""
    return Choice(matter.network.names[item], {"item": item})


KIND = Kind("still-works", "this fails: which of these still works", subjects)
