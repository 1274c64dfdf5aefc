"""The page of a meter, lamp or flag: what it shows in each condition, and which failures change it.

A failure that changes a load by less than can be read is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from sitegen.answers.drop import Loss
from sitegen.answers.readings import BLANK, Reading, read_off, reading_text, reads_as_before
from sitegen.answers.three_answers import IF_DROPPING_OUT, Answer
from sitegen.catalogue.kinds import KINDS
from sitegen.catalogue.model import Failure, Indication
from sitegen.pages.fragments.component_facts import Fact, terms_words
from sitegen.pages.fragments.condition_states import StateRow
from sitegen.pages.fragments.failure_sets import by_conditions
from sitegen.pages.links import indication_page, named_failure_page
from sitegen.pages.page_context import PageContext, PageKind, once_per_context
from sitegen.pages.views import classes
from sitegen.solver.scenarios import union
from sitegen.terminal.shared_text import conditions_text

AS_STATE = {"lit": "battery", "lit or unlit": "battery", "unlit": "dead", "blank": "dead"}
"""By what a lamp or flag shows: the mark beside it."""


@dataclass(frozen=True)
class Change:
    """What an indication shows after some failures, and after which."""

    shows: str
    by_conditions: list[tuple[list[Markup], str]]
    """The failures, with the classes of the views in which they do so."""
    classes: str
    """Of the views in which any does."""


def _values(context: PageContext, indication: Indication) -> Mapping[str, Any]:
    normal = [loss.readings[indication.id] for loss in context.answers.normal]
    changes = list(_changes(context, indication, normal))
    count = len(normal)
    without = (1 << count) - 1 & ~union(mask for _, mask in changes)
    return {
        **context.by_state([_state(indication, reading) for reading in normal]),
        "facts": list(_facts(context, indication)),
        "supplies": [
            context.fragments.supply(c)
            for c in context.answers.network.connections[indication.id]
            if c.protector
        ],
        "changes": [change for change, _ in changes],
        "none": classes(without, count) if without else None,
        "named": list(_named(context, indication, normal)),
        "indication": indication,
    }


def _state(indication: Indication, reading: Reading) -> StateRow:
    state = AS_STATE.get(reading.kind, "live")
    return StateRow(state, reading_text(reading, indication.kind), Markup(""))


def _facts(context: PageContext, indication: Indication) -> Iterator[Fact]:
    links = context.fragments.links
    if indication.at:
        yield "Reads", links[indication.at]
    if indication.lit_when:
        label = "In view when" if indication.kind == "flag" else "Lit when"
        yield label, terms_words(context, indication.lit_when)
    if indication.colour:
        yield "Colour", Markup("{}").format(indication.colour)
    if indication.note:
        yield "Note", context.fragments.prose(indication.note)


def _changes(
    context: PageContext, indication: Indication, normal: list[Reading]
) -> Iterator[tuple[Change, int]]:
    """What single failures make it show, and the mask of the conditions in which they do."""
    singles = context.answers.single_failures
    masks: dict[Reading, dict[Answer, int]] = {}
    for answer, outcome in singles.outcomes.items():
        for reading, where in singles.shown[answer][indication.id]:
            other = outcome.was(
                sum(1 << i for i, was in enumerate(normal) if not reads_as_before(reading, was))
            )
            if where & other:
                of = masks.setdefault(read_off(reading), {})
                of[answer] = of.get(answer, 0) | where & other
    # What has lost its power last; of a lamp that looks like one that is unlit.
    for reading in sorted(masks, key=lambda r: (r == BLANK, r.kind, r.span)):
        groups, some = by_conditions(context, singles.of_masks(masks[reading]))
        yield Change(_shows(indication, reading), groups, classes(some, len(normal))), some


def _shows(indication: Indication, reading: Reading) -> str:
    dark = reading == BLANK and indication.kind == "lamp"
    return "unlit, without power" if dark else reading_text(reading, indication.kind)


@once_per_context
def _named_at_once(context: PageContext) -> list[tuple[Failure, list[list[tuple[Loss, str]]]]]:
    """By named failure, in each condition, its answers with a remark each.

    The other is true only if contactors drop out.
    """
    answers = context.answers
    found = []
    for failure in answers.network.catalogue.failures:
        (expected, *_), (dropping, *_) = answers.named[failure.id], answers.named_dip[failure.id]
        found.append(
            (
                failure,
                [
                    [(loss, ""), (dip, IF_DROPPING_OUT)]
                    for loss, dip in zip(expected, dropping or expected, strict=True)
                ],
            )
        )
    return found


def _named(
    context: PageContext, indication: Indication, normal: list[Reading]
) -> Iterator[tuple[Markup, list[tuple[str, str]]]]:
    """The named failures that change it: what it shows, and in which conditions."""
    network = context.answers.network
    for failure, in_conditions in _named_at_once(context):
        where: dict[tuple[str, str], list[str]] = {}
        for both, was in zip(in_conditions, normal, strict=True):
            said = set()
            for loss, remark in both:
                reading = loss.readings[indication.id]
                shows = _shows(indication, read_off(reading))
                if not reads_as_before(reading, was) and shows not in said:
                    said.add(shows)
                    where.setdefault((shows, remark), []).append(loss.condition)
        if where:
            yield (
                context.fragments.link(named_failure_page(failure.id), failure.name),
                [
                    (shows, f"in {conditions_text(network, tuple(there))} {remark}".strip())
                    for (shows, remark), there in sorted(where.items(), key=_has_remark)
                ],
            )


def _has_remark(item: tuple[tuple[str, str], list[str]]) -> bool:
    (_, remark), _ = item
    return bool(remark)


PAGE: PageKind[Indication] = PageKind(
    template="indication",
    subjects=lambda context: context.answers.network.catalogue.indications,
    path=lambda indication: indication_page(indication.id),
    title=lambda indication: indication.name,
    kind=lambda context, indication: KINDS[indication.kind].noun,
    values=_values,
    depends_on=lambda context, indication: [indication.id],
)
