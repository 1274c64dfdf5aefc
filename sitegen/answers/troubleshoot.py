"""Question 3: these are dead, these still work, the meters read so; what has failed?

All failures are tried, alone, in twos and in threes. What explains everything seen and holds
no smaller explanation is a candidate. A single or a named failure may explain it in any of the
three answers: contactors ride through a fault, or drop out, or what is overloaded opens. Then every
further check that one could make is tried on the candidates: the best is the one whose answer
leaves the fewest of them, in the mean.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from sitegen.answers.besides import differs
from sitegen.answers.cut_sets import (
    LARGEST_SET,
    CutSet,
    largest_set,
    own_breakers,
)
from sitegen.answers.drop import Loss, faults_of, losses
from sitegen.answers.explanations import Explains, explaining_sets
from sitegen.answers.healthy import anywhere_in_range, moved_volts
from sitegen.answers.observations import (
    TOLERANCE_VOLTS,
    Observation,
    all_hold,
    breakers_feeding,
    holds,
)
from sitegen.answers.overload import what_is_overloaded_opens
from sitegen.answers.readings import BLANK, Reading, as_seen, distinguishable
from sitegen.answers.three_answers import REMARKS, Answer, overload_answer
from sitegen.catalogue.model import Catalogue, Condition
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome, condition_states, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import (
    Scenario,
    at_least,
    bits,
    scenarios_of,
    singles_and_pairs,
    union,
)

MOST_JUDGED = 400
"""Candidates among which the next check is chosen; with more, any check helps."""

MOST_NEAR = 5
"""Near misses that are named."""

HEALTHY = -1
"""In place of a candidate's number: nothing has failed."""

EFFORT = {"in view": 1.0, "try it": 1.2, "source off": 1.4, "open a panel": 2.0}
"""The weight of a check against another that leaves as few candidates: what is in view is first."""


@dataclass(frozen=True)
class Check:
    """One further check, and what it would leave."""

    effort: str
    """A key of `EFFORT`."""
    subject: str
    """The indication, equipment or device to look at."""
    source_off: str | None
    """A source to take off line first."""
    answers: tuple[tuple[Reading | str, tuple[int, ...]], ...]
    """(what may be seen, numbers of the candidates with which it is seen); `HEALTHY` is among them
    where nothing need have failed."""
    leaves: float
    """Candidates left of those that it is to distinguish, in the mean over them, the healthy
    aircraft included."""


Explanation = tuple[CutSet, Answer]
"""What fails, and the answer in which that explains what is seen."""


@dataclass(frozen=True)
class NearMiss:
    """A failure that explains all but a few observations."""

    failed: CutSet
    against: tuple[Observation, ...]
    answer: Answer = "ride-through"


@dataclass(frozen=True)
class Diagnosis:
    """What may have failed."""

    condition: str
    observations: tuple[Observation, ...]
    order: int
    """The most failures at a time that were tried; fewer than asked for in a large network."""
    nothing_failed_fits: bool
    """All of this would also be seen with nothing failed."""
    healthy_volts: Mapping[str, float]
    """By source: where in its range it then is, V; empty where all fits as the catalogue has it."""
    candidates: tuple[CutSet, ...]
    """Smallest first; none holds a smaller one. One of which several answers explain what is seen,
    and differ, is there several times."""
    answers: tuple[Answer, ...]
    """By candidate: in which it explains it."""
    losses: tuple[Loss, ...]
    """What each candidate would mean; as many as were judged."""
    next_checks: tuple[Check, ...]
    """The best first."""
    near_misses: tuple[NearMiss, ...]
    """Where nothing explains everything."""


