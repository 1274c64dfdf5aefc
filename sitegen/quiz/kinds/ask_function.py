"""Which single failure takes this function? Where none does: which two together?

Points: one for a condition other than the first, one for two failures together.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from functools import partial

from sitegen.answers.cut_sets import ungrouped
from sitegen.answers.drop import function_states
from sitegen.catalogue.model import Condition, Function
from sitegen.pages.links import function_page
from sitegen.quiz.facts import Facts, PageToRead
from sitegen.quiz.kinds.ask_cause import failed_choice
from sitegen.quiz.question import Choice, Kind, Question, Subject
from sitegen.quiz.seeded_random import SeededRandom
from sitegen.quiz.wrong_choices import question_from_pool
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Fault, Scenario, bits, scenarios_of
from sitegen.terminal.function_text import needed_text
from sitegen.words import join_words

MOST_TRIED = 24
"""Failures of a provider that are paired up as wrong choices."""


@dataclass(frozen=True)
class _Case:
    """A function in a condition in which it works."""

    facts: Facts
    number: int
    """The condition's index in the author's order."""
    condition: Condition
    function: Function


def subjects(facts: Facts) -> Iterator[Subject]:
    """A subject for every function in every condition in which it works."""
    for number, condition in facts.conditions:
        for function in facts.network.catalogue.functions:
            normal = facts.answers.normal[number]
            if normal.functions[function.id] != "lost" and not normal.chatter:
                singles = facts.single_failures_losing(number, function.id)
                if not singles and facts.some_single_takes(number, function.id):
                    continue
                case = _Case(facts, number, condition, function)
                points = int(number > 0) + (not singles)
                make = partial(_single if singles else _pair, case)
                yield Subject(f"{function.id} {condition.id}", function.id, points, make)


def _single(case: _Case, rng: SeededRandom, near: bool) -> Question | None:
    facts, number, function = case.facts, case.number, case.function
    singles = facts.single_failures_losing(number, function.id)
    distinct = [f for f in singles if f[0] in facts.distinct_components]
    candidates = [f for f in distinct if f in facts.answers.single] or distinct
    if not candidates:
        return None
    fault = rng.choice(candidates)
    right = failed_choice(facts, (fault,))
    providers_lost = _providers_lost(facts, number, function)
    pool = [
        failed_choice(facts, (f,))
        for f, items in facts.effects[number].items()
        if f not in singles and items and _can_ask_about(facts, f)
    ]

    def similarity(choice: Choice) -> float:
        [failed] = choice.means["failed"]
        return providers_lost.get((failed["id"], failed["mode"]), 0)

    text = f"{_asked(case)} Which of these failures takes it?"
    reason = f"It takes {_taken(facts, number, function, facts.effects[number][fault])}."
    return _question(case, rng, near, text, right, pool, similarity, reason)


def _pair(case: _Case, rng: SeededRandom, near: bool) -> Question | None:
    facts, number, function = case.facts, case.number, case.function
    network = facts.network
    sets = ungrouped(network, facts.answers.function_sets[number].get(function.id, ()))
    # Breakers of one item are many and similar; a pair of them is not worth a question.
    pairs = [s for s in sets if len(s) == 2 and all(_can_ask_about(facts, f) for f in s)]
    if not pairs:
        return None
    taken = rng.choice(pairs)
    providers_lost = _providers_lost(facts, number, function)
    beside = rng.shuffled([f for f in providers_lost if _can_ask_about(facts, f)])[:MOST_TRIED]
    tried = [(one, other) for one in (*taken, *beside) for other in beside if one[0] != other[0]]
    tried = list({frozenset(p): p for p in (*tried, taken)}.values())
    outcome = solve(
        network, scenarios_of([Scenario(case.condition.id, p) for p in tried]), facts.answers.before
    )
    chatters = 0
    for mask in outcome.after.steady.chatters.values():
        chatters |= mask
    survives = outcome.scenarios.all & ~function_states(outcome)[function.id][0] & ~chatters
    right = failed_choice(facts, taken)
    pool = [failed_choice(facts, tried[k]) for k in bits(survives)]

    def similarity(choice: Choice) -> float:
        members = [(f["id"], f["mode"]) for f in choice.means["failed"]]
        return sum(providers_lost.get(f, 0) + 2 * (f in taken) for f in members)

    text = f"{_asked(case)} No single failure takes it. Which two together do?"
    gone = {i for i, mask in outcome.lost.items() if mask >> tried.index(taken) & 1}
    reason = f"Together they take {_taken(facts, number, function, gone)}; neither does alone."
    return _question(case, rng, near, text, right, pool, similarity, reason)


def _question(
    case: _Case,
    rng: SeededRandom,
    near: bool,
    text: str,
    right: Choice,
    pool: list[Choice],
    similarity: Callable[[Choice], float],
    reason: str,
) -> Question | None:
    function = case.function
    page = PageToRead(function_page(function.id), f"{function.name}: function")
    asks = {"condition": case.condition.id, "function": function.id}
    return question_from_pool(rng, near, text, right, pool, similarity, reason, page, asks)


def _asked(case: _Case) -> str:
    condition, function = case.condition, case.function
    names = [case.facts.network.names[p] for p in function.equipment]
    if not all(isinstance(p, str) for p in function.provided_by):
        by = f"needed: {needed_text(case.facts.network, function)}"
    elif len(names) == 1:
        by = f"by {names[0]}"
    elif function.need == len(names):
        by = f"all of {join_words(names)} needed"
    else:
        by = f"{function.need} of {join_words(names)} needed"
    return f"{condition.name}, function '{function.name}' ({by})."


def _taken(facts: Facts, number: int, function: Function, gone: Collection[str]) -> str:
    """The providers that a failure takes, and those that were not on before."""
    names, normal = facts.network.names, facts.answers.normal[number]
    off = [p for p in function.equipment if p in normal.not_powered]
    taken = join_words([names[p] for p in function.equipment if p in gone])
    if not off:
        return taken
    were = "was" if len(off) == 1 else "were"
    return f"{taken}; {join_words([names[p] for p in off])} {were} not on"


def _can_ask_about(facts: Facts, fault: Fault) -> bool:
    return fault in facts.answers.single and fault[0] in facts.distinct_components


def _providers_lost(facts: Facts, number: int, function: Function) -> dict[Fault, int]:
    """By failure, the number of providers that it takes; those that take none are left out."""
    return {
        fault: len(providers)
        for fault, lost in facts.effects[number].items()
        if (providers := lost.intersection(function.equipment))
    }


KIND = Kind("function", "which failure takes this function", subjects)
