"""The three answers to a failure, and what goes with something that is true in one of them alone.

The first is the one to expect: contactors ride through a fault, but for those that the catalogue
says drop out while it lasts. In the second those drop out too of which it says nothing; in the
third, what is overloaded in the first opens.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal, get_args

from sitegen.answers.overload import overloaded, overloads_of, what_is_overloaded_opens
from sitegen.answers.overload_screen import may_have_to_open
from sitegen.solver.outcome import Outcome, solve
from sitegen.solver.scenarios import bits, scenarios_of
from sitegen.solver.subset import narrowed

Answer = Literal["expected", "drop-out", "overload"]
"""In the order in which they are asked: what one answer has is not said again of a later one."""
ANSWERS: tuple[Answer, ...] = get_args(Answer)

IF_DROPPING_OUT = "(if contactors drop out)"
IF_OVERLOAD_OPENS = "(if what is overloaded opens)"
REMARKS: dict[Answer, str] = {
    "expected": "",
    "drop-out": IF_DROPPING_OUT,
    "overload": IF_OVERLOAD_OPENS,
}
"""What goes with a line of a list; in the order of the lines."""


def answer_json(answer: Answer) -> dict[str, bool]:
    """How commands print that something is true in one answer alone."""
    return {
        "if_contactors_drop_out": answer == "drop-out",
        "if_overload_opens": answer == "overload",
    }


def only_new(masks: Sequence[int]) -> list[tuple[Answer, int]]:
    """(answer, mask) of masks over the same scenarios, each without what an earlier one has."""
    found: list[tuple[Answer, int]] = []
    known = 0
    for answer, mask in zip(ANSWERS, masks, strict=True):
        found.append((answer, mask & ~known))
        known |= mask
    return found


def must_open(outcome: Outcome) -> dict[int, tuple[str, ...]]:
    """By number of a scenario of answer 1, what is overloaded there and must open; where nothing
    does, left out. Also after the crew has acted, and with batteries flat.
    """
    few = _may_have_to_open(outcome)
    if not few:
        return {}
    scenarios = scenarios_of([outcome.scenarios.at(k) for k in few])
    there = replace(outcome, scenarios=scenarios, after=narrowed(outcome.after, few))
    return {k: devices for k, devices in zip(few, _opening(there), strict=True) if devices}


def _may_have_to_open(outcome: Outcome) -> list[int]:
    limits = {d: must for d, (_, must) in overloads_of(outcome.before).limits.items()}
    return bits(may_have_to_open(outcome, limits)) if limits else []


def _opening(outcome: Outcome) -> list[tuple[str, ...]]:
    """By scenario, what is overloaded and must open."""
    return [
        tuple(device for device, word in of.items() if word == "must") for of in overloaded(outcome)
    ]


def overload_answer(outcome: Outcome, numbers: Sequence[int] | None = None) -> Outcome:
    """Answer 3 of some scenarios of answer 1; left out, of those in which something must open."""
    chosen = [*must_open(outcome)] if numbers is None else numbers
    scenarios = scenarios_of([outcome.scenarios.at(k) for k in chosen])
    return what_is_overloaded_opens(solve(outcome.network, scenarios, outcome.before))
