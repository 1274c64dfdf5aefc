"""Several answers on one page, of which a row of plain radio buttons shows one: no script needed.

A *view* is one answer: a condition, and where it matters a mode of failure or a stage of what the
crew does. An element that belongs to some views only carries their classes (`v v0 v3`); the page's
own small style hides it in the others. What is the same in every view stands there once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, TypeVar

from markupsafe import Markup, escape

T = TypeVar("T")


@dataclass(frozen=True)
class Choice:
    """One view, as its button says it."""

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


def by_view(lists: Sequence[Iterable[str]]) -> dict[str, int]:
    """By item the mask of the views whose list holds it."""
    masks: dict[str, int] = {}
    for k, items in enumerate(lists):
        bit = 1 << k
        for item in items:
            masks[item] = masks.get(item, 0) | bit
    return masks


@dataclass(frozen=True)
class Block:
    """A part of a page that shows in some views only."""

    classes: str
    holds: Any


def block(present: Sequence[object], holds: Any) -> Block | None:
    """A part that shows in the views in which something is present; None if in no view."""
    mask = sum(1 << k for k, something in enumerate(present) if something)
    return Block(classes(mask, len(present)), holds) if mask else None


def alike(texts: Sequence[T]) -> dict[T, int]:
    """By distinct text the mask of the views that say it, in the order of the first."""
    masks: dict[T, int] = {}
    for k, text in enumerate(texts):
        masks[text] = masks.get(text, 0) | 1 << k
    return masks


def said(tag: str, texts: Sequence[str], more: str = "") -> Markup:
    """A text for every view, each distinct one said once; views with an empty text say nothing.

    Parameters
    ----------
    tag : the element that holds each text.
    texts : by view; plain text, or Markup.
    more : classes of the element.
    """
    return Markup("").join(_elements(tag, texts, more))


def _elements(tag: str, texts: Sequence[str], more: str) -> Iterator[Markup]:
    for text, mask in alike(texts).items():
        if text:
            named = (more + classes(mask, len(texts))).strip()
            attribute = f' class="{named}"' if named else ""
            yield Markup(f"<{tag}{attribute}>{escape(text)}</{tag}>")


@lru_cache(maxsize=64)
def style(count: int) -> Markup:
    """The rules that show one view of so many, and mark its button."""
    if count < 2:
        return Markup("")
    views = range(count)
    hidden = ",".join(f"#view-{k}:checked~* .v:not(.v{k})" for k in views)
    chosen = ",".join(f"#view-{k}:checked~* label[for=view-{k}]" for k in views)
    focus = ",".join(f"#view-{k}:focus-visible~* label[for=view-{k}]" for k in views)
    return Markup(
        f"{hidden}{{display:none!important}}"
        f"{chosen}{{--behind:block;--bar:var(--accent);color:var(--on-chosen);background:var(--chosen-ground)}}"
        f"{focus}{{outline:3px solid var(--accent);outline-offset:2px}}"
    )
