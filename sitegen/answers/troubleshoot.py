"""Question 3: these are dead, these still work, the meters read so; what has failed?

All failures are tried, alone, in twos and in threes, and the named failures with all that fails in
each. What explains everything seen and holds no smaller explanation is a candidate. A single or a
named failure may explain it in any of the three answers: contactors ride through a fault, or drop
out, or what is overloaded opens.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, partial

from sitegen.answers.besides import differs
from sitegen.answers.cut_sets import (
    LARGEST_SET,
    CutSet,
    largest_set,
    own_breakers,
)
from sitegen.answers.dip_decides import may_drop_out
from sitegen.answers.drop import Loss, faults_of, losses
from sitegen.answers.elsewhere_in_range import (
    Airframe,
    Elsewhere,
    anywhere_in_range,
    moved_volts,
    with_failures,
)
from sitegen.answers.explanations import (
    Explains,
    Explanation,
    answer_outcome,
    explaining_sets,
    meaning_of,
    rank,
)
from sitegen.answers.near_misses import NearMiss, near_misses
from sitegen.answers.next_checks import HEALTHY, Check, next_checks
from sitegen.answers.observations import Observation, all_hold, breakers_feeding
from sitegen.answers.ranked_causes import CauseGroup, in_groups, likeliest, ranked
from sitegen.answers.readings import TOLERANCE_VOLTS
from sitegen.answers.three_answers import Answer, overload_answer
from sitegen.answers.volts_screen import possible_with, possibly_healthy
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome, condition_states
from sitegen.solver.power import Power
from sitegen.solver.scenarios import bits

MOST_JUDGED = 400
"""Candidates among which the next check is chosen; with more, any check helps."""


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
    """In the order of their groups, of one size first what explains it at the volts of the
    catalogue. None holds a smaller one; a named failure may hold two or three that explain it. One
    of which several answers explain what is seen, and differ, is there several times."""
    groups: tuple[CauseGroup, ...]
    """Those of the fewest failures; then the named ones; then the others by their number."""
    likely: Sequence[int]
    """The numbers of the causes that the next checks are to distinguish."""
    answers: tuple[Answer, ...]
    """By candidate: in which it explains it."""
    volts: tuple[Mapping[str, float], ...]
    """By candidate: where in its range each source then is, V; empty where they are at their own
    volts."""
    losses: tuple[Loss, ...]
    """What each candidate would mean; as many as were judged."""
    next_checks: tuple[Check, ...]
    """The best first."""
    near_misses: tuple[NearMiss, ...]
    """Where nothing alone explains everything. Their numbers in groups and checks follow those of
    the candidates."""
    near_losses: tuple[Loss, ...]
    """What each of these would mean."""
    more_near: bool
    """Whether there are more of them."""
    not_powered: tuple[str, ...]
    """What is seen dead and does not work in the condition with nothing failed either."""

    def cause(self, number: int) -> tuple[CutSet, Answer, Loss | None]:
        """What fails in candidate or near miss `number`, in which answer, and what it means."""
        near = number - len(self.candidates)
        if near >= 0:
            miss = self.near_misses[near]
            return miss.failed, miss.answer, self.near_losses[near]
        loss = self.losses[number] if number < len(self.losses) else None
        return self.candidates[number], self.answers[number], loss

    def volts_of(self, number: int) -> Mapping[str, float]:
        """The volts at which cause `number` explains it; of a near miss those of the catalogue."""
        return self.volts[number] if number < len(self.candidates) else {}


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
    airframe = network, condition_states(network)
    found = _search(airframe, condition, observations, tolerance, order)
    healthy_at = found.healthy_at
    fits = healthy_at is not None
    near: tuple[NearMiss, ...] = ()
    more_near = False
    if found.smallest not in (0, 1):
        near, more_near = near_misses(
            airframe, condition, observations, tolerance, found.others, found.smallest
        )
    explanations = ranked(found.explanations, _named(network), near)
    airframes = {0: airframe}
    if any(e.at for e in explanations):
        airframes.update(enumerate(found.elsewhere, 1))
    judged = explanations[:MOST_JUDGED]
    sets = [e.failed for e in explanations]
    groups = in_groups(sets, _named(network), near)
    missing = [Explanation(miss.failed, miss.answer) for miss in near]
    healthy = [Explanation((), at=HEALTHY)] if healthy_at else []
    if healthy_at:
        airframes[HEALTHY] = healthy_at
    meaning, near_meaning, if_healthy = (
        meaning_of(airframes, condition, some) for some in (judged, missing, healthy)
    )
    compared = [g for g in groups if not g.against or (len(g.against) == 1 and not more_near)]
    numbers = [HEALTHY, *range(len(judged)), *range(len(sets), len(sets) + len(near))]
    possible = dict(zip(numbers[1 - len(healthy) :], [*healthy, *judged, *missing], strict=True))
    means = dict(zip(possible, [*if_healthy, *meaning, *near_meaning], strict=True))

    def checks(among: Sequence[int]) -> list[Check]:
        """Those that distinguish these causes, and the healthy aircraft."""
        shown = [n for n in (*among, HEALTHY) if n in possible]
        left = {o.subject for n in among if n >= len(sets) for o in near[n - len(sets)].against}
        causes = {n: (possible[n], means[n]) for n in shown}
        return next_checks(airframes, condition, causes, observations, left, tolerance)

    likely = [n for n in likeliest(compared, sets, fits) if n in possible]
    every = sorted(n for g in compared for n in g.numbers if n in possible)
    return Diagnosis(
        condition,
        tuple(observations),
        found.order,
        fits,
        moved_volts(network, healthy_at[0]) if healthy_at else {},
        tuple(sets),
        groups,
        tuple(likely),
        tuple(e.answer for e in explanations),
        tuple(_volts_of(network, airframes[e.at][0], e) for e in explanations),
        tuple(meaning),
        tuple(checks(likely) or (checks(every) if len(likely) < len(every) else ())),
        near,
        tuple(near_meaning),
        more_near,
        _not_powered(airframe, condition, observations),
    )


def _not_powered(
    airframe: Airframe, condition: str, observations: Sequence[Observation]
) -> tuple[str, ...]:
    _, before = airframe
    here = before.steady.setting.in_condition[condition]
    alive = {**before.works, **before.steady.live}
    return tuple(
        o.subject for o in observations if o.seen == "dead" and not alive[o.subject] & here
    )


@dataclass(frozen=True)
class _Found:
    """What explains some observations, up to `order` failures at a time."""

    order: int
    healthy_at: Airframe | None
    """Where nothing need have failed."""
    explanations: list[Explanation]
    """The smallest first; of one size what explains it at the volts of the catalogue."""
    elsewhere: Sequence[Airframe]
    others: Mapping[Answer, Outcome]

    @property
    def smallest(self) -> int | None:
        """The fewest failures at a time that explain it; none where nothing does."""
        if self.healthy_at:
            return 0
        return len(self.explanations[0].failed) if self.explanations else None


def _search(
    airframe: Airframe,
    condition: str,
    observations: Sequence[Observation],
    tolerance: float,
    order: int,
) -> _Found:
    network, _ = airframe
    breakers = breakers_feeding(network, observations)

    def explains(power: Power, among: int) -> int:
        return all_hold(power.steady.network, observations, power, tolerance, among)

    def is_healthy(of: Airframe) -> bool:
        nothing = answer_outcome(of, condition, [()], "expected")
        return bool(explains(nothing.after, 1))

    @cache
    def elsewhere() -> list[Elsewhere]:
        return with_failures(network, condition, observations)

    @cache
    def healthy_elsewhere() -> list[Elsewhere]:
        """Those at which what is seen dead and working is so with nothing failed."""
        return possibly_healthy(network, condition, observations, elsewhere())

    def everywhere() -> Iterator[Airframe]:
        yield airframe
        anywhere = anywhere_in_range(network, condition, observations)
        for at in possibly_healthy(network, condition, observations, anywhere):
            yield at.airframe
        for at in healthy_elsewhere():
            yield at.airframe

    healthy_at = next((at for at in everywhere() if is_healthy(at)), None)
    fits = healthy_at is not None
    # Where everything is seen a hundred breakers may feed it: as bits they cost little.
    # One that sticks closed where it only supplies equipment is no cause of anything, unless
    # something switches it.
    own_faults = [
        (b, mode) for b, mode in network.faults if b in breakers and _acts(network, b, mode)
    ]
    order = largest_set(network, order, own_faults)
    # Where these volts alone explain it, a failure at the same volts explains nothing.
    by_volts = fits and not is_healthy(airframe)
    moved = {
        number: at
        for number, at in enumerate(elsewhere(), 1)
        if not (by_volts and at in healthy_elsewhere() and is_healthy(at.airframe))
    }
    possible_there = partial(possible_with, network, condition, observations)
    found = explaining_sets(
        airframe, moved, condition, explains, possible_there, order, own_faults, not fits
    )
    if fits:
        # Then a breaker that feeds nothing observed may have opened as well: it changes nothing
        # that was seen, so it explains it alone, and is in no larger set.
        unseen = set(own_breakers(network, network.connections)) - set(breakers)
        singles = [(f,) for f in network.faults if f[0] in unseen and _acts(network, *f)]
        then = answer_outcome(airframe, condition, singles, "expected")
        explaining = explains(then.after, then.scenarios.all)
        found += [Explanation(s) for k, s in enumerate(singles) if explaining >> k & 1]
        place = {fault: i for i, fault in enumerate(network.faults)}
        found.sort(key=lambda e: (*rank(e), [place[f] for f in e.failed]))
    others = _other_answers(airframe, condition)
    named = [failed for failed in _named(network) if len(failed) > 1]
    names = set(map(frozenset, named))
    riding = answer_outcome(airframe, condition, named, "expected")
    for answer, outcome in (("expected", riding), *others.items()):
        more = _in_another_answer(outcome, answer, [e.failed for e in found], explains)
        alone = {frozenset(failed) for failed in more if len(failed) == 1}
        smaller = {frozenset(failed) for failed in more}
        found = [
            e
            for e in found
            for failed in [frozenset(e.failed)]
            if not any(one < failed for one in (alone if failed in names else smaller))
        ]
        found += [Explanation(failed, answer) for failed in more]
    found = ranked(found, named)
    away = [at.airframe for at in elsewhere()] if any(e.at for e in found) else []
    return _Found(order, healthy_at, found, away, others)


def _volts_of(network: Network, moved: Network, explanation: Explanation) -> dict[str, float]:
    failed = {component for component, _ in explanation.failed}
    return {s: v for s, v in moved_volts(network, moved).items() if s not in failed}


def _acts(network: Network, component: str, mode: str) -> bool:
    """Whether a failure of a device that only supplies equipment can have an effect."""
    return mode != "stuck-closed" or component in network.switching


def _in_another_answer(
    outcome: Outcome, answer: Answer, candidates: Sequence[CutSet], explains: Explains
) -> list[CutSet]:
    """The single and named failures that explain what is seen in an answer.

    Left out are those that hold a single failure that explains it, and those of which an earlier
    answer, which is a candidate already, says the same. A named failure stays beside two or three
    of its own that would do: they are less likely than what joins them.
    """
    explaining = [
        outcome.scenarios.at(k) for k in bits(explains(outcome.after, outcome.scenarios.all))
    ]
    if not explaining:
        return []
    airframe = outcome.network, outcome.before
    condition, sets = explaining[0].condition, [scenario.faults for scenario in explaining]
    known = {frozenset(c) for c in candidates}
    alone = {c for c in known if len(c) == 1}
    found: list[CutSet] = []
    both: tuple[Answer, Answer] = ("expected", answer)
    riding, there = (losses(answer_outcome(airframe, condition, sets, one)) for one in both)
    for loss, other in zip(there, riding, strict=True):
        failed = frozenset(loss.failed)
        if any(one < failed for one in alone):
            continue
        if len(failed) == 1:
            alone.add(failed)
        if failed not in known or _differ(loss, other):
            found.append(loss.failed)
    return found


def _named(network: Network) -> list[CutSet]:
    """What fails in each of the named failures."""
    every = network.catalogue.failures
    return list(dict.fromkeys(faults_of(network, failure) for failure in every))


def _other_answers(airframe: Airframe, condition: str) -> dict[Answer, Outcome]:
    """The single and named failures in the answers in which they may do something else: those with
    a short in it, and those that overload something.
    """
    network, _ = airframe
    sets = dict.fromkeys([*((f,) for f in network.faults), *_named(network)])
    shorts = [s for s in sets if may_drop_out(network, s)]
    riding = answer_outcome(airframe, condition, list(sets), "expected")
    return {
        "drop-out": answer_outcome(airframe, condition, shorts, "drop-out"),
        "overload": overload_answer(riding),
    }


def _differ(loss: Loss, other: Loss) -> bool:
    return differs(loss, other) or loss.readings != other.readings
