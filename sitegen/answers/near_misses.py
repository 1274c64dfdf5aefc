"""What comes near to what is seen, where no single failure explains all of it.

What is left unexplained counts as one failure more: the item has failed by itself, or the reading
is wrong. So a single failure that explains all but one observation is beside the pairs that
explain everything, and before the triples.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

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
from sitegen.solver.scenarios import at_least, bits, every_single, singles_and_pairs
from sitegen.solver.subset import narrowed, widened

MOST_NEAR = 12
"""How many are named that are more than one failure."""


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
    smallest: int | None,
) -> tuple[tuple[NearMiss, ...], bool]:
    """The failures with the fewest observations against them, and whether there are more.

    One failure at a time, and two where none is as near. A single or named failure may be near in
    any answer; it is listed in a later one if something else is against it there. Where nothing
    failed is as near, no failure with the same against it is listed: it would explain nothing of
    what is seen.

    Parameters
    ----------
    others : the single and named failures in the answers in which they may do something else.
    smallest : the fewest failures, two or three, that explain everything; none where nothing does.
        A near miss is as few, with what it leaves unexplained.
    """
    network, before = airframe
    nothing_failed = _Agreement(
        answer_outcome(airframe, condition, [()], "expected"), observations, tolerance
    )
    nothing_failed.measure(1)
    healthy = [mask & 1 for mask in nothing_failed.agreeing]

    def agreement(outcome: Outcome) -> _Agreement:
        return _Agreement(outcome, observations, tolerance)

    @cache
    def tried(size: int) -> Sequence[tuple[Answer, _Agreement]]:
        if size == 2:
            pairs = singles_and_pairs(condition, network.combined_faults)
            return [("expected", agreement(solve(network, pairs, before))), *tried(1)[1:]]
        singles = every_single([condition], network.faults)
        return [
            ("expected", agreement(solve(network, singles, before))),
            *((answer, agreement(outcome)) for answer, outcome in others.items()),
        ]

    tests = len(healthy)
    levels = [(tests - 1, 1)]
    if smallest is None:
        # What contradicts everything seen is no near miss.
        levels += [(n, tests) for n in range(tests - 1, tests - len(observations), -1)]
    for number, most_against in levels:
        nothing = [NearMiss((), nothing_failed.missed(0))] if sum(healthy) >= number else []
        nothing = [miss for miss in nothing if len(miss.against) <= most_against]
        for size in (1, 2) if smallest != 2 else (1,):
            found: dict[tuple[CutSet, tuple[Observation, ...]], NearMiss] = {}
            most = MOST_NEAR if size > 1 else len(network.faults)
            for answer, agreeing in tried(size):
                scenarios = agreeing.outcome.scenarios
                wanted = scenarios.of_size.get(1, 0) if size == 1 else scenarios.all
                fitting = bits(agreeing.fitting(number, wanted) & ~agreeing.like(healthy))
                sets = [(scenarios.at(k).faults, agreeing.missed(k)) for k in fitting]
                near = [
                    (failed, against)
                    for failed, against in sets
                    # One component does not fail in two modes at a time.
                    if 0 < len(against) <= most_against and len(dict(failed)) == len(failed)
                ]
                for failed, against in near[: most + 1]:
                    found.setdefault((failed, against), NearMiss(failed, against, answer))
            if found or nothing:
                return (*nothing, *[*found.values()][:most]), len(found) > most
    return (), False


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
