"""Minimal cut sets, grouped for a reader: 'any of these, with any of those'."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from markupsafe import Markup

from sitegen.answers.cut_sets import GroupedSet, as_products, set_count
from sitegen.catalogue.kinds import MODE_NOUNS
from sitegen.pages.page_context import PageContext
from sitegen.solver.scenarios import Fault
from sitegen.words import join_words

MOST_LINES = 40
"""Lines of sets on a page; what is left over is counted."""


@dataclass(frozen=True)
class SetLine:
    """Sets of one size that differ in one place each: one of every group makes a set."""

    groups: tuple[Markup, ...]


@dataclass(frozen=True)
class SetsOfSize:
    """All sets of one size."""

    title: str
    lines: tuple[SetLine, ...]
    more: str
    """How many sets are not listed; empty if none."""


SIZES = ("", "One failure alone", "Two failures together", "Three failures together")


def sets_in_condition(
    context: PageContext, condition: str, sets: Sequence[GroupedSet], order: int, shown: str = ""
) -> dict[str, object]:
    """What the template shows of one target in one condition: the sets of two failures and more.

    Parameters
    ----------
    context : the airframe whose names are used.
    condition : its name.
    sets : the minimal cut sets of the target.
    order : the most failures in a set that was looked for.
    shown : the classes of the views in which this shows.
    """
    sizes = []
    for size in range(2, order + 1):
        of_size = tuple(s for s in sets if len(s) == size)
        if of_size:
            sizes.append(_of_one_size(context, size, of_size))
    numbers = "two" if order == 2 else "two or three"
    says = "" if sizes else f"No {numbers} failures take it only together."
    return {"classes": shown, "condition": condition, "says": says, "sizes": sizes}


@lru_cache(maxsize=1024)
def _of_one_size(context: PageContext, size: int, sets: tuple[GroupedSet, ...]) -> SetsOfSize:
    # Equipment on the same buses has the same sets.
    lines = as_products(sets)
    left = sum(map(set_count, lines[MOST_LINES:]))
    return SetsOfSize(
        f"{SIZES[size]}: {sum(map(set_count, sets))}",
        tuple(
            SetLine(tuple(_one_of(faults(context, g), len(g)) for g in line))
            for line in lines[:MOST_LINES]
        ),
        f"and {left} more sets" if left else "",
    )


def _one_of(text: Markup, number: int) -> Markup:
    return Markup(f"({text})") if number > 1 else text


def by_component(context: PageContext, found: Sequence[Fault]) -> list[Markup]:
    """Faults as links, one for each component with all of its modes, in the same order."""
    components = dict.fromkeys(component for component, _ in found)
    return [faults(context, [f for f in found if f[0] == c]) for c in components]


def faults(context: PageContext, group: Sequence[Fault]) -> Markup:
    """Faults as links, the modes of one component together: `Left main bus dead or shorted`."""
    modes: dict[str, list[str]] = {}
    for component, mode in group:
        modes.setdefault(component, []).append(MODE_NOUNS[mode].lower())
    # Joined as plain text: the links are safe already, and escaping each again takes long.
    failing = context.fragments.failing
    return Markup(
        join_words([f"{failing[c]} {join_words(said, 'or')}" for c, said in modes.items()], "or")
    )
