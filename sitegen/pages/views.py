"""Several answers on one page, of which a row of plain radio buttons shows one: no script needed.

A *view* is one answer: a condition, and where it matters a mode of failure or a stage of what the
crew does. An element that belongs to some views only carries their classes (`v v0 v3`); the page's
own small style hides it in the others. What is the same in every view is there once.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache, reduce
from operator import or_
from typing import Any, TypeVar

from markupsafe import Markup

from sitegen.catalogue.model import Catalogue
from sitegen.pages.theme import macro

T = TypeVar("T")


@dataclass(frozen=True)
class Choice:
    """One view, as its button shows it."""

    number: int
    name: str
    answer: str
    """The answer in two or three words, so that all views can be compared at a glance."""


@dataclass(frozen=True)
class ChoiceRow:
    """The views of one mode or stage, a button for each condition."""

    name: str
    """Empty where there is one row only."""
    choices: tuple[Choice, ...]


@lru_cache(maxsize=4096)
def classes(mask: int, count: int) -> str:
    """The classes, with a leading blank, of an element that shows in the views of a mask.

    >>> classes(0b1001, 5), classes(0b11, 2)
    (' v v0 v3', '')
    """
    if mask == (1 << count) - 1:
        return ""
    return " v" + "".join(f" v{k}" for k in range(count) if mask >> k & 1)


def chosen_in(mask: int, count: int) -> str:
    """The classes, with a leading blank, of an element that is marked in the views of a mask.

    >>> chosen_in(0b1001, 5)
    ' in0 in3'
    """
    return "".join(f" in{k}" for k in range(count) if mask >> k & 1)


def by_answer(answers: Sequence[T | None]) -> dict[T, int]:
    """By answer the mask of the views that have it; None is no answer.

    >>> by_answer(["28 V", None, "28 V", "24 V"])
    {'28 V': 5, '24 V': 8}
    """
    masks: dict[T, int] = {}
    for k, answer in enumerate(answers):
        if answer is not None:
            masks[answer] = masks.get(answer, 0) | 1 << k
    return masks


def by_view(lists: Sequence[Iterable[T]]) -> dict[T, int]:
    """By item the mask of the views whose list holds it."""
    masks: dict[T, int] = {}
    for k, items in enumerate(lists):
        bit = 1 << k
        for item in items:
            masks[item] = masks.get(item, 0) | bit
    return masks


@dataclass(frozen=True)
class ShownIn:
    """A part of a page that shows in some views only."""

    classes: str
    content: Any


def shown_in(present: Sequence[object], content: Any) -> ShownIn | None:
    """A part that shows in the views in which something is present; None if in no view."""
    mask = sum(1 << k for k, something in enumerate(present) if something)
    return ShownIn(classes(mask, len(present)), content) if mask else None


def with_classes(answers: Sequence[T | None]) -> list[tuple[T, str]]:
    """Each distinct answer with the classes of the views that have it; None is no answer."""
    return [(answer, classes(mask, len(answers))) for answer, mask in by_answer(answers).items()]


def one_row_each(
    rows: Iterable[tuple[Any, Sequence[T | None]]],
) -> list[tuple[Any, str, list[tuple[T, str]]]]:
    """What has an answer in some view, each once: with the classes of the views in which it has
    one, and its distinct answers with theirs.

    Examples
    --------
    >>> one_row_each([("Left bus", ["28 V", None, "24 V"]), ("Right bus", [None, None, None])])
    [('Left bus', ' v v0 v2', [('28 V', ' v v0'), ('24 V', ' v v2')])]
    """
    found = []
    for subject, answers in rows:
        masks, count = by_answer(answers), len(answers)
        if masks:
            shown = classes(reduce(or_, masks.values()), count)
            several = len(masks) > 1
            values = [(a, classes(m, count) if several else "") for a, m in masks.items()]
            found.append((subject, shown, values))
    return found


def subjects_together(
    rows: Iterable[tuple[T, str, list[tuple[Any, str]]]],
) -> list[tuple[list[T], str, list[tuple[Any, str]]]]:
    """The rows of `one_row_each`, those with the same answers as one row of several subjects.

    Examples
    --------
    >>> subjects_together([("Left", "", [("28 V", "")]), ("Right", "", [("28 V", "")])])
    [(['Left', 'Right'], '', [('28 V', '')])]
    """
    together: dict[tuple[str, tuple[tuple[Any, str], ...]], list[T]] = {}
    for subject, shown, values in rows:
        together.setdefault((shown, tuple(values)), []).append(subject)
    return [(subjects, shown, list(values)) for (shown, values), subjects in together.items()]


def items_with_classes(lists: Sequence[Iterable[T]]) -> list[tuple[T, str]]:
    """Each item of any view's list with the classes of the views whose list holds it."""
    return [(item, classes(mask, len(lists))) for item, mask in by_view(lists).items()]


def by_text(tag: str, texts: Sequence[str], more: str = "") -> Markup:
    """A text for every view, each distinct one once; views with an empty text show nothing.

    Parameters
    ----------
    tag : the element that holds each text.
    texts : by view; plain text, or HTML from a macro.
    more : classes of the element.
    """
    shown = with_classes([text or None for text in texts])
    return macro("in_views")(tag, [(text, (more + where).strip()) for text, where in shown])


def views_of(catalogue: Catalogue) -> int:
    """The most views that a page has: a condition each, in one of two modes or stages."""
    return 2 * len(catalogue.conditions)
