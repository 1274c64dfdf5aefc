"""Small maps of the panels, on which just the breakers are marked that a page is about.

A panel's empty map is drawn once an airframe. Breakers that are marked in the same views share one
path, so a page grows little, however much is lost.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from markupsafe import Markup

from sitegen.answers.panel_plans import PanelPlan, Placed
from sitegen.pages.fragments.failure_view import View
from sitegen.pages.links import bus_on_panel, panel_page, place_on_panel
from sitegen.pages.page_context import PageContext, once_per_context
from sitegen.pages.theme import macro
from sitegen.pages.views import ShownIn, by_text, by_view, classes, shown_in

PITCH, HOLE, MARGIN = 11, 8, 5
"""From place to place, the side of a place, and around them all, in CSS pixels."""

NAMED = 3
"""The most places that are named under a map; more are counted."""

Mark = tuple[str, int, Placed]
"""A kind of mark (a class of the style sheet), the mask of the views that show it, the place."""


def bus_maps(context: PageContext, bus: str) -> Markup:
    """The breakers on a bus, and those in its infeeds."""
    maps = []
    for plan in context.answers.panels:
        marks: list[Mark] = [
            ("feeding" if bus in placed.feeds else "marked", 1, placed)
            for placed in plan.placed
            if bus in placed.feeds or bus in placed.buses
        ]
        # Only a panel that has a key to the bus can pick it out.
        keyed = any(placed.bus == bus for _, _, placed in marks)
        panel = plan.panel.id
        maps.append(_map(context, plan, marks, 1, bus_on_panel(panel, bus) if keyed else ""))
    return Markup("").join(maps)


def supply_maps(context: PageContext, item: str) -> Markup:
    """The breakers of a piece of equipment, whose places its page says above."""
    devices = {d for c in context.answers.network.connections[item] for d in c.through}
    return Markup("").join(
        _map(
            context,
            plan,
            [("marked", 1, p) for p in plan.placed if p.component.id in devices],
            1,
            said=True,
        )
        for plan in context.answers.panels
    )


def failure_maps(context: PageContext, views: Sequence[View]) -> ShownIn | None:
    """In each view what has failed itself, and the breakers of all that is lost.

    Returns
    -------
    The maps, and whether any breaker is marked as failed; None if nothing is marked in any view.
    """
    lost = by_view([view.loss.lost for view in views])
    failed = by_view([[component for component, _ in view.faults] for view in views])
    count, union, itself, maps = len(views), 0, False, []
    for plan in context.answers.panels:
        marks: list[Mark] = []
        for placed in plan.placed:
            out, mask = failed.get(placed.component.id, 0), 0
            for user in placed.users:
                mask |= lost.get(user, 0)
            if out:
                marks.append(("failed", out, placed))
            if mask & ~out:
                marks.append(("marked", mask & ~out, placed))
            union |= mask | out
            itself = itself or bool(out)
        maps.append(_map(context, plan, marks, count))
    present = [union >> k & 1 for k in range(count)]
    return shown_in(present, {"maps": Markup("").join(maps), "failed": itself})


def _map(
    context: PageContext,
    plan: PanelPlan,
    marks: Sequence[Mark],
    count: int,
    href: str = "",
    said: bool = False,
) -> Markup:
    """A panel's map with its marks, as a link to the panel; nothing where nothing is marked.

    Parameters
    ----------
    marks : in the order of the places.
    count : how many views the page has.
    href : where it leads; left out, to the panel, and to the place if only one is marked.
    said : the places are in the text beside it.
    """
    if not marks:
        return Markup("")
    if not href:
        panel, (first, *others) = plan.panel.id, marks
        href = panel_page(panel) if others else place_on_panel(panel, first[2].component.id)
    union = 0
    for _, mask, _ in marks:
        union |= mask
    paths = []
    for (kind, mask), group in groupby(sorted(marks, key=_kind_and_views), key=_kind_and_views):
        draw = _cross if kind == "failed" else _square
        shape = "".join(draw(placed) for _, _, placed in group)
        paths.append({"kind": kind, "classes": classes(mask, count), "shape": shape})
    place_names = [
        _places(plan, [placed for _, mask, placed in marks if mask >> k & 1]) for k in range(count)
    ]
    outline = _empty(context, plan.panel.id)
    places = Markup("") if said else by_text("small", place_names)
    return macro("panel_map")(classes(union, count), href, outline, paths, plan.panel.name, places)


def _kind_and_views(mark: Mark) -> tuple[str, int]:
    return mark[0], mark[1]


def _places(plan: PanelPlan, marked: Sequence[Placed]) -> str:
    if len(marked) > NAMED:
        return f"{len(marked)} marked"
    return ", ".join([f"{plan.panel.rows[p.row]}{p.column}" for p in marked])


@once_per_context
def _empty(context: PageContext, panel: str) -> Markup:
    """The start of a map: the panel's outline and all that is in place, unmarked."""
    plan = next(p for p in context.answers.panels if p.panel.id == panel)
    rows, columns = plan.rows, plan.panel.columns
    width, height = (n * PITCH - (PITCH - HOLE) + 2 * MARGIN for n in (columns, len(rows)))
    # A row is a dashed line: every dash is a place.
    lines = "".join(_dashes(rows))
    return macro("panel_outline")(width, height, lines)


def _dashes(rows: Sequence[Sequence[Placed | None]]) -> Iterator[str]:
    for row, places in enumerate(rows):
        start = 1
        for there, run in groupby(places, key=lambda placed: placed is not None):
            length = len(list(run))
            if there:
                x, y = _corner(row, start)
                yield f"M{x} {y + HOLE // 2}h{length * PITCH - (PITCH - HOLE)}"
            start += length


def _corner(row: int, column: int) -> tuple[int, int]:
    return (column - 1) * PITCH + MARGIN, row * PITCH + MARGIN


def _square(placed: Placed) -> str:
    x, y = _corner(placed.row, placed.column)
    return f"M{x} {y}h{HOLE}v{HOLE}h-{HOLE}z"


def _cross(placed: Placed) -> str:
    x, y = _corner(placed.row, placed.column)
    return f"M{x} {y}l{HOLE} {HOLE}m0-{HOLE}l-{HOLE} {HOLE}"
