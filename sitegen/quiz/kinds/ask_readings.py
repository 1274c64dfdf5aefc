"""The meters, lamps and flags show this; which of these failures explains it?

The readings named rule out every wrong choice. Failures that a person could not distinguish by them
are never choices of one question: a lamp without power is as dark as one that is not lit, and a
voltmeter may be off by what `sitegen.answers.observations` allows. Ammeters are left out: whether a
battery's ammeter shows anything depends on its state of charge.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial

from sitegen.answers.readings import (
    BLANK,
    LIT,
    LIT_OR_UNLIT,
    LOAD,
    NO_LOAD,
    NOT_KNOWN,
    Reading,
    reading_text,
    reads_as_before,
)
from sitegen.catalogue.model import Indication
from sitegen.pages.links import WHICH
from sitegen.quiz.facts import Facts, FailureCase, PageToRead
from sitegen.quiz.kinds.ask_cause import failed_choice
from sitegen.quiz.question import Kind, Question, Subject
from sitegen.quiz.seeded_random import SeededRandom
from sitegen.quiz.wrong_choices import question, wrong_choices
from sitegen.words import join_words

CLEARLY = 10
"""Percent or amps at which a loadmeter certainly shows load."""
FEWEST_SHOWN = 3
"""Changed readings that a question names, if there are as many."""
MOST_OTHERS = 3
"""Other changed readings that the reason names."""


def subjects(facts: Facts) -> Iterator[Subject]:
    """A subject for every case that some indication shows, with nobody having acted."""
    for case in facts.at_once:
        if _differing(_indications(facts), case.normal.readings, case.loss.readings):
            yield Subject(case.key, case.page.file, case.points, partial(_make, facts, case))


def _make(facts: Facts, case: FailureCase, rng: SeededRandom, near: bool) -> Question | None:
    known, normal, shown = _indications(facts), case.normal.readings, case.loss.readings
    changed = _differing(known, normal, shown)
    right = failed_choice(facts, case.faults)
    apart: dict[str, list[str]] = {}
    pool = []
    for other in facts.at_once:
        if other.number == case.number and _differing(known, normal, other.loss.readings):
            differs = _differing(known, shown, other.loss.readings)
            if differs:
                pool.append(failed_choice(facts, other.faults))
                apart[pool[-1].text] = differs
    wrong = wrong_choices(rng, right, pool, near, lambda c: -len(apart[c.text]))
    if wrong is None:
        return None
    named = {rng.choice(changed)}
    for differs in (apart[c.text] for c in wrong):
        if not named.intersection(differs):
            # A reading that has changed says more than one that has not.
            named.add(rng.choice([i for i in differs if i in changed] or differs))
    fill = rng.shuffled([i for i in changed if i not in named])
    named.update(fill[: max(0, FEWEST_SHOWN - len(named))])
    seen = [i for i in known if i.id in named]
    readings = join_words([f"{i.name} {_words(i, shown[i.id])}" for i in seen])
    text = f"{case.condition.name}: {readings}. Which of these failures explains it?"
    asks = {"condition": case.condition.id, "reads": {i.id: str(shown[i.id]) for i in seen}}
    others = [i for i in known if i.id in changed and i.id not in named]
    also = join_words([f"{i.name} {_words(i, shown[i.id])}" for i in others[:MOST_OTHERS]])
    more = f", and {len(others) - MOST_OTHERS} more" if len(others) > MOST_OTHERS else ""
    also_shown = f". Also: {also}{more}" if also else ""
    reason = f"Of these only this one shows all of it{also_shown}."
    page = PageToRead(WHICH, "Which one failed?")
    return question(rng, text, right, wrong, reason, page, asks)


def _indications(facts: Facts) -> list[Indication]:
    return [i for i in facts.network.catalogue.indications if i.kind != "ammeter"]


def _differing(
    known: list[Indication], before: Mapping[str, Reading], after: Mapping[str, Reading]
) -> list[str]:
    """The indications that distinguish two states to a person reading them."""
    return [
        i.id
        for i in known
        if before[i.id] != after[i.id] and not _indistinguishable(i, before[i.id], after[i.id])
    ]


def _indistinguishable(indication: Indication, one: Reading, other: Reading) -> bool:
    if indication.kind == "voltmeter":
        return reads_as_before(one, other)
    if indication.kind == "loadmeter":
        loaded = _loaded(one), _loaded(other)
        return None in loaded or loaded[0] == loaded[1]
    return LIT_OR_UNLIT in (one, other) or (one == LIT) == (other == LIT)


def _loaded(shown: Reading) -> bool | None:
    """Whether a loadmeter certainly shows load, or none; None if it could be read either way."""
    least, most = shown.span
    if shown in (LOAD, NO_LOAD, NOT_KNOWN) or (most and least < CLEARLY):
        return None
    return most > 0  # a blank meter is at zero


def _words(indication: Indication, shown: Reading) -> str:
    """A reading in words."""
    if indication.kind == "flag":
        return reading_text(shown, "flag")
    if indication.kind == "lamp":
        return "lit" if shown == LIT else "dark"
    if indication.kind == "loadmeter":
        return "shows load" if _loaded(shown) else "at zero"
    return "blank" if shown == BLANK else f"at {shown}"


KIND = Kind("readings", "the meters and lamps show this: what failed", subjects)
