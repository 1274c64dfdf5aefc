"""One answer of a failure's page: this fails, in this condition, and the crew has acted or not."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from sitegen.answers.besides import Besides, besides
from sitegen.answers.drop import Loss, faults_of
from sitegen.catalogue.model import Failure, Then
from sitegen.pages.page_context import PageContext
from sitegen.solver.network import Network
from sitegen.solver.scenarios import Fault
from sitegen.terminal.headline_text import none_lost

AT_ONCE = "At once"
CREW_HAS_ACTED = "Crew has acted"
"""The stages of a named failure with crew actions."""


@dataclass(frozen=True)
class View:
    """One answer of the page, and the state of its condition before."""

    network: Network
    row: str
    """The mode or the stage."""
    condition: int
    """Its place in the author's order."""
    faults: tuple[Fault, ...]
    loss: Loss
    normal: Loss
    already: str
    """Why the failure makes no difference here; empty if it may."""
    other: Loss | None = None
    """If contactors drop out, where that may differ."""
    is_dip: bool = False
    """`loss` is that answer."""
    then: Then | None = None
    """What the crew has done."""

    @cached_property
    def besides(self) -> Besides:
        """What is true besides the losses."""
        return besides(self.network, self.loss, self.normal, self.other)

    @cached_property
    def newly_on_battery(self) -> tuple[str, ...]:
        """What is on battery only, and was not before."""
        return self.besides.newly_on_battery

    @cached_property
    def left(self) -> tuple[str, ...]:
        """What still works."""
        return (*self.loss.kept, *self.loss.reduced)

    @property
    def all_on_battery(self) -> bool:
        """Everything that still works has come to be on battery only."""
        return bool(self.newly_on_battery) and len(self.loss.on_battery) == len(self.left)

    @property
    def no_longer(self) -> frozenset[str]:
        """What worked in the condition and does not now, lost or turned off."""
        return frozenset((*self.loss.lost, *self.loss.shed))

    @cached_property
    def gone(self) -> frozenset[str]:
        """What is lost, to be asked for item by item."""
        return frozenset(self.loss.lost)

    @cached_property
    def less(self) -> frozenset[str]:
        """What works with fewer supplies or alternatives, to be asked for item by item."""
        return frozenset(self.loss.reduced)

    @cached_property
    def comes_on(self) -> frozenset[str]:
        """What did not work and now does, to be asked for item by item."""
        return frozenset(self.loss.comes_on)

    @property
    def idle(self) -> bool:
        """Nothing is lost or reduced, and why is known."""
        return bool(self.already) and not self.loss.lost and self.besides.nothing

    @property
    def matters(self) -> bool:
        """There is something to be said of it."""
        return bool(self.loss.lost) or not self.besides.nothing

    @property
    def no_loss(self) -> str:
        """What a headline says where nothing is lost."""
        if self.idle and not self.loss.shed:
            return self.already
        said = none_lost(self.network, self.loss, self.besides)
        return f"{said} at once" if self.row == AT_ONCE and said.endswith(" is lost") else said


def losses_before(views: Sequence[View]) -> list[Loss]:
    """For each view the state before it: the crew acts on what has failed at once."""
    at_once = {v.condition: v.loss for v in views if v.row == AT_ONCE}
    return [
        at_once.get(v.condition, v.normal) if v.row == CREW_HAS_ACTED else v.normal for v in views
    ]


def views_of(
    context: PageContext,
    row: str,
    faults: tuple[Fault, ...],
    losses: Sequence[Loss],
    dips: Sequence[Loss] = (),
    failure: Failure | None = None,
) -> Iterator[View]:
    """One view for each condition, beside the state of the condition before.

    Parameters
    ----------
    row, faults : the mode or the stage, and what fails.
    losses, dips : by condition, the answer to expect, and if contactors drop out while the fault
        lasts, where that may differ.
    failure : the named failure on which the crew has acted.
    """
    answers = context.answers
    for i, (loss, normal) in enumerate(zip(losses, answers.normal, strict=True)):
        other = dips[i] if dips else None
        already = _already(context, faults, i, normal)
        then = failure.crew_does(loss.condition) if failure else None
        yield View(answers.network, row, i, faults, loss, normal, already, other, then=then)


def views_of_fault(context: PageContext, fault: Fault, row: str = "") -> list[View]:
    """Those of one fault, before anyone has acted."""
    answers = context.answers
    dips = answers.single_dip.get(fault, ())
    return list(views_of(context, row, (fault,), answers.single[fault], dips))


def stages_of(context: PageContext, failure: Failure) -> list[list[View]]:
    """Those of a named failure: at once and, if the crew can act, after it has."""
    answers = context.answers
    faults = faults_of(answers.network, failure)
    stages = zip(
        (AT_ONCE, CREW_HAS_ACTED),
        answers.named[failure.id],
        answers.named_dip[failure.id],
        (None, failure),
        strict=False,
    )
    return [
        list(views_of(context, row, faults, losses, dips, acted_on))
        for row, losses, dips, acted_on in stages
    ]


def _already(context: PageContext, faults: Sequence[Fault], condition: int, normal: Loss) -> str:
    """Why a failure makes no difference in a condition: all that fails was not in use."""
    reasons = {_not_in_use(context, fault, condition, normal) for fault in faults}
    return reasons.pop() if len(reasons) == 1 else ""


def _not_in_use(context: PageContext, fault: Fault, condition: int, normal: Loss) -> str:
    component, mode = fault
    if mode == "lost":
        on_line = context.answers.before.steady.produces[component] >> condition & 1
        return "" if on_line else "Not on line"
    if component in normal.nodes:
        return "" if normal.nodes[component].live else "Already dead"
    if mode == "stuck-closed":
        return "Already closed" if normal.conducts[component] else ""
    return "" if normal.conducts[component] else "Already open"
