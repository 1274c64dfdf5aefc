"""Minimal cut sets, grouped for a reader: 'any of these, with any of those'."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from sitegen.answers.cut_sets import LARGEST_SET, GroupedSet, as_products, set_count
from sitegen.answers.signatures import FaultsByAnswer
from sitegen.answers.single_failures import SingleFailure
from sitegen.answers.three_answers import REMARKS
from sitegen.catalogue.kinds import MODE_NOUNS
from sitegen.pages.page_context import PageContext, once_per_context
from sitegen.pages.views import classes
from sitegen.solver.scenarios import Fault, union
from sitegen.words import SETS_ASSUME, join_words, sets_not_tried

MOST_LINES = 6
"""Lines of sets on a page; what is left over is counted."""


@dataclass(frozen=True)
class SetsOfSize:
    """All sets of one size."""

    title: str
    lines: tuple[tuple[Markup, ...], ...]
    """Groups of faults: one of every group of a line makes a set."""
    more: int
    """How many sets are not listed."""


@dataclass(frozen=True)
class SetsInCondition:
    """The failures that take one target only together, in one condition."""

    classes: str
    condition: str
    none: str
    """Why there are none; empty if there are."""
    sizes: tuple[SetsOfSize, ...] = ()
    assumed: str = SETS_ASSUME
    not_tried: str = ""
    """That larger sets are not looked for."""
    same_as: str = ""
    """The equipment whose page lists the same sets, as a link; empty where they are listed here."""


SIZES = ("", "One failure alone", "Two failures together", "Three failures together")


def sets_in_condition(
    context: PageContext,
    condition: str,
    sets: Sequence[GroupedSet] | None,
    order: int,
    shown: str = "",
) -> SetsInCondition:
    """What the template shows of one target in one condition: the sets of two failures and more.

    Parameters
    ----------
    context : the airframe whose names are used.
    condition : its name.
    sets : the minimal cut sets of the target; None if it is not available with nothing failed.
    order : the most failures in a set that was looked for.
    shown : the classes of the views in which this shows.
    """
    if sets is None:
        return SetsInCondition(
            shown, condition, "Not available in this condition with nothing failed."
        )
    by_size = [(n, tuple(s for s in sets if len(s) == n)) for n in range(2, order + 1)]
    sizes = tuple(_of_one_size(context, n, of_size) for n, of_size in by_size if of_size)
    numbers = ("", "", "two", "two or three")[order]
    none = "" if sizes or not numbers else f"No {numbers} failures take it only together."
    largest = context.answers.largest_set
    not_tried = sets_not_tried(largest) if largest < LARGEST_SET else ""
    return SetsInCondition(shown, condition, none, sizes, not_tried)


@once_per_context
def _of_one_size(context: PageContext, size: int, sets: tuple[GroupedSet, ...]) -> SetsOfSize:
    # Equipment on the same buses has the same sets.
    lines = as_products(sets)
    return SetsOfSize(
        f"{SIZES[size]}: {sum(map(set_count, sets))}",
        tuple(
            tuple(_one_of(faults(context, g), len(g)) for g in line) for line in lines[:MOST_LINES]
        ),
        sum(map(set_count, lines[MOST_LINES:])),
    )


def _one_of(text: Markup, number: int) -> Markup:
    return Markup(f"({text})") if number > 1 else text


def by_component(context: PageContext, group: Sequence[Fault]) -> list[Markup]:
    """Faults as links, one for each component with all of its modes, in the same order."""
    components = dict.fromkeys(component for component, _ in group)
    return [faults(context, [f for f in group if f[0] == c]) for c in components]


def single_failures(context: PageContext, group: Sequence[SingleFailure]) -> list[Markup]:
    """Single failures as links; those with a remark come last, and have it."""
    found: list[Markup] = []
    for remark in sorted({f.remark for f in group}):
        names = by_component(context, [f.fault for f in group if f.remark == remark])
        found += [Markup(f"{name} {remark}") for name in names] if remark else names
    return found


def by_conditions(
    context: PageContext, failures: Iterable[SingleFailure]
) -> tuple[list[tuple[list[Markup], str]], int]:
    """Single failures as links, together those of the same conditions, most conditions first.

    Returns
    -------
    Each group with the classes of the views that it shows in, a view a condition; and the mask of
    the conditions that have any.
    """
    number = {c.id: i for i, c in enumerate(context.answers.conditions)}
    groups: dict[int, list[SingleFailure]] = {}
    for failure in failures:
        mask = sum(1 << number[c] for c in failure.conditions)
        groups.setdefault(mask, []).append(failure)
    ordered = sorted(groups.items(), key=lambda group: -bin(group[0]).count("1"))
    return [
        (single_failures(context, members), classes(mask, len(number))) for mask, members in ordered
    ], union(groups)


def by_answer(context: PageContext, failed: FaultsByAnswer) -> list[Markup]:
    """Faults as links; those of a later answer come last, and say so."""
    return [
        Markup(f"{text} {REMARKS[answer]}".rstrip())
        for answer, group in failed.items()
        for text in by_component(context, group)
    ]


def faults(context: PageContext, group: Sequence[Fault]) -> Markup:
    """Faults as links, the modes of one component together: `Left main bus dead or shorted`."""
    modes: dict[str, list[str]] = {}
    for component, mode in group:
        modes.setdefault(component, []).append(MODE_NOUNS[mode].lower())
    # Joined as plain text: the links are safe already, and escaping each again takes long.
    failing = context.fragments.failing
    return Markup(
        join_words([f"{failing[c]} {join_words(nouns, 'or')}" for c, nouns in modes.items()], "or")
    )
