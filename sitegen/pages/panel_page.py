"""The page of a breaker panel: every breaker in its place, and the same as a list by place."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup

from sitegen.answers.panel_plans import PanelPlan, Placed, on_no_panel
from sitegen.catalogue.kinds import KINDS
from sitegen.pages.links import A_TO_Z, bus_page, panel_page
from sitegen.pages.page_context import PageContext, PageKind
from sitegen.pages.theme import macro
from sitegen.quantities import NO_BREAK
from sitegen.solver.network import Component
from sitegen.words import counted, join_words

PATTERNS = 12
"""How many buses of one panel the style sheet distinguishes by pattern."""

LONG_WORD = 9
"""Letters in a word of a placard that fit at full size."""

MOST_NAMED = 12
"""How many breakers on no panel are named; the list A to Z has them all."""


def _values(context: PageContext, plan: PanelPlan) -> Mapping[str, Any]:
    panel = plan.panel
    keys = _keys(context, plan)
    return {
        "where": panel.where,
        "note": context.fragments.prose(panel.note),
        "total": _total(plan),
        "keys": list(keys.values()),
        "columns": list(range(1, panel.columns + 1)),
        "rows_of_panel": [
            {
                "name": name,
                "places": [
                    _place(context, keys, placed, f"{name}{column}")
                    for column, placed in enumerate(row, 1)
                ],
            }
            for name, row in zip(panel.rows, plan.rows, strict=True)
        ],
        "unplaced": _named(context, plan.unplaced),
    }


def _total(plan: PanelPlan) -> str:
    counts = Counter(p.component.kind for p in plan.placed)
    kinds = [(n, KINDS[kind]) for kind, n in counts.items()]
    each = [counted(n, kind.noun.lower(), kind.plural.lower()) for n, kind in kinds]
    return join_words(each) or "Nothing on it"


def _keys(context: PageContext, plan: PanelPlan) -> dict[str, dict[str, Any]]:
    """By bus on this panel: its key letter, and the number of its pattern.

    The letter is the same on every panel of the airframe. So is the pattern, as far as there are
    enough of them; on one panel no two buses share a pattern while there are enough.
    """
    here = {p.bus for p in plan.placed}
    found: dict[str, dict[str, Any]] = {}
    taken: set[int] = set()
    for i, bus in enumerate(context.answers.network.catalogue.buses):
        if bus.id not in here:
            continue
        if len(taken) == PATTERNS:
            taken.clear()
        pattern = next(
            k for k in (*range(i % PATTERNS, PATTERNS), *range(PATTERNS)) if k not in taken
        )
        taken.add(pattern)
        found[bus.id] = {
            "anchor": f"bus-{bus.id}",
            "letter": letters(i),
            "pattern": pattern,
            "name": bus.name,
            "href": bus_page(bus.id),
        }
    return found


def letters(number: int) -> str:
    """A short key: a to z, then aa, ab ...

    Examples
    --------
    >>> letters(0), letters(25), letters(26), letters(53)
    ('a', 'z', 'aa', 'bb')
    """
    first, last = divmod(number, 26)
    return (letters(first - 1) if first else "") + chr(ord("a") + last)


def _place(
    context: PageContext, keys: dict[str, dict[str, Any]], placed: Placed | None, at: str
) -> dict[str, Any] | None:
    """What one place shows; for an empty one only where it is."""
    if placed is None:
        return {"at": at, "holds": None}
    component, names = placed.component, context.answers.network.names
    kind = KINDS[component.kind].noun.lower()
    if kind == "breaker" or kind in component.name.lower():
        kind = ""
    rating = " ".join(filter(None, (NO_BREAK.rated(component.amps), kind)))
    key = keys.get(placed.bus or "")
    bus = _buses(context, placed)
    to = [names[node] for node in placed.feeds if node != placed.bus]
    words = [at, component.name, rating, bus, f"to {', '.join(to)}" if to else ""]
    alone = len(placed.users) == 1 and not placed.feeds
    return {
        "at": at,
        "holds": {
            "anchor": f"at-{component.id}",
            "href": page_of(context, placed),
            "placard": component.name,
            "long": max(map(len, component.name.split())) > LONG_WORD,
            "rating": rating,
            "key": key,
            "bus": bus,
            "feeds": ", ".join(to),
            "says": ", ".join(filter(None, words)),
            # One item is named by the row's own link; several have a link each.
            "alone": names[placed.users[0]] if alone else "",
            "users": [] if alone else [_user(context, user) for user in placed.users],
        },
    }


def _buses(context: PageContext, placed: Placed) -> str:
    names = context.answers.network.names
    return ", ".join(names[node] for node in placed.buses)


def page_of(context: PageContext, placed: Placed) -> str:
    """The page of a breaker: what is lost with it, or the page of what it serves."""
    component = placed.component.id
    if component in context.fragments.pages:
        return context.fragments.pages[component]
    # What serves a meter, a lamp or a flag only.
    return f"{A_TO_Z}#at-{placed.users[0]}"


def _user(context: PageContext, user: str) -> Markup:
    if user in context.answers.network.equipment:
        return context.fragments.links[user]
    name = context.answers.network.names[user]
    return macro("link")(name, f"{A_TO_Z}#at-{user}")


def panel_list(context: PageContext) -> list[dict[str, str]]:
    """The panels, as the front page lists them."""
    return [
        {
            "href": panel_page(plan.panel.id),
            "name": plan.panel.name,
            "where": plan.panel.where,
        }
        for plan in context.answers.panels
    ]


def on_none(context: PageContext) -> Markup:
    """The breakers that the catalogue places on no panel, in a line."""
    return _named(context, list(on_no_panel(context.answers.network)))


def _named(context: PageContext, components: Sequence[Component]) -> Markup:
    shown = components if len(components) <= MOST_NAMED + 1 else components[:MOST_NAMED]
    more = len(components) - len(shown)
    text = Markup(", ").join(_with_rating(context, c) for c in shown)
    return text + f" and {more} more" if more else text


def _with_rating(context: PageContext, component: Component) -> Markup:
    name = context.fragments.failing[component.id]
    rating = NO_BREAK.rated(component.amps)
    return Markup("{} ({})").format(name, rating) if rating else name


PAGE: PageKind[PanelPlan] = PageKind(
    template="panel",
    subjects=lambda context: context.answers.panels,
    path=lambda plan: panel_page(plan.panel.id),
    title=lambda plan: plan.panel.name,
    kind=lambda context, plan: "Panel",
    values=_values,
)
