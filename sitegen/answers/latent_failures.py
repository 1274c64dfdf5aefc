"""What a failure that takes nothing by itself does once something else fails.

A breaker or contactor that has stuck closed no longer clears what it would have opened on; a
shorted diode lets power back to what it should have cut off. Minimal cut sets leave such failures
out. Here the first is tried with every single failure on which it would have opened, and with a
short at either end where it was to stay open; the second with every one in the feeders but shorts.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from sitegen.answers.dip_decides import expected_outcomes
from sitegen.answers.drop import Loss, losses
from sitegen.answers.overload import overloaded
from sitegen.answers.single_failures import SingleFailures
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Fault, Scenario, bits, union


@dataclass(frozen=True)
class Latent:
    """A failure that comes on top of one that takes nothing, and what both take."""

    by: Fault
    both: Loss
    each: tuple[Loss, Loss]
    """What each of the two takes by itself, `by` first."""

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
    def must_open(self) -> tuple[str, ...]:
        """What is overloaded and must open with both alone."""
        return tuple(
            device
            for device, word in self.both.overloaded.items()
            if word == "must" and all(one.overloaded.get(device) != "must" for one in self.each)
        )


Latents = Mapping[tuple[str, Fault], Latent]
"""By condition, and failure that takes nothing: the worst that comes on top."""


def latent_failures(singles: SingleFailures) -> Latents:
    """What comes on top of each failure of a device that sticks closed, or of a shorted diode, by
    condition; left out where nothing more is taken and nothing opens.

    Each answer is the one to expect: where the catalogue has contactors drop out on a short, they
    do.

    Parameters
    ----------
    singles : every single failure, in the conditions asked about.
    """
    outcome = singles.ride_through
    cases = list(_cases(outcome))
    if not cases:
        return {}
    pairs = [Scenario(condition, (by, masked)) for condition, by, masked in cases]
    alone = [Scenario(case[0], (fault,)) for case in cases for fault in case[1:]]
    of = _expected_answers(outcome.network, outcome.before, [*pairs, *alone])
    found: dict[tuple[str, Fault], Latent] = {}
    for (condition, by, masked), both in zip(cases, pairs, strict=True):
        each = of[Scenario(condition, (by,))], of[Scenario(condition, (masked,))]
        latent, key = Latent(by, of[both], each), (condition, masked)
        if (latent.more or latent.must_open) and _weight(latent) > _weight(found.get(key)):
            found[key] = latent
    return found


def _weight(latent: Latent | None) -> tuple[int, int, int, int]:
    """Of two that take as much, what takes less by itself is worse on top: nobody expects it."""
    if latent is None:
        return (-1, 0, 0, 0)
    more = len(latent.more_functions), len(latent.more), len(latent.must_open)
    return *more, -len(latent.each[0].lost)


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


def _expected_answers(
    network: Network, before: Power, wanted: Sequence[Scenario]
) -> dict[Scenario, Loss]:
    scenarios = list(dict.fromkeys(wanted))
    found: dict[Scenario, Loss] = {}
    for here, outcome in expected_outcomes(network, before, scenarios):
        answers = losses(outcome, with_readings=False)
        if not outcome.dip:
            words = overloaded(outcome)
            answers = [replace(a, overloaded=w) for a, w in zip(answers, words, strict=True)]
        found.update((scenarios[k], answer) for k, answer in zip(here, answers, strict=True))
    return found
