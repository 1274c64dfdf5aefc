"""The page of a piece of equipment: how it is fed, where its breaker is, what can take it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from markupsafe import Markup

from sitegen.answers.cut_sets import GroupedSet
from sitegen.answers.single_failures import CONFLICT
from sitegen.answers.three_answers import REMARKS, Answer
from sitegen.answers.trace import Cause, Path, carried_on, causes, paths_to
from sitegen.catalogue.ata_chapters import chapter, chapter_title
from sitegen.catalogue.kinds import KINDS, MODE_NOUNS, OVERCURRENT
from sitegen.catalogue.line_facts import gauge_as_written, length_as_written
from sitegen.catalogue.model import Amps, Equipment, Supply
from sitegen.pages.fragments.condition_states import StateRow
from sitegen.pages.fragments.failure_sets import SetsInCondition, sets_in_condition, single_failures
from sitegen.pages.fragments.infeed_list import infeed_paths
from sitegen.pages.fragments.named_effects import named_effects
from sitegen.pages.fragments.panel_map import supply_maps
from sitegen.pages.links import equipment_page
from sitegen.pages.page_context import PageContext, PageKind, once_per_context
from sitegen.pages.theme import macro
from sitegen.pages.views import by_text, classes, items_with_classes, with_classes
from sitegen.quantities import NO_BREAK
from sitegen.solver.network import Connection, Network
from sitegen.solver.outcome import Outcome
from sitegen.terminal.shared_text import conditions_text
from sitegen.terminal.voltage_text import (
    BY_THE_TABLE,
    left_words,
    sag_effects,
    supply_words,
    volts_words,
)
from sitegen.words import join_words

NAMED_AT_ONCE = 2
"""How many other items a breaker's line names before it counts the rest."""

MOST_NAMED = 3
"""Up to this many other items a cause names; of more, the failure's own page has the list."""


Also = tuple[tuple[str, ...], tuple[str, ...]]
"""Conditions, and the other items that a cause takes in them."""


def _values(context: PageContext, equipment: Equipment) -> Mapping[str, Any]:
    answers, item = context.answers, equipment.id
    connections = answers.network.connections[item]
    buses = tuple(dict.fromkeys(c.bus for c in connections))
    return {
        **context.by_state([_state(context, item, i) for i in range(len(answers.conditions))]),
        "equipment": equipment,
        "checked": context.checked(equipment.id),
        "sags": _sags(context, item),
        "by_the_table": BY_THE_TABLE,
        "supplies": [_supply(context, item, i, c) for i, c in enumerate(connections)],
        "maps": supply_maps(context, item),
        "required_by": answers.required_by.get(item, ()),
        "functions": [f for f in answers.network.catalogue.functions if item in f.equipment],
        "draws": _draws(context, equipment),
        "causes": _causes(context, item),
        "no_cause": _no_cause(context, item),
        "most_named": MOST_NAMED,
        "comes_on_by": _caused_by(context, lambda outcome: outcome.comes_on[item]),
        "not_known_by": _caused_by(context, lambda outcome: outcome.unsure[item]),
        "conflict": CONFLICT,
        "named": named_effects(context, answers.named_failures.on_item(item)),
        "sets": _sets(context, item),
        "infeeds": [(bus, infeed_paths(context, bus)) for bus in buses],
        "drawing": context.drawings.live(about=buses),
    }


def _state(context: PageContext, item: str, condition: int) -> StateRow:
    before, connections = context.answers.before, context.answers.network.connections[item]
    works = before.works[item] >> condition & 1
    fed = [
        c.bus
        for c, mask in zip(connections, before.fed[item], strict=True)
        if mask >> condition & 1
    ]
    fed_from = context.fragments.list(dict.fromkeys(fed)) if fed else Markup("")
    if not works:
        if fed:
            fed_from = Markup("power from {}, but not all that it needs").format(fed_from)
        return StateRow("dead", "Not powered", fed_from)
    if before.on_battery[item] >> condition & 1:
        return StateRow("battery", "Works, battery only", fed_from)
    return StateRow("live", "Works", fed_from)


def _supply(context: PageContext, item: str, index: int, connection: Connection) -> dict[str, Any]:
    fed = context.answers.before.fed[item][index]
    states = [
        (row.state, row.word) if fed >> i & 1 else ("dead", "no power here")
        for i, row in enumerate(context.node_states[connection.bus])
    ]
    supply = context.answers.network.equipment[item].supplies[index]
    lacks = {"length": supply.length, "gauge": supply.wire}
    return {
        "connection": connection,
        "states": macro("states")(with_classes(states), context.drawings.marks),
        "through": [d for d in connection.through if d != connection.protector],
        "opens": _opens(context, item, connection),
        "wire": _wire(supply),
        "upstream": _upstream(context, connection.bus),
        "lacks": " or ".join(name for name, has in lacks.items() if has is None),
        "drops": _drops(context, item, index) if connection.ohms is not None else "",
    }


