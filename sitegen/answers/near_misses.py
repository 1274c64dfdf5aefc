"""What comes near to what is seen, where no failure explains all of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sitegen.answers.cut_sets import CutSet
from sitegen.answers.elsewhere_in_range import Airframe
from sitegen.answers.explanations import answer_outcome
from sitegen.answers.loads.drawn import draws
from sitegen.answers.observations import (
    Observation,
    add_up,
    holds,
    load_may_hold,
    reads_load,
)
from sitegen.answers.three_answers import Answer
from sitegen.solver.outcome import Outcome, solve
from sitegen.solver.scenarios import at_least, bits, singles_and_pairs, union
from sitegen.solver.subset import narrowed, widened

MOST_NEAR = 5
"""How many are named."""


@dataclass(frozen=True)
class NearMiss:
    """A failure that explains all but a few observations."""

    failed: CutSet
    """Empty where these are all that is wrong: with nothing failed the rest is seen too."""
    against: tuple[Observation, ...]
    answer: Answer = "expected"


def near_misses(
    airframe: Airframe,
    condition: str,
    observations: Sequence[Observation],
    tolerance: float,
    others: Mapping[Answer, Outcome],
) -> tuple[NearMiss, ...]:
    """The failures with the fewest observations against them, one or two failures at a time.

    A single or named failure may be near in any answer; it is listed in a later one if something
    else is against it there. Where nothing failed is as near, no failure with the same against it
    is listed: it would explain nothing of what is seen.
    """
    network, before = airframe
    pairs = singles_and_pairs(condition, network.combined_faults)
    nothing_failed = _Agreement(
        answer_outcome(airframe, condition, [()], "expected"), observations, tolerance
    )
    nothing_failed.measure(1)
    healthy = [mask & 1 for mask in nothing_failed.agreeing]
    tried = {
        answer: _Agreement(outcome, observations, tolerance)
        for answer, outcome in {"expected": solve(network, pairs, before), **others}.items()
    }
    # What contradicts everything seen is no near miss.
    for number in range(len(healthy), len(healthy) - len(observations), -1):
        alone = sum(healthy) >= number
        nothing = [NearMiss((), nothing_failed.missed(0))] if alone else []
        for sizes in ((1,), (1, 2, 3)):
            found: dict[tuple[CutSet, tuple[Observation, ...]], NearMiss] = {}
            for answer, agreement in tried.items():
                scenarios = agreement.outcome.scenarios
                wanted = union(scenarios.of_size.get(n, 0) for n in sizes)
                fitting = agreement.fitting(number, wanted) & ~agreement.like(healthy)
                for k in bits(fitting)[:MOST_NEAR]:
                    failed, against = scenarios.at(k).faults, agreement.missed(k)
                    found.setdefault((failed, against), NearMiss(failed, against, answer))
            if found or nothing:
                return (*nothing, *tuple(found.values())[:MOST_NEAR])
    return ()


class _Agreement:
    """By test, the failures of a batch in which it comes out as it was observed.

    A test for each observation, and one that what several meters read adds up: what agrees with
    each of them may still not. Amps cost much: they are worked out only where they can matter.
    """

    def __init__(
        self, outcome: Outcome, observations: Sequence[Observation], tolerance: float
    ) -> None:
        network, power = outcome.network, outcome.after
        self.outcome, self.observations, self.tolerance = outcome, observations, tolerance
        self.loads = [o for o in observations if reads_load(network, o)]
        self.of_tests: list[tuple[Observation, ...]] = [(o,) for o in observations]
        self.agreeing = [
            0 if o in self.loads else holds(network, o, power, tolerance) for o in observations
        ]
        self.may_agree = [
            load_may_hold(network, o, power) if o in self.loads else agrees
            for o, agrees in zip(observations, self.agreeing, strict=True)
        ]
        if len(self.loads) > 1:
            self.of_tests.append(tuple(self.loads))
            self.agreeing.append(0)
            self.may_agree.append(outcome.scenarios.all)
        self.measured = 0

    def measure(self, among: int) -> None:
        """Work out the amps of these failures, unless they are known."""
        left = bits(among & ~self.measured)
        self.measured |= among
        if not left or not self.loads:
            return
        few = narrowed(self.outcome.after, left)
        network, drawn = self.outcome.network, draws(few)
        for i, one in enumerate(self.observations):
            if one in self.loads:
                agrees = holds(network, one, few, self.tolerance, drawn)
                self.agreeing[i] |= widened(agrees, left)
        if len(self.loads) > 1:
            self.agreeing[-1] |= widened(add_up(network, self.loads, drawn), left)

    def fitting(self, number: int, wanted: int) -> int:
        """Those of the failures wanted that agree with at least this number of tests."""
        tests, every = len(self.agreeing), self.outcome.scenarios.all
        possible = at_least(self.may_agree, tests, every)[number] & wanted
        self.measure(possible)
        return at_least(self.agreeing, tests, every)[number] & possible

    def like(self, healthy: Sequence[int]) -> int:
        """The failures measured that agree with the same tests as nothing failed."""
        mask = self.measured
        for agrees, agrees_healthy in zip(self.agreeing, healthy, strict=True):
            mask &= agrees if agrees_healthy else ~agrees
        return mask

    def missed(self, k: int) -> tuple[Observation, ...]:
        """What is against failure number `k`, which is measured."""
        tests = zip(self.of_tests, self.agreeing, strict=True)
        against = {o for of_test, agrees in tests if not agrees >> k & 1 for o in of_test}
        return tuple(o for o in self.observations if o in against)
