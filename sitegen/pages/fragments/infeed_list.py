"""Every way for power from a source to a bus, in words."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from sitegen.answers.trace import Path, paths_to
from sitegen.pages.page_context import PageContext
from sitegen.pages.views import classes


@dataclass(frozen=True)
class WaysTo:
    """The ways to one bus, the shortest first."""

    bus: str
    """Its name, without a link: it stands in what one taps to unfold the ways."""
    count: int
    rows: Markup
    """A line for each, with the conditions in which it is live."""
    more: bool
    """There are more than are listed."""


def ways_to(context: PageContext, bus: str) -> WaysTo:
    """Every way from a source to a bus that passes no node twice; listed once for all pages."""
    if bus not in context.ways_drawn:
        paths, more = paths_to(context.answers.before, bus)
        rows = Markup("".join(_row(context, path) for path in paths))
        context.ways_drawn[bus] = WaysTo(context.answers.network.names[bus], len(paths), rows, more)
    found: WaysTo = context.ways_drawn[bus]
    return found


def _row(context: PageContext, path: Path) -> str:
    """One way: sources and buses plain, what stands between them smaller; then where it is live."""
    names = context.fragments.failing
    steps = [f"<b>{names[path.nodes[0]]}</b>"]
    for branch, start, end in zip(path.branches, path.nodes, path.nodes[1:], strict=False):
        devices = branch.through if branch.origin == start else branch.through[::-1]
        steps += [f"<span>{names[d]}</span>" for d in devices]
        steps.append(f"<b>{names[end]}</b>")
    conditions = context.answers.conditions
    live = [c.name for i, c in enumerate(conditions) if path.live >> i & 1]
    here = classes(path.live, len(conditions))
    marked = f'<span class="live-here{here}">{context.pictures.marks["live"]}live</span> '
    where = Markup("{}").format(", ".join(live)) if live else "no condition"
    return (
        f'<li class="row way"><p>{marked if path.live else ""}{" &rarr; ".join(steps)}</p>'
        f'<p class="also">Live in: {where}</p></li>'
    )
