"""Which bus is this on?

Points: one for equipment with several supplies.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from sitegen.pages.links import equipment_page
from sitegen.quiz.facts import Facts, PageToRead
from sitegen.quiz.question import Choice, Kind, Question, Subject
from sitegen.quiz.seeded_random import SeededRandom
from sitegen.quiz.wrong_choices import question_from_pool
from sitegen.solver.network import Connection
from sitegen.words import join_words


def subjects(facts: Facts) -> Iterator[Subject]:
    """A subject for every piece of equipment whose supplies come from different buses."""
    buses = {b.id for b in facts.network.catalogue.buses}
    for item in facts.distinct_items:
        on = [c.bus for c in facts.network.connections[item]]
        if len(set(on)) == len(on) and buses.issuperset(on):
            yield Subject(item, on[0], int(len(on) > 1), partial(_make, facts, item))


def _make(facts: Facts, item: str, rng: SeededRandom, near: bool) -> Question | None:
    network, names = facts.network, facts.network.names
    connections = rng.shuffled(network.connections[item])
    asked, *others = connections
    name = names[item]
    if others:
        # In the author's order, which does not give the answer away.
        known = [names[c.bus] for c in network.connections[item] if c is not asked]
        text = f"{name}: on {join_words(known)}, and on which other bus?"
    else:
        text = f"{name}: on which bus?"
    on = {c.bus for c in connections}
    right = _choice(facts, asked.bus)
    pool = [_choice(facts, b.id) for b in network.catalogue.buses if b.id not in on]

    def similarity(choice: Choice) -> float:
        on_it = network.on_bus[choice.means["bus"]]
        return max((facts.similarity(item, other) for other, _ in on_it), default=0)

    page = PageToRead(equipment_page(item), name)
    asks = {"item": item, "besides": [c.bus for c in others]}
    return question_from_pool(
        rng, near, text, right, pool, similarity, _reason(facts, asked), page, asks
    )


def _reason(facts: Facts, connection: Connection) -> str:
    network = facts.network
    bus = network.names[connection.bus]
    if connection.protector is None:
        return f"It is on {bus}, without a breaker of its own."
    known = network.components[connection.protector]
    place = network.positions[known.id]
    rated = f", {known.amps:g} A" if known.amps else ""
    return f"From {bus} through {known.name}{rated}{f': {place}' if place else ''}."


def _choice(facts: Facts, bus: str) -> Choice:
    return Choice(facts.network.names[bus], {"bus": bus})


KIND = Kind("bus", "which bus is this on", subjects)
