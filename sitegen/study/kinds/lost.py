"""Something fails; which of these is lost?

The wrong choices still work in that very case; they may be reduced.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from sitegen.pages.answers import is_fed
from sitegen.study.chance import Chance
from sitegen.study.choose import question, wrong_choices
from sitegen.study.kinds.still_works import item_choice
from sitegen.study.matter import Case, Matter
from sitegen.study.question import Kind, Question, Subject
from sitegen.study.wording import why_lost


def subjects(matter: Matter) -> Iterator[Subject]:
    """A subject for every case that takes something."""
    for case in (*matter.singles, *matter.named):
        if case.loss.lost:
            make = partial(_make, matter, case)
            yield Subject(case.key, case.page.file, case.points, make)


def _make(matter: Matter, case: Case, chance: Chance, near: bool) -> Question | None:
    loss, normal, network = case.loss, case.normal, matter.network
    worked = {*normal.kept, *normal.reduced}
    left = [i for i in matter.items if (i in loss.kept or i in loss.reduced) and i in worked]
    lost = [i for i in matter.items if i in loss.lost]
    if not left or not lost:
        return None
    if near:
        # Lost along a chain, with its own bus live: the loss that is most easily missed.
        chain = [i for i in lost if any(is_fed(loss, c) for c in network.connections[i])]
        lost = chain or lost
    item = chance.one(lost)
    right = item_choice(matter, item)
    text = f"{case.condition.name}: {case.words}. Which of these is lost?"
    reduced = frozenset(loss.reduced)
    wrong = wrong_choices(
        chance,
        right,
        [item_choice(matter, i) for i in left],
        near,
        lambda c: matter.likeness(item, c.means["item"]) + (c.means["item"] in reduced) / 2,
        text,
    )
    reason = why_lost(network, loss, item)
    return question(chance, KIND.id, text, right, wrong, reason, case.page, case.asks)


KIND = Kind("lost", "this fails: which of these is lost", subjects)