def troubleshoot(
    network: Network,
    condition: str,
    observations: Sequence[Observation],
    tolerance: float = TOLERANCE_VOLTS,
    order: int = LARGEST_SET,
) -> Diagnosis:
    """Which failures explain all that is seen, and which check would distinguish them.

    Parameters
    ----------
    network, condition : the airframe, and how it was set before it failed.
    observations : what is seen; as much or as little as there is.
    tolerance : how far a voltmeter may be off, V.
    order : the most failures at a time, 1 to 3.
    """
    before = condition_states(network)
    breakers = breakers_feeding(network, observations)

    def explains(power: Power, among: int) -> int:
        return all_hold(network, observations, power, tolerance, among)

    def is_healthy(of: Network, normal: Power) -> bool:
        nothing = solve(of, scenarios_of([Scenario(condition)]), normal)
        return bool(all_hold(of, observations, nothing.after, tolerance, 1))

    anywhere = anywhere_in_range(network, before, condition, observations)
    healthy_at = next((at for at in anywhere if is_healthy(*at)), None)
    fits = healthy_at is not None
    # Where everything is seen a hundred breakers may feed it: as bits they cost little.
    # One that sticks closed where it only supplies equipment is no cause of anything, unless
    # something switches it.
    own_faults = [
        (b, mode) for b, mode in network.faults if b in breakers and _acts(network, b, mode)
    ]
    order = largest_set(network, order, own_faults)
    candidates = list(explaining_sets(network, condition, explains, order, before, own_faults))
    if fits:
        # Then a breaker that feeds nothing observed may have opened as well: it changes nothing
        # that was seen, so it explains it alone, and is in no larger set.
        unseen = set(own_breakers(network, network.connections)) - set(breakers)
        singles = [f for f in network.faults if f[0] in unseen and _acts(network, *f)]
        then = solve(network, scenarios_of([Scenario(condition, (f,)) for f in singles]), before)
        explaining = explains(then.after, then.scenarios.all)
        candidates += [(fault,) for k, fault in enumerate(singles) if explaining >> k & 1]
        place = {fault: i for i, fault in enumerate(network.faults)}
        candidates.sort(key=lambda s: (len(s), [place[f] for f in s]))
    found: list[Explanation] = [(c, "ride-through") for c in candidates]
    others = _other_answers(network, condition, order, before)
    for answer, outcome in others.items():
        more = _in_another_answer(outcome, answer, [c for c, _ in found], explains)
        smaller = [set(c) for c in more]
        found = [c for c in found if not any(one < set(c[0]) for one in smaller)]
        found += [(c, answer) for c in more]
    found.sort(key=lambda c: len(c[0]))
    judged = found[:MOST_JUDGED]
    meaning = _losses(network, condition, judged, before)
    healthy: list[Explanation] = [((), "ride-through")] if fits else []
    likely = _likely(judged, fits)
    possible = [*judged[:likely], *healthy]
    at, normal = healthy_at or (network, before)
    shown = [*meaning[:likely], *_losses(at, condition, healthy, normal)]
    return Diagnosis(
        condition,
        tuple(observations),
        order,
        fits,
        moved_volts(network, at),
        tuple(c for c, _ in found),
        tuple(answer for _, answer in found),
        tuple(meaning),
        tuple(_next_checks(network, condition, possible, shown, observations)),
        ()
        if found or fits
        else _near_misses(network, condition, observations, tolerance, before, others),
    )


def _acts(network: Network, component: str, mode: str) -> bool:
    """Whether a failure of a device that only supplies equipment can have an effect."""
    return mode != "stuck-closed" or component in network.switching


def _in_another_answer(
    outcome: Outcome, answer: Answer, candidates: Sequence[CutSet], explains: Explains
) -> list[CutSet]:
    """The single and named failures that explain what is seen in answer 2 or 3.

    Left out are those that hold a smaller explanation, and those of which an earlier answer, which
    is a candidate already, says the same.
    """
    explaining = [
        outcome.scenarios.at(k) for k in bits(explains(outcome.after, outcome.scenarios.all))
    ]
    if not explaining:
        return []
    network, before = outcome.network, outcome.before
    condition, sets = explaining[0].condition, [scenario.faults for scenario in explaining]
    known = [set(c) for c in candidates]
    found: list[CutSet] = []
    riding, there = (
        losses(_answer(network, condition, sets, one, before)) for one in ("ride-through", answer)
    )
    for loss, other in zip(there, riding, strict=True):
        failed = set(loss.failed)
        if any(smaller < failed for smaller in known):
            continue
        known.append(failed)
        if failed not in known[: len(candidates)] or _differ(loss, other):
            found.append(loss.failed)
    return found


def _other_answers(
    network: Network, condition: str, order: int, before: Power
) -> dict[Answer, Outcome]:
    """The single and named failures of up to `order` faults in the answers in which they may do
    something else: those with a short in it, and those that overload something.
    """
    named = (faults_of(network, failure) for failure in network.catalogue.failures)
    every = ((f,) for f in network.faults)
    sets = dict.fromkeys(tuple(faults) for faults in (*every, *named) if len(faults) <= order)
    shorts = [s for s in sets if any(c in network.nodes and m == "shorted" for c, m in s)]
    riding = _answer(network, condition, list(sets), "ride-through", before)
    return {
        "drop-out": _answer(network, condition, shorts, "drop-out", before),
        "overload": overload_answer(riding),
    }


def _answer(
    network: Network, condition: str, sets: Sequence[CutSet], answer: Answer, before: Power
) -> Outcome:
    """One answer of some failures."""
    scenarios = scenarios_of([Scenario(condition, faults) for faults in sets])
    outcome = solve(network, scenarios, before, dip=answer == "drop-out")
    return what_is_overloaded_opens(outcome) if answer == "overload" else outcome


def _differ(loss: Loss, other: Loss) -> bool:
    return differs(loss, other) or loss.readings != other.readings


def _losses(
    network: Network, condition: str, candidates: Sequence[Explanation], before: Power
) -> list[Loss]:
    """What each means in its answer."""
    found: dict[Explanation, Loss] = {}
    for answer in REMARKS:
        chosen = [c for c in candidates if c[1] == answer]
        if chosen:
            sets = [failed for failed, _ in chosen]
            answers = losses(_answer(network, condition, sets, answer, before))
            found.update(zip(chosen, answers, strict=True))
    return [found[c] for c in candidates]


