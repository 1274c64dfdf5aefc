"""How a failure comes about, step by step, each event with its cause."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from sitegen.answers.because import Event, because, causes_first
from sitegen.answers.drop import Loss
from sitegen.catalogue.model import Then
from sitegen.pages.fragments.consequences import View
from sitegen.pages.page_context import PageContext

Step = tuple[int, tuple[tuple[tuple[str, ...], str, tuple[str, ...]], ...]]
"""A number, and what changes in it: (ids, state, causes)."""


def chain(
    context: PageContext, view: View, was: Loss, then: Then | None = None, **answer: bool
) -> tuple[Step, ...]:
    """The steps of one view; empty where nothing but what failed opens, closes or stalls.

    Parameters
    ----------
    view : the answer.
    was : the answer before: the condition's or, once the crew has acted, the failure's.
    then : what the crew has done.
    answer : `dip` or `overload`, where `view` has that answer.
    """
    network, loss = context.answers.network, view.loss
    own = {component for component, _ in view.faults}
    own |= {*then.pulled, *then.reset} if then else set()
    moves = (d for d in network.switching if d not in own)
    if not (
        loss.opened != was.opened
        or loss.stalled != was.stalled
        or any(loss.conducts[d] != was.conducts[d] for d in moves)
    ):
        return ()
    before, condition = context.answers.before, context.answers.conditions[view.condition].id
    return tuple(_grouped(because(network, condition, view.faults, then, before=before, **answer)))


def _grouped(events: Sequence[Event]) -> Iterator[Step]:
    for number, same_step in groupby(causes_first(events), key=lambda e: e.step):
        rows: dict[tuple[str, tuple[str, ...]], list[str]] = {}
        for event in same_step:
            rows.setdefault((event.change, event.causes), []).append(event.id)
        yield number, tuple((tuple(ids), *how) for how, ids in rows.items())
