"""What the same failure shows otherwise on the meters, lamps and flags of two airframes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from sitegen.answers.failure_changes import single_failure_answers
from sitegen.answers.indications import reading
from sitegen.answers.loads.drawn import draws
from sitegen.answers.readings import BLANK, Reading, as_seen, reads_as_before
from sitegen.answers.three_answers import Answer
from sitegen.catalogue.kinds import LOAD_METERS
from sitegen.catalogue.model import Indication
from sitegen.solver.network import Network
from sitegen.solver.outcome import condition_states
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Fault, bits
from sitegen.solver.subset import narrowed

Shown = tuple[tuple[str, Reading, Reading], ...]
"""(indication, what the one shows, what the other shows)."""


@dataclass(frozen=True)
class ReadingChange:
    """A failure after which indications that read the same before do so no longer."""

    condition: str
    fault: Fault
    shown: Shown
    answer: Answer = "expected"
    """The first in which they do."""


def reading_changes(one: Network, other: Network) -> Iterator[ReadingChange]:
    """Compare what is read after every single failure, in the three answers.

    What a condition shows otherwise with nothing failed is no consequence of a failure. What flows
    takes long to work out in thousands of failures, so loadmeters and ammeters are compared only
    where another indication differs.

    Parameters
    ----------
    one, other : networks of the same catalogue.
    """
    names = [c.id for c in other.catalogue.conditions]
    usual: set[tuple[str, str]] = set()
    states = condition_states(one), condition_states(other)
    for metered in (False, True):
        for indication, _, _, mask in _apart(*states, metered):
            usual |= {(names[k], indication) for k in bits(mask)}
    said: set[tuple[str, Fault, Shown]] = set()
    for answer, (here, there) in single_failure_answers(one, other).items():
        of = there.scenarios
        cases = [(of.at(k).condition, of.at(k).faults[0]) for k in bits(of.all)]
        lamps = _apart(here.after, there.after, metered=False)
        seen = [(k, (i, was, now)) for i, was, now, mask in lamps for k in bits(mask)]
        chosen = sorted({k for k, (i, *_) in seen if (cases[k][0], i) not in usual})
        if chosen:
            few = narrowed(here.after, chosen), narrowed(there.after, chosen)
            seen += [
                (chosen[n], (i, was, now))
                for i, was, now, mask in _apart(*few, metered=True)
                for n in bits(mask)
            ]
        shown: dict[int, list[tuple[str, Reading, Reading]]] = {}
        for k, (indication, was, now) in seen:
            if (cases[k][0], indication) not in usual:
                shown.setdefault(k, []).append((indication, was, now))
        for k, found in sorted(shown.items()):
            case = (*cases[k], tuple(found))
            if case not in said:
                said.add(case)
                yield ReadingChange(*case, answer)


def _apart(here: Power, there: Power, metered: bool) -> Iterator[tuple[str, Reading, Reading, int]]:
    """Indications of both, what each shows, and the scenarios in which it is seen to differ.

    Of loadmeters and ammeters, or of all others.
    """
    ours, theirs = (
        {i.id: i for i in p.steady.network.catalogue.indications if metered == _is_metered(i)}
        for p in (here, there)
    )
    both = [i for i in ours if i in theirs]
    flows = [draws(p) if metered and both else None for p in (here, there)]
    for indication in both:
        for was, at in reading(ours[indication], here, flows[0]):
            for now, where in reading(theirs[indication], there, flows[1]):
                if at & where and _seen_apart(was, now, theirs[indication].kind):
                    yield indication, was, now, at & where


def _is_metered(indication: Indication) -> bool:
    return indication.kind in LOAD_METERS


def _seen_apart(was: Reading, now: Reading, kind: str) -> bool:
    """Whether a person certainly reads two things."""
    one, other = as_seen(was, kind), as_seen(now, kind)
    return not ((kind == "flag" and BLANK in (one, other)) or reads_as_before(one, other))
