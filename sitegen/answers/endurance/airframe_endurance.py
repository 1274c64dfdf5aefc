"""How long the batteries last in every failure of an airframe, each computed once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.answers.drop import Loss, faults_of
from sitegen.answers.endurance.battery_endurance import Case, endurances_of_cases
from sitegen.answers.endurance.every_failure import endurances_by_scenario, few_batteries
from sitegen.answers.endurance.results import Endurance
from sitegen.answers.in_batches import InBatches
from sitegen.answers.loads.converter_loops import loop_inputs
from sitegen.catalogue.model import Failure, without_acts
from sitegen.solver.network import Network
from sitegen.solver.scenarios import Fault, Scenario

Endurances = tuple[Endurance, ...]


@dataclass(frozen=True)
class AirframeEndurance:
    """The endurances of one airframe's failures, in the order of the conditions."""

    answers: AirframeAnswers
    _known: dict[tuple[object, ...], Endurances] = field(default_factory=dict)
    """All but those of single failures if contactors ride through."""

    @cached_property
    def single(self) -> Mapping[Fault, list[Endurances]]:
        """In each condition the endurances after one fault; nobody has acted."""

        def answer(faults: tuple[Fault, ...]) -> list[list[Endurances]]:
            found = endurances_by_scenario(self.answers.network, faults, self.answers.before)
            conditions = self.answers.conditions
            return [[found.get(Scenario(c.id, (f,)), ()) for c in conditions] for f in faults]

        return InBatches(self.answers.batches, answer)

    @cached_property
    def with_nothing_failed(self) -> dict[str, Endurances]:
        """By condition."""
        conditions = self.answers.conditions
        return {c.id: self._of(i, (), None) for i, c in enumerate(conditions)}

    def of_single(self, fault: Fault, condition: int) -> Endurances:
        """After one fault in a condition, by its number."""
        return self.single[fault][condition]

    def of_named(self, failure: Failure, condition: int) -> Endurances:
        """Those of a named failure in a condition, with what the crew does about it.

        They hold in both stages; empty where no battery carries load in either.
        """
        network, stages = self.answers.network, self.answers.named[failure.id]
        losses = [stage[condition] for stage in stages]
        if not any(loss.overload or batteries_under_load(network, loss) for loss in losses):
            return ()
        return self._of(condition, faults_of(network, failure), failure)

    def of_named_at_once(self, failure: Failure, condition: int) -> Endurances:
        """The same as one sees them at once: first if nobody does anything about the failure, then
        with what the crew does, where that makes another time of it.
        """
        first = self.of_named(without_acts(failure), condition)
        then = self.of_named(failure, condition)
        return (*first, *(one for one in then if not any(map(one.lasts_the_same, first))))

    def _of(self, condition: int, faults: tuple[Fault, ...], failure: Failure | None) -> Endurances:
        case = self.answers.conditions[condition].id, faults, failure
        if _key(case) not in self._known:
            network, cases = self.answers.network, [case]
            if failure and self.answers.together and few_batteries(network):
                cases = self._named(acting=failure.has_acts)
            found = endurances_of_cases(network, cases, self.answers.before)
            self._known.update(
                (_key(one), tuple(of_it)) for one, of_it in zip(cases, found, strict=True)
            )
        return self._known[_key(case)]

    def _named(self, acting: bool) -> list[Case]:
        """The named failures about which the crew acts; all of them, without what it does."""
        failures = self.answers.network.catalogue.failures
        if acting:
            failures = [f for f in failures if f.has_acts]
        else:
            failures = [without_acts(f) for f in failures]
        return [
            (c.id, faults_of(self.answers.network, f), f)
            for f in failures
            for c in self.answers.conditions
        ]


def _key(case: Case) -> tuple[object, ...]:
    condition, faults, failure = case
    return condition, failure.id if failure else faults, bool(failure and failure.has_acts)


def batteries_under_load(network: Network, loss: Loss) -> frozenset[str]:
    """The batteries that may carry load: they are among the carriers of some node with load, or
    reach one that a converter may feed by way of itself.
    """
    carrying = [loss.nodes[node].carriers for node in network.loaded_nodes]
    reaching = [loss.nodes[node].sources for node in loop_inputs(network)]
    return frozenset(
        source
        for sources in (*carrying, *reaching)
        for source in sources
        if network.sources[source].kind == "battery"
    )
