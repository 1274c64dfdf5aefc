"""Which named failures and functions are not the same on two airframes.

`differences` compares the records and the single failures. A reader of a named failure also wants
to know whether another airframe loses something else, lasts longer, or has its crew do otherwise;
a reader of a function, whether something else provides it or takes it.
"""

from __future__ import annotations

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.answers.endurance.airframe_endurance import AirframeEndurance
from sitegen.answers.endurance.endurance_changes import named_minutes, shown_minutes
from sitegen.answers.failure_changes import named_failure_changes
from sitegen.catalogue.model import Failure, Function
from sitegen.solver.network import Network


def named_failures_not_the_same(one: AirframeEndurance, other: Network) -> frozenset[str]:
    """The named failures of both that lose something else, last otherwise, or are written so.

    Losses are compared at once and after the crew has acted, with the items that one of the two
    alone has; minutes as they are shown.
    """
    network = one.answers.network
    here, there = ({f.id: f for f in n.catalogue.failures} for n in (network, other))
    found = {
        change.fault[0]
        for pair in ((network, other), (other, network))
        for change in named_failure_changes(*pair, {})
    }
    both = here.keys() & there.keys()
    found |= {i for i in both if _written(here[i]) != _written(there[i])}
    # Minutes take longest, and are asked of those only that are the same in all else.
    undecided = [there[i] for i in here if i in both - found]
    number = {c.id: k for k, c in enumerate(one.answers.conditions)}
    for (failure, condition), minutes in named_minutes(other, undecided).items():
        if condition in number:
            lasting = one.of_named(here[failure], number[condition])
            if shown_minutes(lasting) != minutes:
                found.add(failure)
    return frozenset(found)


def _written(failure: Failure) -> object:
    return (
        failure.failed,
        failure.then,
        failure.then_in,
        failure.notes_in,
        failure.battery_time,
        failure.note,
    )


def functions_not_the_same(one: AirframeAnswers, other: AirframeAnswers) -> frozenset[str]:
    """The functions of both that something else provides, or that other single failures take.

    So too where they leave it nothing to spare.
    """
    here, there = ({f.id: f for f in a.network.catalogue.functions} for a in (one, other))
    return frozenset(
        i
        for i in here.keys() & there.keys()
        if _provided(here[i], one.network) != _provided(there[i], other.network)
        or _taken(one, i) != _taken(other, i)
    )


def _taken(answers: AirframeAnswers, function: str) -> object:
    return [frozenset(failures) for failures in answers.hitting_functions[function]]


def _provided(function: Function, network: Network) -> object:
    fitted = [i for i in function.equipment if i in network.equipment]
    return fitted, function.provided_by, function.need
