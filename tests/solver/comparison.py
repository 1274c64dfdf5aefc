"""The package's answers and the plain solver's, scenario by scenario, over one random net."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from sitegen.answers.because import because
from sitegen.answers.drop import Loss, losses
from sitegen.catalogue.model import Catalogue, Then
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import Outcome, after_the_crew, solve
from sitegen.solver.scenarios import (
    Fault,
    Scenario,
    every_single,
    scenarios_of,
    singles_and_pairs,
)
from tests import plain
from tests.plain import Raw

MOST_FAULTS = 6
WORDS = ("lost", "reduced", "kept", "comes_on", "not_powered", "not_known", "functions")

EVENTS = (
    *("openings", "stalls", "chatter", "conflicts", "resets that failed"),
    *("dips that differ", "because", "passes that repeat", "searches begun again twice"),
)
"""What is counted besides scenarios."""


@dataclass
class Comparison:
    """One airframe of a catalogue, by both solvers; counts what it has compared."""

    catalogue: Raw
    airframe: str
    network: Network = field(init=False)
    before: dict[str, plain.Scenario] = field(init=False)
    counts: Counter[str] = field(default_factory=Counter)

    def __post_init__(self) -> None:
        self.network = build(Catalogue.model_validate(self.catalogue), self.airframe)
        self.before = {
            c["id"]: plain.settled_condition(self.catalogue, c["id"], self.airframe)
            for c in self.catalogue["conditions"]
        }

    @property
    def conditions(self) -> list[str]:
        return list(self.before)

    def singles(self) -> None:
        """Every failure of one component in every condition, in answers 1 and 2."""
        scenarios = every_single(self.conditions, self.network.faults)
        answers = [solve(self.network, scenarios, dip=dip) for dip in (False, True)]
        self.both(answers, range(scenarios.count))

    def pairs(self, chance: random.Random, count: int) -> None:
        """Some of the pairs of one condition, of all of them solved together."""
        condition = chance.choice(self.conditions)
        scenarios = singles_and_pairs(condition, self.network.combined_faults)
        chosen = [
            k
            for k in chance.sample(range(scenarios.count), min(count, scenarios.count))
            if one_mode_each(scenarios.at(k).faults)
        ]
        self.both([solve(self.network, scenarios, dip=dip) for dip in (False, True)], chosen)

    def sets(self, chance: random.Random, crews: Sequence[Raw], count: int) -> None:
        """Random failures of up to six components, what each crew then does, and because."""
        drawn = []
        for number in range(count):
            size = chance.randint(0, min(MOST_FAULTS, len(self.network.components)))
            of_each: dict[str, list[Fault]] = {}
            # In every second set a short is among the failures, and there are few of them.
            all_shorts = [f for f in self.network.faults if f[1] == "shorted"]
            ends = [f for f in all_shorts if f[0] in ("hub", "end")] or all_shorts
            short = chance.choice(chance.choice((all_shorts, ends)))
            shorts = chance.sample([short], number % 2)
            for fault in self.network.faults:
                if not shorts or fault[0] != short[0]:
                    of_each.setdefault(fault[0], []).append(fault)
            size = chance.choice((0, 0, 1, 1, 2)) if shorts else size
            others = chance.sample(list(of_each), min(size, len(of_each)))
            if shorts and "start" in of_each and chance.random() < 0.5:
                others = ["start"]
            failed = (*shorts, *(chance.choice(of_each[c]) for c in others))
            condition = chance.choice(self.conditions)
            drawn.append(Scenario(condition, failed))
        answers = [solve(self.network, scenarios_of(drawn), dip=dip) for dip in (False, True)]
        self.both(answers, range(count), explained=range(0, count, 3))
        for number, crew in enumerate(crews):
            then = Then.model_validate(crew)
            acted = [after_the_crew(outcome, then) for outcome in answers]
            self.both(acted, range(count), crew, explained=range(number, count, 3))

    def both(
        self,
        answers: Sequence[Outcome],
        numbers: Iterable[int],
        then: Raw | None = None,
        explained: Iterable[int] = (),
    ) -> None:
        """That answers 1 and 2 of these scenarios are what the plain solver says."""
        by_package = [losses(outcome) for outcome in answers]
        for k in numbers:
            by_plain = [
                self.one(found[k], then, dip, k in explained)
                for dip, found in enumerate(by_package)
            ]
            self.counts["dips that differ"] += any(
                by_plain[0][word] != by_plain[1][word] for word in WORDS
            )

    def one(self, loss: Loss, then: Raw | None, dip: int, explain: bool) -> Raw:
        """That one answer is what the plain solver says."""
        before = self.before[loss.condition]
        after = plain.after_failure(before, loss.failed, bool(dip))
        if then is not None:
            after = plain.after_crew(before, after, then)
        expected = plain.compare(before, after)
        rows = expected.pop("because")
        case = (loss.condition, loss.failed, then, f"answer {dip + 1}")
        found = by_plain_names(self.network, loss)
        assert {word: found[word] for word in expected} == expected, case
        if explain:
            asked = None if then is None else Then.model_validate(then)
            events = because(self.network, loss.condition, loss.failed, asked, bool(dip))
            assert [(e.step, e.kind, e.id, e.change) for e in events] == rows, case
            self.counts["because"] += 1
        self.counts["scenarios"] += 1
        self.counts["openings"] += bool(expected["opened"])
        self.counts["stalls"] += bool(expected["stalled"])
        self.counts["chatter"] += bool(expected["chatter"])
        self.counts["conflicts"] += bool(expected["conflicts"])
        self.counts["passes that repeat"] += bool(after.repeats)
        self.counts["searches begun again twice"] += after.restarts > 1
        self.counts["four passes or more"] += after.passes > 3
        if after.at_once and not after.reset & (after.opened | after.stalled):
            worked = {item for item, works in after.at_once.works().items() if works}
            taken = worked & plain.spared_by_the_acts(after) & set(expected["lost"])
            self.counts["lost to what the crew's acts opened"] += bool(taken)
        self.counts["resets that failed"] += bool(after.reset & (after.opened | after.stalled))
        return expected


def one_mode_each(failed: Sequence[Fault]) -> bool:
    """Whether no component fails in two modes at once."""
    return len({component for component, _ in failed}) == len(failed)


def by_plain_names(network: Network, loss: Loss) -> Raw:
    """A Loss by the plain solver's names."""
    return {
        **loss.as_json(network),
        "kept": list(loss.kept),
        "readings": {i: str(shown) for i, shown in loss.readings.items()},
    }
