"""Which airframes of the fleet have this, have it on this bus, or keep it in this failure?

The choices are sets of airframes, so that exactly one is right. Points: none for what is fitted,
one for what is wired, two for what a failure leaves.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial
from itertools import combinations

from sitegen.pages.links import bus_page, equipment_page, failure_page
from sitegen.quiz.facts import Facts, FailureCase, PageToRead
from sitegen.quiz.question import Choice, Kind, Question, Subject
from sitegen.quiz.question_wording import why_lost, why_works
from sitegen.quiz.seeded_random import SeededRandom
from sitegen.quiz.wrong_choices import normalised, question_from_pool
from sitegen.solver.network import Network
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import bits, every_single
from sitegen.words import join_words

MOST = 6
"""Airframes; with more the choices are too long to read."""
LONGEST = 140
"""Characters of a choice."""
A_TOPIC = "airframe"


def subjects(facts: Facts) -> Iterator[Subject]:
    """Subjects only where there are several airframes, and not all are the same."""
    if not 1 < len(facts.fleet) <= MOST:
        return
    yield from _fitted(facts)
    yield from _wired(facts)
    yield from _kept(facts)


def _fitted(facts: Facts) -> Iterator[Subject]:
    """What is fitted to some airframes, this one among them."""
    c = facts.network.catalogue
    pages = {
        **{e.name: PageToRead(equipment_page(e.id), e.name) for e in c.equipment},
        **{b.name: PageToRead(bus_page(b.id), b.name) for b in c.buses},
        **{
            d.name: PageToRead(failure_page(d.id), f"{d.name}: if it fails")
            for d in (*c.sources, *c.devices)
        },
    }
    names = {n.airframe: _names(n) for n in facts.fleet}
    for name, page in pages.items():
        have = tuple(a for a in facts.airframes if name in names[a])
        elsewhere = {normalised(n) for a in facts.airframes if a not in have for n in names[a]}
        # An 'Avionics relay 1' elsewhere could be mistaken for the 'Avionics relay' here.
        if elsewhere and not any(_contains(n, normalised(name)) for n in elsewhere):
            text = f"Which airframes have this fitted: {name}?"
            reason = f"The catalogue lists it for {_airframe_names(facts, have)}."
            asks = {"fitted": name}
            yield Subject(
                f"fitted {name}",
                f"{A_TOPIC} {have}",
                0,
                partial(_make, facts, text, have, reason, page, asks),
            )


def _names(network: Network) -> frozenset[str]:
    c = network.catalogue
    return frozenset(r.name for r in (*c.equipment, *c.buses, *c.sources, *c.devices))


def _contains(one: str, other: str) -> bool:
    """Whether one name contains the other."""
    return f" {one} " in f" {other} " or f" {other} " in f" {one} "


def _same_everywhere(facts: Facts, thing: str) -> bool:
    """Whether an id is fitted to every airframe, under one name."""
    return len({network.names.get(thing) for network in facts.fleet}) == 1


def _wired(facts: Facts) -> Iterator[Subject]:
    """What is on a bus on some airframes only, though all have both the item and the bus."""
    network = facts.network
    for item in facts.distinct_items:
        if not _same_everywhere(facts, item):
            continue
        for bus in dict.fromkeys(c.bus for c in network.connections[item]):
            if not _same_everywhere(facts, bus):
                continue
            have = tuple(
                other.airframe
                for other in facts.fleet
                if any(c.bus == bus for c in other.connections[item])
            )
            if len(have) == len(facts.airframes):
                continue
            name, on = network.names[item], network.names[bus]
            make = partial(
                _make,
                facts,
                f"Which airframes have {name} on {on}?",
                have,
                f"Only there: {_airframe_names(facts, have)}.",
                PageToRead(equipment_page(item), name),
                {"item": item, "bus": bus},
            )
            yield Subject(f"wired {item} {bus}", f"{A_TOPIC} {item}", 1, make)


def _kept(facts: Facts) -> Iterator[Subject]:
    """What a failure leaves working on some airframes only."""
    first = {c.faults[0]: c for c in facts.singles}
    faults = [f for f in first if all(f in n.faults for n in facts.fleet)]
    faults = [f for f in faults if _same_everywhere(facts, f[0])]
    conditions = [
        c.id
        for _, c in facts.conditions
        if all(n.condition_names.get(c.id) == c.name for n in facts.fleet)
    ]
    if not faults or not conditions:
        return
    # Bit k is the same failure in the same condition on every airframe.
    scenarios = every_single(conditions, faults)
    outcomes = [solve(network, scenarios) for network in facts.fleet]
    steady = scenarios.all
    for outcome in outcomes:
        for mask in outcome.before.steady.chatters.values():
            steady &= ~outcome.was(mask)
        for mask in outcome.after.steady.chatters.values():
            steady &= ~mask
    cases = {(c.condition.id, c.faults[0]): c for c in facts.singles}
    for item in facts.distinct_items:
        if not _same_everywhere(facts, item):
            continue
        some, every, worked = 0, scenarios.all, steady
        for outcome in outcomes:
            some |= outcome.lost[item]
            every &= outcome.lost[item]
            worked &= outcome.worked[item]
        for k in bits(some & ~every & worked):
            scenario = scenarios.at(k)
            case = cases.get((scenario.condition, scenario.faults[0]))
            if case is not None:
                have = tuple(
                    outcome.network.airframe
                    for outcome in outcomes
                    if not outcome.lost[item] >> k & 1
                )
                yield Subject(
                    f"left {case.key} {item}",
                    case.page.file,
                    2,
                    partial(_make_kept, facts, case, item, have),
                )


def _make_kept(
    facts: Facts, case: FailureCase, item: str, have: tuple[str, ...], rng: SeededRandom, near: bool
) -> Question | None:
    network = facts.network
    text = (
        f"{case.condition.name}: {case.words}. Which airframes keep this working:"
        f" {network.names[item]}?"
    )
    why = (
        why_lost(network, case.loss, item)
        if item in case.lost
        else why_works(network, case.loss, case.normal, item)
    )
    reason = f"On {facts.answers.airframe.name}: {why[0].lower()}{why[1:]}"
    asks = {**case.asks, "item": item}
    return _make(facts, text, have, reason, case.page, asks, rng, near)


def _make(
    facts: Facts,
    text: str,
    have: tuple[str, ...],
    reason: str,
    page: PageToRead,
    asks: Mapping[str, object],
    rng: SeededRandom,
    near: bool,
) -> Question | None:
    right = _choice(facts, have)
    every = facts.airframes
    sets = [s for n in range(1, len(every) + 1) for s in combinations(every, n) if s != have]
    pool = [_choice(facts, s) for s in sets]
    if any(len(c.text) > LONGEST for c in (right, *pool)):
        return None

    def similarity(choice: Choice) -> float:
        return -len(set(have).symmetric_difference(choice.means["airframes"]))

    return question_from_pool(rng, near, text, right, pool, similarity, reason, page, asks)


def _choice(facts: Facts, airframes: tuple[str, ...]) -> Choice:
    return Choice(_airframe_names(facts, airframes), {"airframes": list(airframes)})


def _airframe_names(facts: Facts, airframes: tuple[str, ...]) -> str:
    names = {a.id: a.name for a in facts.network.catalogue.airframes}
    if len(airframes) == len(names):
        return "All of them"
    text = join_words([names[a] for a in airframes])
    return f"{text} only" if len(airframes) == 1 else text


KIND = Kind("airframe", "which airframes have this", subjects)
