"""The three answers to a failure, and what goes with something that is true in one of them alone.

Contactors ride through a fault, or drop out while it lasts; or they ride through and what is
overloaded then opens.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence
from dataclasses import replace
from typing import Literal, get_args

from sitegen.answers.overload import overloaded, overloads_of, what_is_overloaded_opens
from sitegen.answers.overload_screen import may_have_to_open
from sitegen.solver.outcome import Outcome, solve
from sitegen.solver.scenarios import bits, scenarios_of
from sitegen.solver.subset import narrowed

Answer = Literal["ride-through", "drop-out", "overload"]
"""In the order in which they are asked: what one answer has is not said again of a later one."""
ANSWERS: tuple[Answer, ...] = get_args(Answer)

Listed = Literal[
    "ride-through", "drop-out-expected", "against-the-catalogue", "drop-out", "overload"
]
"""In which answer something on a list is true. Where the catalogue says of a short that contactors
drop out, what is true then needs no remark, and what is true only if they ride through has one."""

IF_DROPPING_OUT = "(if contactors drop out)"
IF_OVERLOAD_OPENS = "(if what is overloaded opens)"
AGAINST_THE_CATALOGUE = "(only if contactors ride through, though the catalogue says otherwise)"
REMARKS: dict[Listed, str] = {
    "ride-through": "",
    "drop-out-expected": "",
    "against-the-catalogue": AGAINST_THE_CATALOGUE,
    "drop-out": IF_DROPPING_OUT,
    "overload": IF_OVERLOAD_OPENS,
}
"""What goes with a line of a list; in the order of the lines."""


def answer_of(listed: Listed) -> Answer:
    """The answer in which it is true."""
    if listed == "drop-out-expected":
        return "drop-out"
    return "ride-through" if listed == "against-the-catalogue" else listed


def conditions_by_listed(
    answer: Answer, conditions: Iterable[str], drop_out_expected: Container[str]
) -> dict[Listed, tuple[str, ...]]:
    """The conditions in which something is true in an answer, by how it is listed there.

    `drop_out_expected`: those in which it is not true in the other answer to a short, and the
    catalogue says that contactors drop out.
    """
    found: dict[Listed, tuple[str, ...]] = {}
    for condition in conditions:
        listed = listed_of(answer, condition in drop_out_expected)
        found[listed] = (*found.get(listed, ()), condition)
    return found


def listed_of(answer: Answer, drop_out_expected: bool) -> Listed:
    """How something is listed that is true in one answer to a short and not in the other."""
    if drop_out_expected and answer == "drop-out":
        return "drop-out-expected"
    return "against-the-catalogue" if drop_out_expected and answer == "ride-through" else answer


def answer_json(listed: Listed) -> dict[str, bool]:
    """How commands print that something is true in one answer alone."""
    return {
        "if_contactors_drop_out": answer_of(listed) == "drop-out",
        "if_overload_opens": listed == "overload",
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
