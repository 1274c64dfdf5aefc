"""How a failure comes about, step by step, each event with its cause."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from sitegen.answers.because import Event, because, causes_first
from sitegen.answers.drop import Loss
from sitegen.pages.fragments.failure_view import View
from sitegen.pages.page_context import PageContext
from sitegen.solver.network import Network
from sitegen.terminal.closing_volts_text import closing_volts

Step = tuple[int, tuple[tuple[tuple[str, ...], str, tuple[str, ...], bool, str], ...]]
"""A number, and what changes in it: (ids, state, causes, while the short held the volts down, by
which volts)."""


def chain(context: PageContext, view: View, was: Loss, overload: bool = False) -> tuple[Step, ...]:
    """The steps of one view; empty where nothing but what failed opens, closes or stalls.

    Parameters
    ----------
    view : the answer.
    was : the answer before: the condition's or, once the crew has acted, the failure's.
    overload : it is if what is overloaded opens.
    """
    network, loss = context.answers.network, view.loss
    own = {component for component, _ in view.faults}
    own |= {*view.then.pulled, *view.then.reset} if view.then else set()
    moves = (d for d in network.switching if d not in own)
    if not (
        loss.opened != was.opened
        or loss.stalled != was.stalled
        or any(loss.conducts[d] != was.conducts[d] for d in moves)
    ):
        return ()
    before, condition = context.answers.before, context.answers.conditions[view.condition].id
    events = because(network, condition, view.faults, view.then, view.is_dip, before, overload)
    return tuple(_grouped(network, loss, events))


def _grouped(network: Network, loss: Loss, events: Sequence[Event]) -> Iterator[Step]:
    for number, same_step in groupby(causes_first(events), key=lambda e: e.step):
        rows: dict[tuple[str, tuple[str, ...], bool, str], list[str]] = {}
        for event in same_step:
            volts = closing_volts(network, event, loss)
            row = (event.change, event.causes, event.in_dip, volts)
            rows.setdefault(row, []).append(event.id)
        yield number, tuple((tuple(ids), *how) for how, ids in rows.items())
