"""What comes near to what is seen, where no failure explains all of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sitegen.answers.cut_sets import CutSet
from sitegen.answers.elsewhere_in_range import Airframe
from sitegen.answers.explanations import answer_outcome
from sitegen.answers.loads.drawn import draws
from sitegen.answers.observations import Observation, add_up, holds, reads_load
from sitegen.answers.three_answers import Answer
from sitegen.solver.outcome import Outcome, solve
from sitegen.solver.scenarios import at_least, bits, singles_and_pairs, union

MOST_NEAR = 5
"""How many are named."""


@dataclass(frozen=True)
class NearMiss:
    """A failure that explains all but a few observations."""

    failed: CutSet
    """Empty where these are all that is wrong: with nothing failed the rest is seen too."""
    against: tuple[Observation, ...]
    answer: Answer = "ride-through"


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
    loads = [o for o in observations if reads_load(network, o)]
    # What agrees with every meter may still not add up.
    together = [(o,) for o in observations] + ([tuple(loads)] if len(loads) > 1 else [])

    def agreement(outcome: Outcome) -> list[int]:
        agreeing = [holds(network, o, outcome.after, tolerance) for o in observations]
        if len(loads) > 1:
            agreeing.append(add_up(network, loads, draws(outcome.after)))
        return agreeing

    def missed(agreeing: Sequence[int], k: int) -> tuple[Observation, ...]:
        against = {
            o for seen, m in zip(together, agreeing, strict=True) if not m >> k & 1 for o in seen
        }
        return tuple(o for o in observations if o in against)

    nothing_failed = answer_outcome(airframe, condition, [()], "ride-through")
    healthy = [mask & 1 for mask in agreement(nothing_failed)]
    tried = []
    riding = solve(network, pairs, before)
    for answer, outcome in {"ride-through": riding, **others}.items():
        agreeing, every = agreement(outcome), outcome.scenarios.all
        as_healthy = every
        for agrees, agrees_healthy in zip(agreeing, healthy, strict=True):
            as_healthy &= agrees if agrees_healthy else ~agrees
        fitting = [m & ~as_healthy for m in at_least(agreeing, len(agreeing), every)]
        tried.append((answer, outcome, agreeing, fitting))
    # What contradicts everything seen is no near miss.
    for number in range(len(together), len(together) - len(observations), -1):
        nothing = [NearMiss((), missed(healthy, 0))] if sum(healthy) >= number else []
        for sizes in ((1,), (1, 2, 3)):
            found: dict[tuple[CutSet, tuple[Observation, ...]], NearMiss] = {}
            for answer, outcome, agreeing, fitting in tried:
                wanted = union(outcome.scenarios.of_size.get(n, 0) for n in sizes)
                for k in bits(fitting[number] & wanted)[:MOST_NEAR]:
                    failed, against = outcome.scenarios.at(k).faults, missed(agreeing, k)
                    found.setdefault((failed, against), NearMiss(failed, against, answer))
            if found or nothing:
                return (*nothing, *tuple(found.values())[:MOST_NEAR])
    return ()
