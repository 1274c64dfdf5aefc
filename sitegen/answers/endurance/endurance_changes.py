"""How much longer or shorter the batteries last in one revision than in another."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from sitegen.answers.drop import faults_of
from sitegen.answers.endurance.battery_endurance import endurances_of_cases
from sitegen.answers.endurance.every_failure import endurances_by_scenario, few_batteries
from sitegen.answers.endurance.results import Endurance
from sitegen.catalogue.model import Failure
from sitegen.quantities import LONGEST_MINUTES, Fraction, duration
from sitegen.solver.network import Network
from sitegen.solver.outcome import condition_states
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Fault, Scenario

Names = Mapping[str, str]
Case = tuple[str, Fault, str]
"""A condition, a failure (of a named one its id, and no mode) and a battery."""


@dataclass(frozen=True)
class EnduranceChange:
    """A battery that lasts longer or shorter than it did; ids are those of the newer."""

    condition: str
    fault: Fault
    """Of a named failure its id, and no mode: with what the crew does about it."""
    battery: str
    was: Endurance | None
    """None: it carried nothing there."""
    now: Endurance | None

    @property
    def shown(self) -> tuple[object, ...]:
        """What a reader is shown of it."""
        return _shown(self.was), _shown(self.now)

    @property
    def minutes(self) -> Fraction:
        """The minutes that it lasts now; many where there is no limit."""
        total = self.now.total if self.now else None
        return Fraction(LONGEST_MINUTES + 1) if total is None else total


def endurance_changes(one: Network, other: Network, ids: Names) -> Iterator[EnduranceChange]:
    """Compare the batteries' minutes in every named failure and single failure of both.

    Single failures of sources, buses and devices with a record of their own; minutes are compared
    as they are shown: rounded down, up to how many, whether they are too few, and on what they
    depend.
    """
    old = {
        (ids.get(c, c), (ids.get(f, f), mode), ids.get(b, b)): endurance
        for (c, (f, mode), b), endurance in _every_endurance(one).items()
    }
    new = _every_endurance(other)
    had, has = _failures(one), _failures(other)
    had = {(ids.get(f, f), mode) for f, mode in had}
    conditions = {ids.get(c.id, c.id) for c in one.catalogue.conditions}
    for case in dict.fromkeys((*new, *old)):
        condition, fault, battery = case
        both = fault in had and fault in has and condition in conditions
        here, there = old.get(case), new.get(case)
        if both and condition in other.condition_names and _shown(here) != _shown(there):
            yield EnduranceChange(condition, fault, battery, here, there)


def shown_minutes(endurances: Iterable[Endurance]) -> dict[str, tuple[object, ...]]:
    """By battery, what a reader is shown of its minutes."""
    return {one.battery: _shown(one) for one in endurances}


def named_minutes(
    network: Network, failures: Sequence[Failure]
) -> dict[tuple[str, str], dict[str, tuple[object, ...]]]:
    """By named failure and condition: what a reader is shown of the batteries' minutes."""
    named = _named_endurances(network, failures, condition_states(network))
    return {case: shown_minutes(endurances) for case, endurances in named.items()}


def _named_endurances(
    network: Network, failures: Sequence[Failure], before: Power
) -> dict[tuple[str, str], list[Endurance]]:
    """By named failure and condition: the endurances, with what the crew does."""
    every = [
        (f, Scenario(c.id, tuple(dict.fromkeys(faults_of(network, f)))))
        for f in failures
        for c in network.catalogue.conditions
    ]
    found = {(f.id, scenario.condition): list[Endurance]() for f, scenario in every}
    for acting in (False, True):
        some = [one for one in every if one[0].has_acts == acting]
        for together in [some] if few_batteries(network) else [[one] for one in some]:
            cases = [(scenario.condition, scenario.faults, f) for f, scenario in together]
            of_cases = endurances_of_cases(network, cases, before)
            for (condition, _, f), endurances in zip(cases, of_cases, strict=True):
                found[f.id, condition] = endurances
    return found


def _shown(endurance: Endurance | None) -> tuple[object, ...]:
    """What a reader is shown of it: `minutes_text` says all of this, and no more."""
    if endurance is None:
        return ()
    total, longest = endurance.total, endurance.longest
    then = tuple(map(_shown, endurance.if_it_opens))
    holds = (bool(endurance.must_open), endurance.if_nothing_opens, endurance.moves_by_volts, then)
    if endurance.reaches == "without-limit":
        return holds
    if not endurance.is_known or total is None or longest is None:
        return (False, then)
    lasts = None if endurance.unknown else duration(total)
    return (lasts, duration(longest), endurance.verdict == "short", *holds)


def _failures(network: Network) -> set[Fault]:
    return {*network.faults, *((f.id, "") for f in network.catalogue.failures)}


def _every_endurance(network: Network) -> dict[Case, Endurance]:
    c, before = network.catalogue, condition_states(network)
    own = {*network.nodes, *(d.id for d in c.devices)}
    faults = [fault for fault in network.faults if fault[0] in own]
    found: dict[Case, Endurance] = {}
    singles = endurances_by_scenario(network, faults, before)
    for scenario, endurances in singles.items():
        for one in endurances:
            found[scenario.condition, scenario.faults[0], one.battery] = one
    for (failure, condition), lasting in _named_endurances(network, c.failures, before).items():
        for one in lasting:
            found[condition, (failure, ""), one.battery] = one
    return found
