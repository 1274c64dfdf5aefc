"""Where is the breaker of this: on which panel, at which position?

Points: one for equipment with several supplies, where the question has to name the bus as well.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from sitegen.catalogue.kinds import OVERCURRENT
from sitegen.pages.links import equipment_page, failure_page
from sitegen.quiz.facts import Facts, PageToRead
from sitegen.quiz.question import Choice, Kind, Question, Subject
from sitegen.quiz.question_wording import PLACARDED
from sitegen.quiz.seeded_random import SeededRandom
from sitegen.quiz.wrong_choices import question_from_pool
from sitegen.solver.network import Component, Connection


def subjects(facts: Facts) -> Iterator[Subject]:
    """A subject for every breaker and fuse with a position on a panel."""
    network = facts.network
    for item in facts.distinct_items:
        connections = network.connections[item]
        buses = [c.bus for c in connections]
        if len(set(buses)) < len(buses):
            continue
        for connection in connections:
            if connection.protector and _placed(network.components[connection.protector]):
                make = partial(_of_item, facts, item, connection)
                points = int(len(connections) > 1)
                yield Subject(f"{item} {connection.bus}", _panel(facts, connection), points, make)
    for device in network.catalogue.devices:
        known = network.components[device.id]
        # Equal placards are distinguished by the very positions that are asked for.
        unique = network.names[device.id] == known.name
        if unique and known.kind in OVERCURRENT and _placed(known):
            make = partial(_of_device, facts, known)
            yield Subject(device.id, known.panel or "", 0, make)


def _of_item(
    facts: Facts, item: str, connection: Connection, rng: SeededRandom, near: bool
) -> Question | None:
    network, name = facts.network, facts.network.names[item]
    known = network.components[connection.protector or ""]
    several = len(network.connections[item]) > 1
    bus = network.names[connection.bus]
    of = f"between {bus} and {name}" if several else f"of {name}"
    text = f"Where is the {known.kind} {of}?"
    rated = f", {known.amps:g} A" if known.amps else ""
    page = PageToRead(equipment_page(item), name)
    asks = {"item": item, "bus": connection.bus}
    # The item's other breakers are no wrong choices: one might have meant those.
    own = [network.components[c.protector] for c in network.connections[item] if c.protector]
    return _ask(facts, text, known, own, f"Placard {known.name}{rated}.", page, asks, rng, near)


def _of_device(facts: Facts, known: Component, rng: SeededRandom, near: bool) -> Question | None:
    network = facts.network
    placarded = known.kind in PLACARDED and known.kind not in known.name.lower()
    text = f"Where is {f'the {known.kind} placarded ' if placarded else ''}{known.name}?"
    feeds = [
        f"{network.names[r.origin]} to {network.names[r.target]}"
        for r in network.branches
        if known.id in r.through
    ]
    users = [
        network.names[owner]
        for owner, connections in network.connections.items()
        if any(known.id in c.through for c in connections)
    ]
    fed = f"{len(users)} users" if len(users) > 3 else ", ".join(users)
    joined = "; ".join([*feeds, *([fed] if fed else [])])
    reason = f"It is in: {joined}." if feeds else f"It feeds {joined}."
    page = PageToRead(failure_page(known.id), f"{network.names[known.id]}: if it fails")
    return _ask(facts, text, known, [known], reason, page, {"device": known.id}, rng, near)


def _ask(
    facts: Facts,
    text: str,
    known: Component,
    own: list[Component],
    reason: str,
    page: PageToRead,
    asks: dict[str, str],
    rng: SeededRandom,
    near: bool,
) -> Question | None:
    right = _choice(facts, known)
    taken = {(c.panel, c.at) for c in own}
    pool = [
        _choice(facts, c)
        for c in facts.network.components.values()
        if _placed(c) and (c.panel, c.at) not in taken
    ]
    order = {p.id: p.rows for p in facts.network.catalogue.panels}

    def similarity(choice: Choice) -> float:
        """The closer on the same panel, the more similar."""
        panel, at = choice.means["panel"], choice.means["at"]
        if panel != known.panel:
            return 0
        rows = order.get(panel, [])
        here, there = _at(known.at or "", rows), _at(at, rows)
        return 1 / (abs(here[0] - there[0]) + abs(here[1] - there[1]) or 1)

    return question_from_pool(rng, near, text, right, pool, similarity, reason, page, asks)


def _at(at: str, rows: list[str]) -> tuple[int, int]:
    """Row and column as numbers."""
    row = next((r for r in sorted(rows, key=len, reverse=True) if at.startswith(r)), "")
    column = at.removeprefix(row)
    return rows.index(row) if row else 0, int(column) if column.isdecimal() else 0


def _placed(component: Component) -> bool:
    return bool(component.panel and component.at)


def _panel(facts: Facts, connection: Connection) -> str:
    return facts.network.components[connection.protector or ""].panel or ""


def _choice(facts: Facts, component: Component) -> Choice:
    means = {"panel": component.panel, "at": component.at}
    return Choice(facts.network.positions[component.id], means)


KIND = Kind("place", "where is its breaker", subjects)
