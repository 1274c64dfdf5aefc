"""What differs in the other answers to a failure: contactors drop out, or overload opens."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup

from sitegen.answers.drop import Loss
from sitegen.catalogue.model import Then
from sitegen.pages.fragments import consequences
from sitegen.pages.fragments.chain_of_events import Step, chain
from sitegen.pages.fragments.consequences import CREW_HAS_ACTED, View, losses_before
from sitegen.pages.page_context import PageContext
from sitegen.pages.views import ShownIn, by_text, shown_in, with_classes
from sitegen.words import counted, join_words


@dataclass(frozen=True)
class OtherAnswer:
    """One of them, in the views in which it differs from answer 1."""

    anchor: str
    title: str
    classes: str
    dead: Markup
    """The buses that drop in it."""
    lists: tuple[tuple[Markup, ShownIn], ...]
    """How many items fare otherwise, and their names."""
    readings: Markup
    """What each meter, lamp and flag shows in it, where that differs from the condition."""
    chains: list[tuple[tuple[Step, ...], str]]
    """How it comes about, with the classes of the views."""


def other_answers(
    context: PageContext, views: Sequence[View], then: Then | None = None
) -> Iterator[OtherAnswer]:
    """Those that differ in a way that a reader must know."""
    for anchor, title, answer, pick in ANSWERS:
        others = [pick(view) for view in views]
        if not any(others):
            continue
        # Where it does not differ there is nothing to show: as if nothing had failed.
        then_views = [
            replace(view, loss=other or view.normal, dip=None)
            for view, other in zip(views, others, strict=True)
        ]
        dead = [
            consequences.dead_buses(context, view) if other else ""
            for view, other in zip(then_views, others, strict=True)
        ]
        chains = [
            chain(
                context, view, was, then if view.row == CREW_HAS_ACTED else None, **{answer: True}
            )
            if other
            else ()
            for view, other, was in zip(then_views, others, losses_before(views), strict=True)
        ]
        shown = shown_in(others, None)
        yield OtherAnswer(
            anchor,
            title,
            shown.classes if shown else "",
            by_text("p", dead),
            tuple(_lists(context, views, others, answer)),
            consequences.readings(context, then_views, changed=True),
            with_classes([steps or None for steps in chains]),
        )


def lost_in_either(view: View) -> tuple[str, ...]:
    """What is lost, and what is expected to be lost as well if contactors drop out."""
    return (*view.loss.lost, *(i for i in view.expected.loss.lost if i not in view.gone))


def lost_in_one_answer(context: PageContext, view: View) -> str:
    """How many of these are lost in one of the answers alone; each says so itself."""
    then = view.expected
    each = (
        (len(then.gone - view.gone), "drop out"),
        (len(view.gone - then.gone), "ride through"),
    )
    only = [f"{number} only if contactors {do}" for number, do in each if number]
    return f"Of these {join_words(only)}: each says so." if only else ""


def reasons_lost_in_either(context: PageContext, view: View) -> Iterator[consequences.Reason]:
    """Why each of these is lost, and in which answer alone."""
    yield from consequences.reasons_lost(context, view)
    then = view.expected
    if then is view:
        return
    for item in view.loss.lost:
        if item not in then.gone:
            yield item, "", Markup("Not lost if contactors drop out.")
    for item, label, text in consequences.reasons_lost(context, then):
        if item not in view.gone:
            yield item, label, text
    for item in then.loss.lost:
        if item not in view.gone:
            yield item, "", Markup("Not lost if contactors ride through.")


def _lists(
    context: PageContext, views: Sequence[View], others: Sequence[Loss | None], answer: str
) -> Iterator[tuple[Markup, ShownIn]]:
    for noun, words, pick in LISTS:
        found = [
            () if other is None or _is_listed(noun, words, answer, view) else pick(view.loss, other)
            for view, other in zip(views, others, strict=True)
        ]
        shown = shown_in(found, consequences.names(context, found))
        if shown:
            titles = [f"{counted(len(ids), noun)} {words}" if ids else "" for ids in found]
            yield by_text("span", titles), shown


def _is_listed(noun: str, words: str, answer: str, view: View) -> bool:
    """Whether the list of what is lost has these items, with a remark (`lost_in_either`)."""
    if answer != "dip" or view.expected is view:
        return False
    return noun == "item" and words in ("lost as well", "not lost then")


def _more(now: Sequence[str], than: Sequence[str]) -> tuple[str, ...]:
    before = frozenset(than)
    return tuple(item for item in now if item not in before)


def _gone(loss: Loss) -> tuple[str, ...]:
    return tuple(f for f, state in loss.functions.items() if state == "lost")


ANSWERS: tuple[tuple[str, str, str, Callable[[View], Loss | None]], ...] = (
    ("if-dropping-out", "If contactors drop out", "dip", lambda view: view.besides.dip),
    (
        "if-overload-opens",
        "If what is overloaded opens",
        "overload",
        lambda view: view.besides.overload,
    ),
)
LISTS: tuple[tuple[str, str, Callable[[Loss, Loss], tuple[str, ...]]], ...] = (
    ("function", "lost as well", lambda loss, other: _more(_gone(other), _gone(loss))),
    ("function", "not lost then", lambda loss, other: _more(_gone(loss), _gone(other))),
    ("item", "lost as well", lambda loss, other: _more(other.lost, loss.lost)),
    ("item", "not lost then", lambda loss, other: _more(loss.lost, other.lost)),
    ("item", "coming on as well", lambda loss, other: _more(other.comes_on, loss.comes_on)),
    ("item", "not coming on then", lambda loss, other: _more(loss.comes_on, other.comes_on)),
    (
        "item",
        "reduced as well",
        lambda loss, other: _more(_more(other.reduced, loss.reduced), loss.lost),
    ),
    (
        "item",
        "on battery only as well",
        lambda loss, other: _more(other.on_battery, loss.on_battery),
    ),
)
"""What fares otherwise: its noun, how, and which ids of answer 1 and of the other answer."""
