"""Every path for power from a source to a bus, in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from sitegen.answers.trace import Path, paths_to
from sitegen.pages.page_context import PageContext, once_per_context
from sitegen.pages.theme import macro
from sitegen.pages.views import classes


@dataclass(frozen=True)
class InfeedPaths:
    """The paths to one bus, the shortest first."""

    count: int
    rows: Markup
    """A line for each, with the conditions in which it is live."""
    more: bool
    """There are more than are listed."""


@once_per_context
def infeed_paths(context: PageContext, bus: str) -> InfeedPaths:
    """Every path from a source to a bus that passes no node twice; cached for all pages."""
    paths, more = paths_to(context.answers.before, bus)
    rows = macro("infeeds")([_row(context, p) for p in paths], context.drawings.marks["live"])
    return InfeedPaths(len(paths), rows, more)


def _row(context: PageContext, path: Path) -> dict[str, Any]:
    """One path: each name, whether it is a source or bus; and where the path is live."""
    names, conditions = context.fragments.failing, context.answers.conditions
    steps = [(names[path.nodes[0]], True)]
    for branch, start, end in zip(path.branches, path.nodes, path.nodes[1:], strict=False):
        devices = branch.through if branch.origin == start else branch.through[::-1]
        steps += [*((names[d], False) for d in devices), (names[end], True)]
    return {
        "classes": classes(path.live, len(conditions)),
        "live": ", ".join([c.name for i, c in enumerate(conditions) if path.live >> i & 1]),
        "steps": steps,
    }
