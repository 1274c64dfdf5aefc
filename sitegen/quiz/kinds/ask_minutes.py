"""How many minutes does the battery last?

The right figure is the battery's endurance, rounded down as on the pages. The wrong ones result
from common mistakes (nothing shed, all of the capacity counted) or are figures around the right
one. Choices differ by at least three minutes and at least a tenth of the right time.

Points: as for any case; one more if the crew sheds load.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

from sitegen.answers.drop import faults_of
from sitegen.answers.endurance.results import Endurance, Stage
from sitegen.catalogue.model import Condition, Failure
from sitegen.pages.links import LOADS, named_failure_page
from sitegen.quantities import (
    LONGEST_MINUTES,
    PLAIN,
    Fraction,
    decimals,
    exactly,
    whole,
    whole_minutes,
)
from sitegen.quiz.facts import LONGEST_ACTS, Facts, PageToRead, in_use
from sitegen.quiz.question import Choice, Kind, Question, Subject
from sitegen.quiz.seeded_random import SeededRandom
from sitegen.quiz.wrong_choices import question_from_pool
from sitegen.terminal.shared_text import crew_acts
from sitegen.words import join_words

LEAST_MINUTES, LEAST_SHARE = 3, 0.1
SHARES = (0.4, 0.5, 0.6, 0.7, 0.8, 0.88, 1.13, 1.25, 1.4, 1.6, 1.8, 2.2)
"""Of the right figure; further wrong choices."""


def subjects(facts: Facts) -> Iterator[Subject]:
    """A subject for every condition by itself and with every named failure, for each battery."""
    batteries = [s.id for s in facts.network.sources.values() if s.kind == "battery"]
    for number, condition in facts.conditions:
        normal = facts.answers.normal[number]
        for failure in (None, *facts.network.catalogue.failures):
            faults = faults_of(facts.network, failure) if failure else ()
            if normal.chatter or not all(in_use(normal, f) for f in faults):
                continue
            for battery in batteries:
                acts = failure is not None and failure.crew_does(condition.id).changes_wiring
                points = int(number > 0) + acts
                named = failure.id if failure else ""
                yield Subject(
                    f"{condition.id} {named} {battery}",
                    named,
                    points,
                    partial(_make, facts, condition, failure, battery),
                )


def _make(
    facts: Facts,
    condition: Condition,
    failure: Failure | None,
    battery: str,
    rng: SeededRandom,
    near: bool,
) -> Question | None:
    names = facts.network.names
    endurances = facts.endurances(condition.id, failure.id if failure else None)
    endurance = next((c for c in endurances if c.battery == battery), None)
    if endurance is None or endurance.unknown or None in (endurance.total, endurance.capacity):
        return None
    if endurance.if_nothing_opens or endurance.moves_by_volts:
        return None
    minutes = whole_minutes(endurance.total or 0)
    if not 1 <= minutes <= LONGEST_MINUTES:
        return None
    right = _choice(minutes)
    pool: list[Choice] = []
    for figure in (*_common_mistakes(endurance), *(minutes * exactly(s) for s in SHARES)):
        wrong = whole_minutes(figure)
        if wrong > 0 and all(
            _far_enough(wrong, minutes, c.means["minutes"]) for c in (right, *pool)
        ):
            pool.append(_choice(wrong))
    happened = f"{failure.name}." if failure else "nothing has failed."
    shed = endurance.asked.recognition_minutes
    acts = crew_acts(facts.network, failure.crew_does(condition.id)) if failure else ""
    if len(acts) > LONGEST_ACTS:
        return None
    if acts:
        happened += f" {f'After {shed:g} minutes: t' if shed else 'T'}{acts[1:]}."
    asked = f"How long does {names[battery]} last, in whole minutes?"
    text = f"{condition.name}: {happened} {asked}"
    page = (
        PageToRead(named_failure_page(failure.id), f"{failure.name}: named failure")
        if failure
        else PageToRead(LOADS, "Loads")
    )
    failed = failure.id if failure else None
    asks = {"condition": condition.id, "failure": failed, "battery": battery}

    def similarity(choice: Choice) -> float:
        return -abs(math.log(choice.means["minutes"] / minutes))

    def order(choice: Choice) -> float:
        return float(choice.means["minutes"])

    reason = _reason(endurance)
    return question_from_pool(rng, near, text, right, pool, similarity, reason, page, asks, order)


def _common_mistakes(endurance: Endurance) -> Iterator[Fraction]:
    """Figures that result if one stage or the unusable capacity is forgotten."""
    capacity, total = exactly(endurance.capacity or 0), exactly(endurance.total or 0)
    yield total / exactly(endurance.asked.usable)
    stages = (endurance.recognition, endurance.cruise, endurance.landing)
    yield from (capacity / stage.amps for stage in stages if stage.amps > 0)


def _far_enough(wrong: int, right: int, other: int) -> bool:
    return abs(wrong - other) >= max(LEAST_MINUTES, LEAST_SHARE * right)


def _reason(endurance: Endurance) -> str:
    stages = (
        (endurance.recognition, " until the crew acts"),
        (endurance.cruise, ""),
        (endurance.landing, " for the landing"),
    )
    used = [f"{_stage(stage)}{what}" for stage, what in stages if stage.minutes]
    return f"Usable capacity {whole(endurance.capacity or 0)} A-min: {join_words(used)}."


def _stage(stage: Stage) -> str:
    return f"{decimals(stage.minutes or 0, 1)} min at {PLAIN.amps(stage.amps)}"


def _choice(minutes: int) -> Choice:
    return Choice(f"{minutes} min", {"minutes": minutes})


KIND = Kind("minutes", "how many minutes the battery lasts", subjects)
