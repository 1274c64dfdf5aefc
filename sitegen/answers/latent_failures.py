"""What a failure that takes nothing by itself does once something else fails.

A breaker or contactor that has stuck closed no longer clears what it would have opened on; a
shorted diode lets power back to what it should have cut off. Minimal cut sets leave such failures
out. Here the first is tried with every single failure on which it would have opened, and with a
short at either end where it was to stay open; the second with every one in the feeders but shorts.
With a source lost on top, what the others then give counts too, and how long batteries last.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from sitegen.answers.drop import Loss, losses, with_overload
from sitegen.answers.endurance.battery_endurance import endurances_of_cases
from sitegen.answers.over_rating import OverRating
from sitegen.answers.single_failures import SingleFailures
from sitegen.quantities import Fraction
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Fault, Scenario, bits, scenarios_of, union

Minutes = Mapping[str, Fraction]
"""By battery that carries load: how long it lasts at least."""

SHORTER = Fraction(9, 10)
"""Of a battery's time: what is left where it is said that it lasts less long."""


@dataclass(frozen=True)
class Latent:
    """A failure that comes on top of one that takes nothing, and what both take."""

    by: Fault
    both: Loss
    each: tuple[Loss, Loss]
    """What each of the two takes by itself, `by` first."""
    minutes: Mapping[str, tuple[Fraction, Fraction | None]] = field(default_factory=dict)
    """By battery that lasts less long than with either, by a tenth, where `by` is a source that is
    lost: how long, and how long with `by` alone; None where it then carries nothing. Nobody has
    acted on the failure."""

    @property
    def over(self) -> dict[str, OverRating]:
        """The sources that are over their rating, and further than with either, where `by` is one
        that is lost.
        """
        return {
            source: over
            for source, over in self.both.over_rating.items()
            if self.by[1] == "lost"
            and source in self.both.nodes
            and all(
                over.amps > one.over_rating[source].amps
                for one in self.each
                if source in one.over_rating
            )
        }

    @property
    def more(self) -> tuple[str, ...]:
        """The items that only both take."""
        one, other = self.each
        return tuple(i for i in self.both.lost if i not in one.lost and i not in other.lost)

    @property
    def more_functions(self) -> tuple[str, ...]:
        """The functions that only both take."""
        return tuple(
            function
            for function, state in self.both.functions.items()
            if state == "lost" and all(one.functions[function] != "lost" for one in self.each)
        )

    @property
    def driven(self) -> tuple[str, ...]:
        """The generators that are lost, and that others then drive as motors."""
        return tuple(s for s in self.both.driven if all(s not in one.driven for one in self.each))

    @property
    def must_open(self) -> tuple[str, ...]:
        """What is overloaded and must open with both alone."""
        return tuple(
            device
            for device, word in self.both.overloaded.items()
            if word == "must" and all(one.overloaded.get(device) != "must" for one in self.each)
        )


Latents = Mapping[tuple[str, Fault], tuple[Latent, ...]]
"""By condition, and failure that takes nothing: what comes on top and takes the most; then, where
that says nothing of it, what has a generator driven as a motor, takes sources furthest over their
rating, or batteries the most time.
"""


def latent_failures(singles: SingleFailures) -> Latents:
    """What comes on top of each failure of a device that sticks closed, or of a shorted diode, by
    condition; left out where nothing more is taken, nothing opens and no figure is worse.

    Each answer is the one to expect: where the catalogue has contactors drop out on a short, they
    do.

    Parameters
    ----------
    singles : every single failure, in the conditions asked about.
    """
    outcome = singles.expected
    cases = list(_cases(outcome))
    if not cases:
        return {}
    pairs = [Scenario(condition, (by, masked)) for condition, by, masked in cases]
    alone = [Scenario(case[0], (fault,)) for case in cases for fault in case[1:]]
    network, before = outcome.network, outcome.before
    is_lost = {case for case in cases if case[1][0] in network.sources and case[1][1] == "lost"}
    timed = {
        Scenario(condition, faults)
        for condition, by, masked in is_lost
        for faults in ((by, masked), (by,), (masked,))
    }
    of, minutes = _answers(network, before, [*pairs, *alone], timed)
    found: dict[tuple[str, Fault], list[Latent]] = {}
    for case, both in zip(cases, pairs, strict=True):
        condition, by, masked = case
        ones = [Scenario(condition, (one,)) for one in (by, masked)]
        latent = Latent(by, of[both], (of[ones[0]], of[ones[1]]))
        if case in is_lost:
            shorter = _shorter(minutes[both], minutes[ones[0]], minutes[ones[1]])
            latent = replace(latent, minutes=shorter)
        found.setdefault((condition, masked), []).append(latent)
    worst = ((key, tuple(_worst(latents))) for key, latents in found.items())
    return {key: latents for key, latents in worst if latents}