def _wire(supply: Supply) -> str:
    """The conductor of a supply, as far as the catalogue has it."""
    if supply.wire is None:
        return ""
    length = f", {length_as_written(supply.length)}" if supply.length else ""
    return f"{gauge_as_written(supply.wire)} gauge wire{length}"


@once_per_context
def _upstream(context: PageContext, bus: str) -> Markup:
    """What is in the wiring to a bus in each condition, with what protects it.

    That is on the shortest path from each source that carries the bus. Where nothing says which do,
    it is on the shortest live path. The page of the bus has all of them, with links.
    """
    before = context.answers.before
    paths, _ = paths_to(before, bus)
    carried = [carried_on(before, path) for path in paths]
    lines: list[list[tuple[int, str]]] = []
    sources = list(context.answers.network.sources)
    for i in range(len(context.answers.conditions)):
        live = [path for path in paths if path.live >> i & 1][:1]
        carrying = [path for path, mask in zip(paths, carried, strict=True) if mask >> i & 1]
        shortest = {path.source: path for path in reversed(carrying or live)}
        paths_from = Counter(path.source for path in carrying or live)
        here = [
            (sources.index(s), _devices(context, p, paths_from[s])) for s, p in shortest.items()
        ]
        idle = [
            context.answers.network.names[s]
            for s in sources
            if s not in shortest and before.reach[s].get(bus, 0) >> i & 1
        ]
        if idle:
            here.append((len(sources), f"Connected to it too: {join_words(idle)}."))
        lines.append(here)
    rows = [(text, where) for (_, text), where in sorted(items_with_classes(lines))]
    return macro("in_views")("span", [(text, f"also{where}") for text, where in rows])


def _devices(context: PageContext, path: Path, paths: int) -> str:
    """The devices of a path in words, from its bus to its source."""
    network, ways = context.answers.network, f", shortest of {paths} paths" if paths > 1 else ""
    words = [
        context.fragments.rated_text(d)
        if network.components[d].kind in OVERCURRENT
        else network.names[d]
        for d in reversed(path.devices)
    ]
    protected = any(network.components[d].kind in OVERCURRENT for d in path.devices)
    begins = "Upstream" if protected else "No breaker or fuse link upstream"
    through = f": {', '.join(words)}" if words else ""
    return f"{begins}, from {network.names[path.source]}{ways}{through}."


def _drops(context: PageContext, item: str, index: int) -> Markup:
    """What drops on a supply, in each condition in which it carries something."""
    supplies = [here.supplies.get((item, index)) for here in context.answers.voltage_drops]
    texts = [supply_words(NO_BREAK, s) if s and s.highest else "" for s in supplies]
    return by_text("span", [f"Drops {text}." if text else "" for text in texts], "also")


def _sags(context: PageContext, item: str) -> list[Markup]:
    """What sags while it draws its short-time amps, in each condition where something does."""
    links, names = context.fragments.links, context.answers.network.condition_names
    rows = []
    for condition, sag in context.answers.start_sags.get(item, ()):
        words = [
            Markup("{}: at {} {} {}").format(
                names[condition],
                NO_BREAK.amps(sag.item_amps),
                Markup(" and ").join(links[s] for s in sag.sources),
                join_words([left_words(NO_BREAK, left) for left in sag.sources.values()]),
            )
        ]
        if sag.at_item:
            words.append(Markup("{} at the item").format(volts_words(NO_BREAK, sag.at_item)))
        words += [
            Markup("{} {}").format(text, context.fragments.list(ids))
            for text, ids in sag_effects(sag)
        ]
        rows.append(Markup("; ").join(words))
    return rows


def _opens(context: PageContext, item: str, connection: Connection) -> Markup:
    """What the supply's own breaker takes when it opens."""
    if connection.protector is None:
        return Markup("")
    fault = (connection.protector, "open")
    outcome = context.answers.every_fault
    mask = outcome.scenarios.failed[fault]
    taken = [e for e, lost in outcome.lost.items() if lost & mask and e != item]
    lost = outcome.lost[item] & mask
    text = Markup("If it opens, this {}.").format("is lost" if lost else "still works")
    if taken:
        names = context.fragments.list(taken, NAMED_AT_ONCE)
        text += Markup(" Also lost then: {}.").format(names)
    return text


def _sets(context: PageContext, item: str) -> list[SetsInCondition]:
    """The failures that take it only together, in the first condition in which it works."""
    if item not in context.answers.equipment_sets:
        return []
    condition, sets = context.answers.equipment_sets[item]
    name = context.answers.conditions[condition].name
    found = sets_in_condition(context, name, sets, context.answers.largest_set)
    other = _fed_the_same(context)[item]
    if found.sizes and other != item and _together(context, other) == _together(context, item):
        found = replace(found, same_as=context.fragments.failure_sets[other])
    return [found]