def _likely(candidates: Sequence[Explanation], fits: bool) -> int:
    """How many candidates, from the first, the next check is to distinguish.

    Those of the fewest failures; where that is one alone, those of the next size besides: hundreds
    of triples would choose a check that says nothing about the dozen single failures before them.
    """
    sizes = [len(failed) for failed, _ in candidates]
    for size in sorted(set(sizes)):
        count = sum(s <= size for s in sizes)
        if count + fits > 1:
            return count
    return len(sizes)


def _next_checks(
    network: Network,
    condition: str,
    candidates: Sequence[Explanation],
    meaning: Sequence[Loss],
    observations: Sequence[Observation],
) -> list[Check]:
    """The checks that distinguish candidates, the best first."""
    if len(candidates) < 2:
        return []
    seen = {o.subject for o in observations}
    indications = {i.id: i.kind for i in network.catalogue.indications}
    checks: list[Check] = []

    def read_off(indication: str, losses: Sequence[Loss]) -> list[Reading]:
        kind = indications[indication]
        shown = [as_seen(loss.readings[indication], kind) for loss in losses]
        # A flag without power may be seen either way.
        return [BLANK] * len(shown) if kind == "flag" and BLANK in shown else distinguishable(shown)

    def add(
        effort: str, subject: str, answers: Sequence[Reading | str], source_off: str | None = None
    ) -> None:
        groups: dict[Reading | str, list[int]] = {}
        for k, answer in enumerate(answers):
            groups.setdefault(answer, []).append(k if candidates[k][0] else HEALTHY)
        if len(groups) > 1:
            leaves = sum(len(g) ** 2 for g in groups.values()) / len(candidates)
            parts = tuple(
                (answer, tuple(sorted(groups[answer]))) for answer in sorted(groups, key=str)
            )
            checks.append(Check(effort, subject, source_off, parts, leaves))

    for indication in indications:
        if indication not in seen:
            add("in view", indication, read_off(indication, meaning))
    dead = [{*loss.lost, *loss.not_powered} for loss in meaning]
    not_known = {item for loss in meaning for item in loss.not_known}
    for item in network.equipment:
        if item not in seen and item not in not_known:
            add("try it", item, ["dead" if item in d else "works" for d in dead])
    for source, off in _source_off(network, condition):
        then = _losses(off, condition, candidates, condition_states(off))
        for indication in indications:
            add("source off", indication, read_off(indication, then), source)
    # A device is open whatever opened it: a coil without power, a short, or its own failure.
    for device in dict.fromkeys(component for c, _ in candidates for component, _ in c):
        if "open" in network.components[device].modes:
            states = ["closed" if loss.conducts[device] else "open" for loss in meaning]
            add("open a panel", device, states)
    return sorted(checks, key=lambda c: (c.leaves * EFFORT[c.effort], EFFORT[c.effort]))


def _source_off(network: Network, condition: str) -> list[tuple[str, Network]]:
    """The same aircraft with one source taken off line.

    Only where external power is connected, that is on the ground: nobody should be led to take a
    generator off line in the air to find a fuse link.
    """
    here = next(c for c in network.catalogue.conditions if c.id == condition)
    if not any(network.sources[s].kind == "external-power" for s in here.sources):
        return []
    found = []
    for source in here.sources:
        without: Condition = here.model_copy(
            update={"sources": [s for s in here.sources if s != source]}
        )
        catalogue: Catalogue = network.catalogue.model_copy(
            update={
                "conditions": [
                    without if c.id == condition else c for c in network.catalogue.conditions
                ]
            }
        )
        found.append((source, replace(network, catalogue=catalogue)))
    return found


def _near_misses(
    network: Network,
    condition: str,
    observations: Sequence[Observation],
    tolerance: float,
    before: Power,
    others: Mapping[Answer, Outcome],
) -> tuple[NearMiss, ...]:
    """The failures with the fewest observations against them, one or two failures at a time.

    A single or named failure may be near in any answer; it is listed in a later one if something
    else is against it there.
    """
    pairs = singles_and_pairs(condition, network.combined_faults)
    tried = []
    riding = solve(network, pairs, before)
    for answer, outcome in {"ride-through": riding, **others}.items():
        agreeing = [holds(network, o, outcome.after, tolerance) for o in observations]
        fitting = at_least(agreeing, len(agreeing), outcome.scenarios.all)
        tried.append((answer, outcome, agreeing, fitting))
    # What contradicts everything seen is no near miss.
    for number in range(len(observations), 0, -1):
        for sizes in ((1,), (1, 2, 3)):
            found: dict[tuple[CutSet, tuple[Observation, ...]], NearMiss] = {}
            for answer, outcome, agreeing, fitting in tried:
                wanted = union(outcome.scenarios.of_size.get(n, 0) for n in sizes)
                for k in bits(fitting[number] & wanted)[:MOST_NEAR]:
                    failed = outcome.scenarios.at(k).faults
                    against = tuple(
                        o for o, m in zip(observations, agreeing, strict=True) if not m >> k & 1
                    )
                    found.setdefault((failed, against), NearMiss(failed, against, answer))
            if found:
                return tuple(found.values())[:MOST_NEAR]
    return ()
