"""The page of a breaker panel: every breaker in its place, and the same as a list by place."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from sitegen.answers.panel_plans import PanelPlan, Placed
from sitegen.catalogue.kinds import KINDS
from sitegen.catalogue.model import Bus
from sitegen.pages.links import indication_page, panel_page
from sitegen.pages.page_context import PageContext, PageKind
from sitegen.quantities import NO_BREAK
from sitegen.solver.network import Component
from sitegen.words import counted, join_words

PATTERNS = 12
"""How many buses of one panel the style sheet distinguishes by pattern."""

LONG_WORD = 9
"""Letters in a word of a placard that fit at full size."""

MOST_NAMED = 12
"""How many breakers on no panel are named; the list A to Z has them all."""


@dataclass(frozen=True)
class BusKey:
    """How the breakers of one bus are marked."""

    bus: Bus
    letter: str
    """The same on every panel of the airframe."""
    pattern: int


def _values(context: PageContext, plan: PanelPlan) -> Mapping[str, Any]:
    panel, keys = plan.panel, _keys(context, plan)
    return {
        "panel": panel,
        "total": _total(plan),
        "keys": list(keys.values()),
        "rows_of_panel": [
            (name, [(f"{name}{k}", p and _place(context, keys, p)) for k, p in enumerate(row, 1)])
            for name, row in zip(panel.rows, plan.rows, strict=True)
        ],
        "unplaced": component_list(context, plan.unplaced),
    }


def _total(plan: PanelPlan) -> str:
    counts = Counter(p.component.kind for p in plan.placed)
    kinds = [(n, KINDS[kind]) for kind, n in counts.items()]
    each = [counted(n, kind.noun.lower(), kind.plural.lower()) for n, kind in kinds]
    return join_words(each) or "Nothing on it"


def _keys(context: PageContext, plan: PanelPlan) -> dict[str, BusKey]:
    """By bus on this panel: its key.

    The pattern is the same on every panel of the airframe as far as there are enough of them; on
    one panel no two buses share a pattern while there are enough.
    """
    here = {p.bus for p in plan.placed}
    keys: dict[str, BusKey] = {}
    taken: set[int] = set()
    for i, bus in enumerate(context.answers.network.catalogue.buses):
        if bus.id not in here:
            continue
        if len(taken) == PATTERNS:
            taken.clear()
        wanted = (*range(i % PATTERNS, PATTERNS), *range(PATTERNS))
        pattern = next(k for k in wanted if k not in taken)
        taken.add(pattern)
        keys[bus.id] = BusKey(bus, letters(i), pattern)
    return keys


def letters(number: int) -> str:
    """A short key: a to z, then aa, ab ...

    Examples
    --------
    >>> letters(0), letters(25), letters(26), letters(53)
    ('a', 'z', 'aa', 'bb')
    """
    first, last = divmod(number, 26)
    return (letters(first - 1) if first else "") + chr(ord("a") + last)


def _place(context: PageContext, keys: Mapping[str, BusKey], placed: Placed) -> dict[str, Any]:
    """What one place shows."""
    component, names = placed.component, context.answers.network.names
    kind = KINDS[component.kind].noun.lower()
    if kind == "breaker" or kind in component.name.lower():
        kind = ""
    alone = len(placed.users) == 1 and not placed.feeds
    where = list(_where(placed))
    return {
        "component": component,
        "href": page_of(context, placed),
        "long": max(map(len, component.name.split())) > LONG_WORD,
        "rating": " ".join(filter(None, (NO_BREAK.rated(component.amps), kind))),
        "key": keys.get(placed.bus or ""),
        "where": where,
        "where_text": "".join(before + names[node] for before, node in where),
        # One item is named by the row's own link; several have a link each.
        "alone": names[placed.users[0]] if alone else "",
        "hazards": list(_hazards(context, placed, alone)),
        "users": [] if alone else [context.fragments.links[user] for user in placed.users],
    }


def _where(placed: Placed) -> Iterator[tuple[str, str]]:
    """Each bus or source that it is at, after the words that go before its name."""
    between = ""
    for ends in placed.ends:
        yield f"{between}between " if ends.both_ways else between, ends.origin
        yield " and " if ends.both_ways else " to ", ends.target
        between = ", "
    at_ends = {ends.origin for ends in placed.ends}
    for node in placed.buses:
        if node not in at_ends:
            yield between, node
            between = ", "


def _hazards(context: PageContext, placed: Placed, alone: bool) -> Iterator[dict[str, Any]]:
    """Each hazard once: of what is fed, of the nodes that it is at, and of what is live with them.

    In the list by place several users have their signs at their own names, and a bus that is
    named in the row is not named again.
    """
    network, said = context.answers.network, set[str]()
    buses = {bus.id for bus in network.catalogue.buses}
    named = {network.names[node] for _, node in _where(placed) if node in buses}
    touched = dict.fromkeys((*placed.users, *placed.buses, *placed.feeds))
    found = [(i, network.names[i], network.hazards.get(i, "")) for i in touched]
    sides = [(s.node, f"{network.names[s.node]} side", s.hazard) for s in placed.live_sides]
    for node, name, hazard in (*found, *sides):
        of_user = node in network.equipment
        if hazard and (of_user or hazard not in said):
            said.add(hazard)
            yield {
                "name": name,
                "text": hazard,
                "short": hazard.partition(":")[0],
                "in_row": alone or not of_user,
                "is_named": name in named,
            }


def page_of(context: PageContext, placed: Placed) -> str:
    """The page of a breaker: what is lost with it, or the page of what it serves."""
    component = placed.component.id
    if component in context.fragments.pages:
        return context.fragments.pages[component]
    # What serves a meter, a lamp or a flag only.
    return indication_page(placed.users[0])


def component_list(context: PageContext, components: Sequence[Component]) -> Markup:
    """Breakers in a line, as links with their ratings; the last of many are counted."""
    shown = components if len(components) <= MOST_NAMED + 1 else components[:MOST_NAMED]
    more = len(components) - len(shown)
    text = Markup(", ").join(_with_rating(context, c) for c in shown)
    return text + f" and {more} more" if more else text


def _with_rating(context: PageContext, component: Component) -> Markup:
    name, rating = context.fragments.failing[component.id], NO_BREAK.rated(component.amps)
    return Markup("{} ({})").format(name, rating) if rating else name


PAGE: PageKind[PanelPlan] = PageKind(
    template="panel",
    subjects=lambda context: context.answers.panels,
    path=lambda plan: panel_page(plan.panel.id),
    title=lambda plan: plan.panel.name,
    kind=lambda context, plan: "Panel",
    values=_values,
    depends_on=lambda context, plan: {
        f"panels {plan.panel.id}",
        *(p.component.id for p in plan.placed),
        *(c.id for c in plan.unplaced),
    },
)
