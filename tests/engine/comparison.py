"""The engine's answers and the solver's, field by field."""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import InitVar, dataclass, field
from pathlib import Path
from typing import Any

import pytest

from sitegen.answers.because import because, causes_first
from sitegen.answers.drop import Loss, losses
from sitegen.catalogue.model import Catalogue, Then
from sitegen.catalogue.read import read
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import after_the_crew, solve
from sitegen.solver.scenarios import Fault, Scenario, scenarios_of
from tests.engine.v8 import Engine
from tests.random_nets import Raw

CATALOGUE = read(Path(__file__).parents[2] / "data" / "tarn-19").catalogue
assert CATALOGUE is not None
DEMO = [build(CATALOGUE, airframe.id) for airframe in CATALOGUE.airframes]
"""The airframes of the demo."""
airframes = pytest.mark.parametrize(
    "network",
    [DEMO[0], *(pytest.param(network, marks=pytest.mark.slow) for network in DEMO[1:])],
    ids=lambda network: network.airframe,
)
"""A check of each of them; the quick tests have the first."""

FIGURES = {"overloaded", "over_rating"}
"""Keys of `drop --json` that come from amps."""
LAMPS = ("lit", "unlit", "blank")


@dataclass
class Comparison:
    """One airframe, by both; counts what it has compared."""

    network: Network
    make_engine: InitVar[Callable[[Network], Engine]] = Engine
    engine: Engine = field(init=False)
    counts: Counter[str] = field(default_factory=Counter)

    def __post_init__(self, make_engine: Callable[[Network], Engine]) -> None:
        self.engine = make_engine(self.network)

    @classmethod
    def of(cls, catalogue: Raw, airframe: str) -> Comparison:
        return cls(build(Catalogue.model_validate(catalogue), airframe))

    def same(
        self,
        scenarios: Sequence[Scenario],
        then: Then | None = None,
        dips: Sequence[bool] = (False, True),
        word: int = 32,
    ) -> None:
        """That both say the same of these scenarios, with contactors riding through and not."""
        for dip in dips:
            outcome = solve(self.network, scenarios_of(scenarios), dip=dip)
            if then is not None:
                outcome = after_the_crew(outcome, then)
            answers = self.engine.answers(scenarios, dip, then, word)
            for loss, answered in zip(losses(outcome), answers, strict=True):
                expected = self.expected(loss)
                found = {key: answered.get(key) for key in expected}
                assert found == expected, (self.network.airframe, loss.condition, loss.failed, dip)
                self.counts["scenarios"] += 1
                self.counts["openings"] += bool(loss.opened)
                self.counts["stalls"] += bool(loss.stalled)
                self.counts["chatter"] += bool(loss.chatter)

    def same_because(
        self, scenarios: Sequence[Scenario], then: Then | None = None, overload: bool = False
    ) -> None:
        """That both say how these scenarios come about in the same steps, with the same causes.

        With `overload` what is overloaded opens, else contactors ride through and then drop out.
        """
        for scenario in scenarios:
            for dip in (False,) if overload else (False, True):
                events = because(
                    self.network,
                    scenario.condition,
                    scenario.faults,
                    then,
                    dip,
                    overload=overload,
                )
                expected = [
                    [{**e.as_json(), "in_dip": e.in_dip} for e in order]
                    for order in (events, causes_first(events))
                ]
                found = self.engine.because(scenario, dip, then, overload)
                assert found == expected, (scenario, then, dip, overload)
                self.counts["events"] += len(events)

    def expected(self, loss: Loss) -> dict[str, Any]:
        """What the engine must answer."""
        readings = {i: shown.kind for i, shown in loss.readings.items()}
        kinds = {i.id: i.kind for i in self.network.catalogue.indications}
        answer: dict[str, Any] = json.loads(
            json.dumps(
                {
                    **loss.as_json(self.network),
                    "kept": loss.kept,
                    "lamps": {i: r for i, r in readings.items() if kinds[i] in ("lamp", "flag")},
                }
            )
        )
        return {key: value for key, value in answer.items() if key not in {*FIGURES, "hazards"}}

    def random_sets(self, chance: random.Random, count: int) -> list[Scenario]:
        """Failures of up to six components, every second with a short among them."""
        conditions = [c.id for c in self.network.catalogue.conditions]
        of_each: dict[str, list[Fault]] = {}
        for fault in self.network.faults:
            of_each.setdefault(fault[0], []).append(fault)
        shorts = [fault for fault in self.network.faults if fault[1] == "shorted"]
        drawn = []
        for number in range(count):
            size = chance.randint(0, min(6, len(of_each)))
            chosen = {c: chance.choice(of_each[c]) for c in chance.sample(list(of_each), size)}
            if number % 2:
                short = chance.choice(shorts)
                chosen[short[0]] = short
            drawn.append(Scenario(chance.choice(conditions), tuple(chosen.values())))
        return drawn