@once_per_context
def _together(context: PageContext, item: str) -> tuple[int, tuple[GroupedSet, ...]] | None:
    """The first condition in which an item works, and its sets there of two failures and more."""
    if item not in context.answers.equipment_sets:
        return None
    condition, sets = context.answers.equipment_sets[item]
    return condition, tuple(s for s in sets if len(s) > 1)


@once_per_context
def _fed_the_same(context: PageContext) -> dict[str, str]:
    """By equipment: the first that has its supplies from the same buses and the same needs."""
    network, first = context.answers.network, dict[object, str]()
    found = {}
    for item, equipment in network.equipment.items():
        buses = tuple(sorted(c.bus for c in network.connections[item]))
        needs = equipment.needs, equipment.min_volts, tuple(map(str, equipment.requires))
        found[item] = first.setdefault((buses, needs), item)
    return found


def _causes(context: PageContext, item: str) -> list[dict[str, Any]]:
    """The single failures that take the item. Modes that take the same are one row."""
    answers = context.answers
    by_mode: dict[tuple[str, Answer], dict[str, list[Cause]]] = {}
    for cause in causes(answers.single_failures, item):
        component, mode = cause.by.fault
        by_mode.setdefault((component, cause.by.answer), {}).setdefault(mode, []).append(cause)
    together: dict[tuple[str, Answer, tuple[Also, ...]], list[str]] = {}
    for (component, answer), modes in by_mode.items():
        for mode, of_mode in modes.items():
            takes = tuple((cause.by.conditions, cause.also_lost) for cause in of_mode)
            together.setdefault((component, answer, takes), []).append(MODE_NOUNS[mode].lower())
    rows = []
    for (component, answer, takes), nouns in together.items():
        kind = answers.network.components[component].kind
        rows.append(
            {
                "kind": f"{KINDS[kind].noun} " if kind in ("breaker", "fuse") else "",
                "component": component,
                "modes": " or ".join(nouns),
                "only": REMARKS[answer],
                "classes": _shown_in(answers.network, [c for where, _ in takes for c in where]),
                "takes": [
                    (_shown_in(answers.network, where) if len(takes) > 1 else "", also)
                    for where, also in takes
                ],
            }
        )
    return rows


def _shown_in(network: Network, conditions: Sequence[str]) -> str:
    """The classes of what shows in these conditions only."""
    every = list(network.condition_names)
    return classes(sum(1 << every.index(c) for c in conditions), len(every))


def _no_cause(context: PageContext, item: str) -> str | None:
    """The classes of the line that no single failure takes it; None where one always does."""
    network = context.answers.network
    some = {
        c for cause in causes(context.answers.single_failures, item) for c in cause.by.conditions
    }
    none = [c for c in network.condition_names if c not in some]
    return _shown_in(network, none) if none else None


def _caused_by(context: PageContext, pick: Callable[[Outcome], int]) -> list[tuple[Markup, str]]:
    """The single failures that have an effect on the item, each with its conditions."""
    network, failures = context.answers.network, context.answers.single_failures
    return [
        (single_failures(context, [by])[0], conditions_text(network, by.conditions))
        for by in failures.where(pick)
    ]


def _draws(context: PageContext, equipment: Equipment) -> str:
    """Its figures, as the catalogue has them, and how they follow the volts."""
    network = context.answers.network
    words = [
        f"{_figures(context, amps) or 'not known'} on {network.names[supply.bus]}"
        for supply, amps in zip(equipment.supplies, equipment.amps_of_supplies, strict=False)
    ]
    figures = join_words(words) if words else _figures(context, equipment.amps)
    taken_at = network.catalogue.aircraft.load_volts
    if figures and taken_at is not None and equipment.id in network.follow_volts:
        figures += f", taken at {NO_BREAK.volts(taken_at)} ({equipment.load.replace('-', ' ')})"
    return figures


def _figures(context: PageContext, amps: Amps | None) -> str:
    if isinstance(amps, dict):
        columns = {c.id: c.name for c in context.answers.network.catalogue.load_columns}
        return "; ".join(f"{columns[c]}: {NO_BREAK.rated(a)}" for c, a in amps.items())
    return NO_BREAK.rated(amps)


PAGE: PageKind[Equipment] = PageKind(
    template="equipment",
    subjects=lambda context: context.answers.network.equipment.values(),
    path=lambda equipment: equipment_page(equipment.id),
    title=lambda equipment: equipment.name,
    kind=lambda context, e: f"ATA {e.ata}, {chapter_title(chapter(e.ata))[3:]}",
    values=_values,
    depends_on=lambda context, equipment: [equipment.id],
)
