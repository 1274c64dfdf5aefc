"""The meters, lamps and flags show this; which of these failures explains it?

What is shown is chosen so that it stands against every wrong choice. Failures that a person could
not tell apart by it are never choices of one question: a lamp without power is as dark as one that
is not lit, and a voltmeter may be off by what `sitegen.answers.observations` allows. Ammeters are
left out: whether a battery's shows anything depends on how far it is charged.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial

from sitegen.answers.indications import BLANK, figure_of
from sitegen.answers.observations import TOLERANCE_SHARE, TOLERANCE_VOLTS
from sitegen.catalogue.model import Indication
from sitegen.pages.links import WHICH
from sitegen.quiz.chance import Chance
from sitegen.quiz.facts import Case, Facts
from sitegen.quiz.kinds.ask_cause import cause_choice
from sitegen.quiz.page_to_read import PageToRead
from sitegen.quiz.question import Kind, Question, Subject
from sitegen.quiz.wrong_choices import question, wrong_choices
from sitegen.words import listed

CLEARLY = 10
"""Percent or amps from which a loadmeter shows load beyond doubt."""
FEWEST_SHOWN = 3
"""So many changed readings are told, where there are so many."""
MOST_BESIDES = 3
"""So many others are named with the answer."""


def subjects(facts: Facts) -> Iterator[Subject]:
    """A subject for every case that some indication shows, with nobody having acted."""
    for case in facts.at_once:
        if _apart(_indications(facts), case.normal.readings, case.loss.readings):
            make = partial(_make, facts, case)
            yield Subject(case.key, case.page.file, case.points, make)


def _make(facts: Facts, case: Case, chance: Chance, near: bool) -> Question | None:
    known, normal, shown = _indications(facts), case.normal.readings, case.loss.readings
    changed = _apart(known, normal, shown)
    right = cause_choice(facts, case)
    apart: dict[str, list[str]] = {}
    pool = []
    for other in facts.at_once:
        if other.number == case.number and _apart(known, normal, other.loss.readings):
            differs = _apart(known, shown, other.loss.readings)
            if differs:
                pool.append(cause_choice(facts, other))
                apart[pool[-1].text] = differs
    wrong = wrong_choices(chance, right, pool, near, lambda c: -len(apart[c.text]))
    if wrong is None:
        return None
    told = {chance.one(changed)}
    for differs in (apart[c.text] for c in wrong):
        if not told.intersection(differs):
            # What has changed is worth more than that something has not.
            told.add(chance.one([i for i in differs if i in changed] or differs))
    fill = chance.shuffled([i for i in changed if i not in told])
    told.update(fill[: max(0, FEWEST_SHOWN - len(told))])
    seen = [i for i in known if i.id in told]
    said = listed([f"{i.name} {_words(i, shown[i.id])}" for i in seen])
    text = f"{case.condition.name}: {said}. Which of these failures explains it?"
    asks = {"condition": case.condition.id, "reads": {i.id: shown[i.id] for i in seen}}
    besides = [i for i in known if i.id in changed and i.id not in told]
    also = listed([f"{i.name} {_words(i, shown[i.id])}" for i in besides[:MOST_BESIDES]])
    more = f", and {len(besides) - MOST_BESIDES} more" if len(besides) > MOST_BESIDES else ""
    besides_told = f". Besides: {also}{more}" if also else ""
    reason = f"Of these only this one shows all of it{besides_told}."
    page = PageToRead(WHICH, "Which one failed?")
    return question(chance, KIND.id, text, right, wrong, reason, page, asks)


def _indications(facts: Facts) -> list[Indication]:
    return [i for i in facts.network.catalogue.indications if i.kind != "ammeter"]


def _apart(
    known: list[Indication], before: Mapping[str, str], after: Mapping[str, str]
) -> list[str]:
    """The indications by which a person can tell two states apart."""
    return [
        i.id
        for i in known
        if before[i.id] != after[i.id] and not _look_alike(i, before[i.id], after[i.id])
    ]


def _look_alike(indication: Indication, one: str, other: str) -> bool:
    if indication.kind == "voltmeter":
        here, there = _volts(one), _volts(other)
        return abs(here - there) <= max(TOLERANCE_VOLTS, TOLERANCE_SHARE * max(here, there))
    if indication.kind == "loadmeter":
        loaded = _loaded(one), _loaded(other)
        return None in loaded or loaded[0] == loaded[1]
    return (one == "lit") == (other == "lit")


def _loaded(shown: str) -> bool | None:
    """Whether a loadmeter shows load for certain, or none; None where one might read either."""
    figure = 0.0 if shown == BLANK else figure_of(shown)
    if figure is None or 0 < figure < CLEARLY:
        return None
    return figure > 0


def _volts(shown: str) -> float:
    return 0.0 if shown == BLANK else float(shown.split()[0])


def _words(indication: Indication, shown: str) -> str:
    """What is seen, in words."""
    if indication.kind == "flag":
        return "in view" if shown == "lit" else "out of view"
    if indication.kind == "lamp":
        return "lit" if shown == "lit" else "dark"
    if indication.kind == "loadmeter":
        return "shows load" if _loaded(shown) else "at zero"
    return shown if shown == BLANK else f"at {shown}"


KIND = Kind("readings", "the meters and lamps show this: what failed", subjects)
