"""How long the batteries last in every failure of an airframe, each computed once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from sitegen.answers.airframe_answers import AirframeAnswers, InBatches
from sitegen.answers.drop import Loss, faults_of
from sitegen.answers.endurance.battery_endurance import battery_endurances
from sitegen.answers.endurance.every_failure import endurances_by_scenario
from sitegen.answers.endurance.results import Endurance
from sitegen.catalogue.model import Failure
from sitegen.solver.network import Network
from sitegen.solver.scenarios import Fault, Scenario

Endurances = tuple[Endurance, ...]


@dataclass(frozen=True)
class AirframeEndurance:
    """The endurances of one airframe's failures, in the order of the conditions."""

    answers: AirframeAnswers
    _named: dict[tuple[str, bool], list[Endurances]] = field(default_factory=dict)

    @cached_property
    def single(self) -> Mapping[Fault, list[Endurances]]:
        """In each condition the endurances after one fault; nobody has acted."""

        def answer(faults: tuple[Fault, ...]) -> list[list[Endurances]]:
            found = endurances_by_scenario(self.answers.network, faults, self.answers.before)
            conditions = self.answers.conditions
            return [[found.get(Scenario(c.id, (f,)), ()) for c in conditions] for f in faults]

        return InBatches(self.answers.batches, answer)

    def of_named(self, failure: Failure) -> list[Endurances]:
        """In each condition the endurances of a named failure, with what the crew does about it.

        They hold in both stages; empty where no battery carries load in either.
        """
        key = failure.id, failure.then is None
        if key not in self._named:
            self._named[key] = self._compute_named(failure)
        return self._named[key]

    def of_named_at_once(self, failure: Failure) -> list[Endurances]:
        """The same as one sees them at once: first if nobody does anything about the failure, then
        with what the crew does, where that makes another time of it.
        """
        alone = self.of_named(failure.model_copy(update={"then": None}))
        return [
            (*first, *(one for one in then if not any(map(one.lasts_the_same, first))))
            for first, then in zip(alone, self.of_named(failure), strict=True)
        ]

    def _compute_named(self, failure: Failure) -> list[Endurances]:
        network, before = self.answers.network, self.answers.before
        faults = faults_of(network, failure)
        stages = zip(*self.answers.named[failure.id], strict=True)
        return [
            tuple(battery_endurances(network, condition.id, faults, failure, before))
            if any(batteries_under_load(network, loss) for loss in losses)
            else ()
            for condition, losses in zip(self.answers.conditions, stages, strict=True)
        ]


def batteries_under_load(network: Network, loss: Loss) -> frozenset[str]:
    """The batteries that may carry load: they are among the carriers of some node with load."""
    return frozenset(
        source
        for node in network.loaded_nodes
        for source in loss.nodes[node].carriers
        if network.sources[source].kind == "battery"
    )