def _worst(latents: Sequence[Latent]) -> Iterator[Latent]:
    """Of two that take as much, what takes less by itself is worse on top: nobody expects it."""

    def takes(one: Latent) -> tuple[int, ...]:
        more = len(one.more_functions), len(one.more), len(one.must_open)
        return *more, len(one.over), -len(one.each[0].lost)

    def figures(one: Latent) -> tuple[int, float, float]:
        over = max((float(o.percent) for o in one.over.values()), default=0.0)
        lost = max((float(b - a) if b else 0.0 for a, b in one.minutes.values()), default=-1.0)
        return len(one.driven), over, lost

    most, worse = max(latents, key=takes), max(latents, key=figures)
    takes_more = bool(most.more or most.must_open)
    if takes_more:
        yield most
    is_said = takes_more and (worse is most or most.driven or most.over)
    if not is_said and (worse.driven or worse.over or worse.minutes):
        yield worse


def _shorter(
    both: Minutes, by: Minutes, masked: Minutes
) -> dict[str, tuple[Fraction, Fraction | None]]:
    return {
        battery: (minutes, by.get(battery))
        for battery, minutes in both.items()
        if all(minutes < SHORTER * one[battery] for one in (by, masked) if battery in one)
    }


def _cases(outcome: Outcome) -> Iterator[tuple[str, Fault, Fault]]:
    """(condition, single failure, failure that it would have moved or blocked)."""
    network, scenarios, steady = outcome.network, outcome.scenarios, outcome.after.steady
    own = {*network.nodes, *(d for branch in network.branches for d in branch.through)}
    in_feeders = union(
        mask for (c, mode), mask in scenarios.failed.items() if c in own and mode != "shorted"
    )
    for device, mode in network.faults:
        if mode == "stuck-closed":
            closed = outcome.was(outcome.before.steady.conducts[device])
            at_its_ends = union(
                scenarios.failed.get((node, "shorted"), 0)
                for branch in network.branches
                if device in branch.through
                for node in (branch.origin, branch.target)
            )
            where = closed & (steady.opened.get(device, 0) | ~steady.conducts[device])
            where |= at_its_ends & ~closed
        elif mode == "shorted" and network.components[device].kind == "diode":
            where = in_feeders
        else:
            continue
        for k in bits(where & scenarios.all):
            one = scenarios.at(k)
            if one.faults[0][0] != device:
                yield one.condition, one.faults[0], (device, mode)


def _answers(
    network: Network, before: Power, wanted: Sequence[Scenario], timed: Container[Scenario]
) -> tuple[dict[Scenario, Loss], dict[Scenario, Minutes]]:
    """What each scenario takes, and of those that are timed how long batteries last."""
    scenarios = list(dict.fromkeys(wanted))
    minutes: dict[Scenario, Minutes] = {}
    outcome = solve(network, scenarios_of(scenarios), before)
    answers = losses(outcome, with_readings=False)
    answers = with_overload(answers, outcome, outcome, with_readings=False)
    of = [one for one in scenarios if one in timed]
    cases = [(one.condition, one.faults, None) for one in of]
    times = endurances_of_cases(network, cases, before) if cases else []
    for one, endurances in zip(of, times, strict=True):
        minutes[one] = {e.battery: e.total for e in endurances if e.total is not None}
    return dict(zip(scenarios, answers, strict=True)), minutes
