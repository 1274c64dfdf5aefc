"""What failures take in one wiring and not in another: two airframes, or two revisions of one.

Both are solved with the same scenarios in the same order, so that the masks of the two compare bit
by bit. What a condition itself does otherwise, with nothing failed, is reported once, and not again
with every failure in it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from sitegen.answers.drop import faults_of
from sitegen.answers.three_answers import Answer, must_open, overload_answer
from sitegen.catalogue.model import Failure
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome, after_the_crew, condition_states, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Fault, Scenario, bits, every_single, scenarios_of, union

Names = Mapping[str, str]


@dataclass(frozen=True)
class ConditionChange:
    """A condition in which, with nothing failed, something works in one of the two alone."""

    condition: str
    only_one: tuple[str, ...]
    """Equipment of both."""
    only_other: tuple[str, ...]


@dataclass(frozen=True)
class Consequence:
    """A failure that takes something else in each of the two, or switches something else on.

    Where AC sources conflict in one of the two alone, what may be lost there is not known.

    Ids are those of the other, the newer; all are sorted.
    """

    condition: str
    fault: Fault
    """Of a named failure its id, and no mode."""
    only_one: tuple[str, ...]
    """Equipment that is lost in the one alone."""
    only_other: tuple[str, ...]
    answer: Answer = "expected"
    """The first in which it does."""
    on_one: tuple[str, ...] = ()
    """Equipment that comes on in the one alone."""
    on_other: tuple[str, ...] = ()
    part_is_new: bool = False
    """What fails is in the other alone."""
    after_crew: bool = False
    """Once the crew has acted on a named failure."""
    unsure_one: tuple[str, ...] = ()
    """Equipment of which it is not known, in the one alone, whether it still works."""
    unsure_other: tuple[str, ...] = ()

    @property
    def effect(self) -> tuple[tuple[str, ...], ...]:
        """All that is not the same."""
        lost, on = (self.only_one, self.only_other), (self.on_one, self.on_other)
        return *lost, *on, self.unsure_one, self.unsure_other


Answers = Mapping[Answer, tuple[Outcome, Outcome]]
"""By answer the same scenarios of both."""


def single_failure_changes(
    one: Network, other: Network, ids: Names | None = None, revisions: bool = False
) -> tuple[tuple[ConditionChange, ...], tuple[Consequence, ...]]:
    """Compare every single failure, in the three answers.

    Parameters
    ----------
    one, other : the older and the newer.
    ids : new ids by old ones.
    revisions : whether what the other has alone counts too: its items when a failure of both takes
        them, and the failures of its parts when they take items of both.
    """
    pairs = _Pairs(one, other, ids or {}, revisions)
    if not pairs.conditions:
        return (), ()
    before, after = condition_states(one), condition_states(other)
    consequences: list[Consequence] = []
    said: set[tuple[str, Fault, tuple[tuple[str, ...], ...]]] = set()
    for answer, (here, there) in single_failure_answers(one, other, ids).items():
        for k, effect in pairs.effects(here, there):
            scenario = there.scenarios.at(k)
            where = scenario.condition, scenario.faults[0]
            if (*where, effect) not in said:
                said.add((*where, effect))
                consequences.append(_consequence(*where, effect, answer))
    if revisions:
        compared = set(_faults_of_both(one, other, ids or {}))
        new = [f for f in other.faults if f not in compared]
        there = solve(other, every_single([n for _, n in pairs.conditions], new), after)
        for k, effect in pairs.effects(None, there):
            scenario = there.scenarios.at(k)
            fault = scenario.faults[0]
            consequences.append(_consequence(scenario.condition, fault, effect, part_is_new=True))
    return tuple(pairs.condition_changes(before, after)), tuple(consequences)


def _faults_of_both(one: Network, other: Network, ids: Names) -> list[Fault]:
    old_id, had = {new: old for old, new in ids.items()}, set(one.faults)
    return [f for f in other.faults if (old_id.get(f[0], f[0]), f[1]) in had]


def single_failure_answers(one: Network, other: Network, ids: Names | None = None) -> Answers:
    """Every single failure that both can have, in every condition of both, in the three answers."""
    old_id = {new: old for old, new in (ids or {}).items()}
    before, after = condition_states(one), condition_states(other)
    conditions = _Pairs(one, other, ids or {}, False).conditions
    faults = _faults_of_both(one, other, ids or {})

    def both(failing: Sequence[Fault], dip: bool = False) -> tuple[Outcome, Outcome]:
        old_faults = [(old_id.get(c, c), mode) for c, mode in failing]
        return (
            solve(one, every_single([o for o, _ in conditions], old_faults), before, dip=dip),
            solve(other, every_single([n for _, n in conditions], failing), after, dip=dip),
        )

    riding = both(faults)
    # Only a short holds volts down; answer 3 is asked of all in which either has something open.
    shorts = [f for f in faults if f[1] == "shorted" and f[0] in other.nodes]
    opening = sorted({k for outcome in riding for k in must_open(outcome)})
    here, there = riding
    return {
        "expected": riding,
        "drop-out": both(shorts, dip=True),
        "overload": (overload_answer(here, opening), overload_answer(there, opening)),
    }


def named_failure_changes(one: Network, other: Network, ids: Names) -> Iterator[Consequence]:
    """Compare the named failures of both, at once and after the crew has acted."""
    pairs = _Pairs(one, other, ids, True)
    old = {ids.get(f.id, f.id): f for f in one.catalogue.failures}
    both = [(old[f.id], f) for f in other.catalogue.failures if f.id in old]
    if not both or not pairs.conditions:
        return
    scenes = [(condition, failure) for failure in both for condition in pairs.conditions]
    here = _named(one, [(c[0], f[0]) for c, f in scenes])
    there = _named(other, [(c[1], f[1]) for c, f in scenes])
    for after_crew in (False, True):
        for k, effect in pairs.effects(here[after_crew], there[after_crew]):
            (_, condition), (_, failure) = scenes[k]
            if failure.has_acts or not after_crew:
                yield _consequence(condition, (failure.id, ""), effect, after_crew=after_crew)


def _named(network: Network, scenes: Sequence[tuple[str, Failure]]) -> tuple[Outcome, Outcome]:
    """Named failures in conditions, at once and after the crew has acted."""
    scenarios = [Scenario(c, tuple(dict.fromkeys(faults_of(network, f)))) for c, f in scenes]
    at_once = solve(network, scenarios_of(scenarios))
    return at_once, after_the_crew(at_once, [f.crew_does(c) for c, f in scenes])


def _consequence(
    condition: str,
    fault: Fault,
    effect: tuple[tuple[str, ...], ...],
    answer: Answer = "expected",
    part_is_new: bool = False,
    after_crew: bool = False,
) -> Consequence:
    only_one, only_other, on_one, on_other, unsure_one, unsure_other = effect
    return Consequence(
        condition,
        fault,
        only_one,
        only_other,
        answer,
        on_one,
        on_other,
        part_is_new,
        after_crew,
        unsure_one,
        unsure_other,
    )


@dataclass(frozen=True)
class _Pairs:
    """Which conditions and items of two wirings are the same."""

    one: Network
    other: Network
    ids: Names
    with_new_items: bool

    @property
    def conditions(self) -> list[tuple[str, str]]:
        """(old id, new id) of the conditions of both, in the order of the other."""
        old = {self.ids.get(c.id, c.id): c.id for c in self.one.catalogue.conditions}
        return [(old[c.id], c.id) for c in self.other.catalogue.conditions if c.id in old]

    @property
    def items(self) -> list[tuple[str, str]]:
        """(old id, new id) of the equipment of both."""
        old = {self.ids.get(i, i): i for i in self.one.equipment}
        return [(old[i], i) for i in self.other.equipment if i in old]

    def condition_changes(self, before: Power, after: Power) -> Iterator[ConditionChange]:
        """What works in one of the two alone in a condition of both, with nothing failed."""
        at = [c.id for c in self.one.catalogue.conditions]
        at_new = [c.id for c in self.other.catalogue.conditions]
        for old, new in self.conditions:
            k, n = at.index(old), at_new.index(new)
            only: tuple[list[str], list[str]] = [], []
            for was, now in self.items:
                worked, works = before.works[was] >> k & 1, after.works[now] >> n & 1
                if worked != works:
                    only[works].append(now)
            if any(only):
                yield ConditionChange(new, tuple(sorted(only[0])), tuple(sorted(only[1])))

    def effects(
        self, here: Outcome | None, there: Outcome
    ) -> Iterator[tuple[int, tuple[tuple[str, ...], ...]]]:
        """By scenario in which the two differ: lost in one, in the other; comes on; not known.

        Parameters
        ----------
        here, there : the same scenarios, one by one; without the one, nothing is lost in it.
        """
        every = there.scenarios.all
        masks: tuple[dict[str, int], ...] = {}, {}, {}, {}, {}, {}
        for old, new in self.items:
            was_lost = here.lost[old] if here else 0
            was_on = (here.comes_on[old] | here.turned_on[old]) if here else 0
            was_unsure, unsure = here.unsure[old] if here else 0, there.unsure[new]
            # Where the item works, or does not, in the condition of both.
            same = every & ~(here.worked[old] ^ there.worked[new]) if here else every
            lost, on = there.lost[new], there.comes_on[new] | there.turned_on[new]
            for place, mask in enumerate(
                (
                    *(was_lost & ~lost, lost & ~was_lost, was_on & ~on, on & ~was_on),
                    *(was_unsure & ~unsure, unsure & ~was_unsure),
                )
            ):
                masks[place][new] = mask & same
        if self.with_new_items and here:
            for item in set(self.other.equipment) - {new for _, new in self.items}:
                masks[1][item] = there.lost[item]
                masks[3][item] = there.comes_on[item] | there.turned_on[item]
                masks[5][item] = there.unsure[item]
        for k in bits(union(mask for of in masks for mask in of.values())):
            yield k, tuple(tuple(sorted(i for i, m in of.items() if m >> k & 1)) for of in masks)
