"""The page of a piece of equipment: how it is fed, where its breaker is, what can take it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from markupsafe import Markup

from sitegen.answers.cut_sets import LARGEST_SET
from sitegen.catalogue.ata_chapters import chapter, chapter_title
from sitegen.catalogue.kinds import KINDS, MODE_NOUNS
from sitegen.catalogue.model import AnyOf, Equipment
from sitegen.pages.fragments.condition_states import StateRow
from sitegen.pages.fragments.failure_sets import sets_in_condition
from sitegen.pages.fragments.infeed_list import infeed_paths
from sitegen.pages.fragments.panel_map import supply_maps
from sitegen.pages.links import equipment_page
from sitegen.pages.page_context import PageContext, PageKind
from sitegen.pages.theme import macro
from sitegen.pages.views import with_classes
from sitegen.quantities import NO_BREAK
from sitegen.solver.network import Connection
from sitegen.words import join_words

NAMED_AT_ONCE = 6
"""How many other items a cause names before it sends on to the failure's own page."""


def _values(context: PageContext, equipment: Equipment) -> Mapping[str, Any]:
    answers, fragments = context.answers, context.fragments
    network, item = answers.network, equipment.id
    rows = _states(context, item)
    connections = network.connections[item]
    requires = [
        Markup("one of {}").format(fragments.list(r.any))
        if isinstance(r, AnyOf)
        else fragments.links[r]
        for r in equipment.requires
    ]
    return {
        "rows": context.by_condition([row.word for row in rows]),
        "states": rows,
        "needs": _needs(equipment, len(connections)),
        "supplies": [_supply(context, item, i, c) for i, c in enumerate(connections)],
        "maps": supply_maps(context, item),
        "on_loss": context.fragments.prose(equipment.on_loss),
        "requires": requires,
        "required_by": fragments.list(answers.required_by.get(item, ())),
        "functions": list(_functions(context, item)),
        "draws": _draws(context, equipment),
        "causes": _causes(context, item),
        "sets": _sets(context, item),
        "infeeds": [
            infeed_paths(context, bus) for bus in dict.fromkeys(c.bus for c in connections)
        ],
        "note": context.fragments.prose(equipment.note),
        "reference": equipment.reference or "",
        "drawing": context.drawings.feed(
            tuple(dict.fromkeys(c.bus for c in connections)), answers.normal
        ),
    }


def _states(context: PageContext, item: str) -> list[StateRow]:
    answers = context.answers
    before, found = answers.before, []
    for i, condition in enumerate(answers.conditions):
        works = before.works[item] >> i & 1
        battery = before.on_battery[item] >> i & 1
        state = "dead" if not works else "battery" if battery else "live"
        word = {"dead": "Not powered", "battery": "Works, battery only", "live": "Works"}[state]
        fed = [
            c.bus
            for c, mask in zip(answers.network.connections[item], before.fed[item], strict=True)
            if mask >> i & 1
        ]
        fed_from = context.fragments.list(dict.fromkeys(fed)) if fed else Markup("")
        if fed and not works:
            fed_from = Markup("power from {}, but not all that it needs").format(fed_from)
        found.append(
            StateRow(i, condition.name, state, word, context.drawings.marks[state], fed_from)
        )
    return found


def _needs(equipment: Equipment, supplies: int) -> str:
    if supplies == 1:
        return "One supply."
    word = "All are needed." if equipment.needs == "all" else "Any one is enough."
    return f"{supplies} supplies. {word}"


def _supply(
    context: PageContext, item: str, index: int, connection: Connection
) -> dict[str, object]:
    answers, fragments = context.answers, context.fragments
    fed = answers.before.fed[item][index]
    shown = [
        (row.state, row.word) if fed >> row.number & 1 else ("dead", "no power here")
        for row in context.node_states[connection.bus]
    ]
    others = [d for d in connection.through if d != connection.protector]
    return {
        "bus": fragments.links[connection.bus],
        "says": macro("states")(with_classes(shown), context.drawings.marks),
        "place": fragments.places[connection.protector] if connection.protector else "",
        "kind": KINDS[answers.network.components[connection.protector].kind].noun
        if connection.protector
        else "",
        "through": fragments.list(others),
        "opens": _opens(context, item, connection),
    }


def _opens(context: PageContext, item: str, connection: Connection) -> Markup:
    """What the supply's own breaker takes when it opens."""
    if connection.protector is None:
        return Markup("")
    fault = (connection.protector, "open")
    cause = context.answers.causes[item].get(fault)
    outcome = context.answers.every_fault
    mask = outcome.scenarios.failed[fault]
    taken = [e for e, lost in outcome.lost.items() if lost & mask and e != item]
    others = (
        Markup(" Also lost then: {}.").format(context.fragments.list(taken, NAMED_AT_ONCE))
        if taken
        else Markup("")
    )
    if cause:
        return Markup("If it opens, this is lost.{}").format(others)
    return Markup("If it opens, this still works.{}").format(others)


def _sets(context: PageContext, item: str) -> list[dict[str, object]]:
    """The failures that take it only together, in the first condition in which it works."""
    if item not in context.answers.equipment_sets:
        return []
    condition, found = context.answers.equipment_sets[item]
    name = context.answers.conditions[condition].name
    return [sets_in_condition(context, name, found, LARGEST_SET)]


def _causes(context: PageContext, item: str) -> Markup:
    """The single failures that take the item. Modes that take the same are one row."""
    together: dict[tuple[str, tuple[str, ...], tuple[str, ...]], list[str]] = {}
    for (component, mode), cause in context.answers.causes[item].items():
        also = tuple(i for i in cause.lost if i != item)
        together.setdefault((component, tuple(cause.conditions), also), []).append(mode)
    return macro("causes")([_cause(context, *key, modes) for key, modes in together.items()])


def _cause(
    context: PageContext,
    component: str,
    conditions: tuple[str, ...],
    also_lost: tuple[str, ...],
    modes: list[str],
) -> dict[str, Any]:
    answers, fragments = context.answers, context.fragments
    kind = answers.network.components[component].kind
    named = [c.name for c in answers.conditions if c.id in conditions]
    return {
        "kind": f"{KINDS[kind].noun} " if kind in ("breaker", "fuse") else "",
        "name": fragments.failing[component],
        "modes": " or ".join([MODE_NOUNS[m].lower() for m in modes]),
        "where": join_words(named) if len(conditions) < len(answers.conditions) else "",
        "also": fragments.list(also_lost, NAMED_AT_ONCE) if also_lost else "",
    }


def _functions(context: PageContext, item: str) -> Iterator[dict[str, object]]:
    for function in context.answers.network.catalogue.functions:
        if item in function.provided_by:
            yield {
                "name": function.name,
                "essential": function.essential,
                "need": function.need,
                "others": context.fragments.list(p for p in function.provided_by if p != item),
            }


def _draws(context: PageContext, equipment: Equipment) -> str:
    amps = equipment.amps
    if isinstance(amps, dict):
        named = {c.id: c.name for c in context.answers.network.catalogue.load_columns}
        return ", ".join(f"{named[c]} {NO_BREAK.rated(a)}" for c, a in amps.items())
    return NO_BREAK.rated(amps)


PAGE: PageKind[Equipment] = PageKind(
    template="equipment",
    subjects=lambda context: context.answers.network.equipment.values(),
    path=lambda equipment: equipment_page(equipment.id),
    title=lambda equipment: equipment.name,
    kind=lambda context, e: f"ATA {e.ata}, {chapter_title(chapter(e.ata))[3:]}",
    values=_values,
)
