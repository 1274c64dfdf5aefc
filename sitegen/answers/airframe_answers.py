"""Every answer that the pages of one airframe are written from, each computed once."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TypeVar

from sitegen.answers.cut_sets import GroupedSet, grouped_cut_sets, largest_set
from sitegen.answers.device_ends import Ends, LiveSide, device_ends, live_sides
from sitegen.answers.dip_decides import may_drop_out
from sitegen.answers.drop import Loss, faults_of, losses, with_overload
from sitegen.answers.in_batches import InBatches
from sitegen.answers.indications import readings_by_scenario
from sitegen.answers.loads.compared_loads import supply_breakers
from sitegen.answers.loads.drawn import draws
from sitegen.answers.loads.load_table import LoadTable, load_table
from sitegen.answers.loads.source_loads import LoadPair, load_pairs
from sitegen.answers.named_failures import NamedFailures, named_failures, named_scenarios
from sitegen.answers.panel_plans import PanelPlan, panel_plans
from sitegen.answers.readings import Reading
from sitegen.answers.signatures import Signatures, signature_table
from sitegen.answers.single_failures import SingleFailure, SingleFailures, single_failures
from sitegen.answers.start_sag import Sag, start_sags
from sitegen.answers.unchecked import AirframeLines
from sitegen.answers.voltage_drop import voltage_drops
from sitegen.answers.voltage_drop_records import VoltageDrops
from sitegen.catalogue.model import Airframe, Condition, Failure, Then, required_ids
from sitegen.catalogue.read import ReadResult
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome, after_the_crew, condition_states, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import (
    Fault,
    Scenario,
    Scenarios,
    bits,
    every_single,
    scenarios_of,
)

T = TypeVar("T")


@dataclass(frozen=True)
class AirframeAnswers:
    """The answers of one airframe. Lists of losses are in the order of the conditions.

    Parameters
    ----------
    reading, network : the airframe's wiring.
    together : answer all single failures at once, which is quickest for a whole site; else those of
        a component when they are asked for, for a page by itself.
    """

    reading: ReadResult
    network: Network
    together: bool = True
    _outcomes: dict[tuple[Fault, ...], Outcome] = field(default_factory=dict)
    """By batch of single failures."""

    @property
    def airframe(self) -> Airframe:
        """The airframe that these pages are for."""
        return next(a for a in self.network.catalogue.airframes if a.id == self.network.airframe)

    @property
    def conditions(self) -> list[Condition]:
        """In the author's order; the first is shown first."""
        return self.network.catalogue.conditions

    @cached_property
    def catalogue_lines(self) -> AirframeLines:
        """The lines of the catalogue that are about this airframe, and which are not checked."""
        assert self.reading.catalogue is not None
        return AirframeLines(self.reading.catalogue, self.network)

    @cached_property
    def before(self) -> Power:
        """The conditions with nothing failed."""
        return condition_states(self.network)

    @cached_property
    def normal(self) -> tuple[Loss, ...]:
        """Each condition with nothing failed."""
        return tuple(losses(self._nothing_failed))

    @cached_property
    def _nothing_failed(self) -> Outcome:
        scenarios = scenarios_of([Scenario(c.id) for c in self.conditions])
        return solve(self.network, scenarios, self.before)

    @cached_property
    def paged(self) -> tuple[str, ...]:
        """The components that have a failure page: sources, buses, and devices of their own."""
        c = self.network.catalogue
        return (
            *(s.id for s in c.sources),
            *(b.id for b in c.buses),
            *(d.id for d in c.devices),
        )

    @cached_property
    def batches(self) -> list[tuple[Fault, ...]]:
        """The faults of the components with a page, as they are answered together."""
        parts = [tuple((c, m) for m in self.network.components[c].modes) for c in self.paged]
        return [sum(parts, ())] if self.together else parts

    @cached_property
    def single(self) -> Mapping[Fault, tuple[Loss, ...]]:
        """By fault of a component with a page: what is lost with it, in each condition."""

        def answer(faults: tuple[Fault, ...]) -> list[Loss]:
            outcome = self._outcome(faults)
            if not self.together:
                return _at_once(outcome)
            answers = with_overload(losses(outcome, with_readings=False), outcome, outcome)
            return [
                replace(loss, readings=self._shown[loss.condition, loss.failed]) for loss in answers
            ]

        return _by_batch(self.batches, answer)

    @cached_property
    def _shown(self) -> dict[tuple[str, tuple[Fault, ...]], dict[str, Reading]]:
        """By condition and single failure, what indications show in the answer to expect."""
        scenarios = self.every_fault.scenarios
        shown = readings_by_scenario(self.single_failures.shown["expected"], scenarios.count)
        return {
            (one.condition, one.faults): shown[k]
            for k, one in enumerate(map(scenarios.at, range(scenarios.count)))
        }

    @cached_property
    def single_dip(self) -> Mapping[Fault, tuple[Loss, ...]]:
        """By short of which the catalogue leaves it open: the same if contactors drop out."""
        return _by_batch(self._shorts, lambda faults: _at_once(self._dropping_out(faults)))

    @cached_property
    def single_loads(self) -> Mapping[Fault, tuple[LoadPair, ...]]:
        """By fault of a component with a page: the amps with it, in each condition."""
        return _by_batch(self.batches, lambda faults: load_pairs(self._outcome(faults)))

    @cached_property
    def _shorts(self) -> list[tuple[Fault, ...]]:
        """Of each batch the faults that hold volts down."""
        found = (
            tuple(fault for fault in batch if may_drop_out(self.network, [fault]))
            for batch in self.batches
        )
        return [batch for batch in found if batch]

    def _dropping_out(self, faults: tuple[Fault, ...]) -> Outcome:
        if self.together:
            return self.single_failures.drop_out
        return solve(self.network, self._every(faults), self.before, dip=True)

    def _outcome(self, faults: tuple[Fault, ...]) -> Outcome:
        if faults not in self._outcomes:
            self._outcomes[faults] = solve(self.network, self._every(faults), self.before)
        return self._outcomes[faults]

    @cached_property
    def single_failures(self) -> SingleFailures:
        """Every fault there is, breakers of one item included, in every condition."""
        return single_failures(self.network, self.before)

    @cached_property
    def named_failures(self) -> NamedFailures:
        """What every named failure does at once, item by item and function by function."""
        return named_failures(self.network, self.before, self._named[0])

    @property
    def every_fault(self) -> Outcome:
        """The same in the answer to expect."""
        return self.single_failures.expected

    @cached_property
    def hitting_functions(self) -> dict[str, tuple[tuple[SingleFailure, ...], ...]]:
        """By function: the single failures that take it, and those that leave none to spare."""
        return self.single_failures.hitting_functions()

    @cached_property
    def signature_table(self) -> list[Signatures]:
        """By condition: every single failure by what the indications show."""
        return [signature_table(self.single_failures, c.id) for c in self.conditions]

    @cached_property
    def load_tables(self) -> list[LoadTable]:
        """By condition: amps with nothing failed, and the worst that a failure makes of them."""
        paged = set(self.paged)
        cancels = any(load.amps.cancels for load, _ in load_pairs(self._nothing_failed))
        breakers = supply_breakers(self.network, cancels)
        others = [(d, "open") for d in breakers if d not in paged]
        outcome = solve(self.network, self._every(others), self.before)
        alternatives = load_pairs(outcome)
        return [
            load_table(
                self.network,
                c.id,
                before=self.before,
                others=[
                    *(of[i] for of in self.single_loads.values()),
                    *(stages[0][i] for stages in self.named_loads.values()),
                    *alternatives[i * len(others) : (i + 1) * len(others)],
                ],
                acted=[of[1][i] for of in self.named_loads.values() if len(of) > 1],
            )
            for i, c in enumerate(self.conditions)
        ]

    @cached_property
    def voltage_drops(self) -> list[VoltageDrops]:
        """By condition with nothing failed."""
        drawn = draws(self.before)
        return [voltage_drops(drawn.states[number]) for number in drawn.number]

    @cached_property
    def start_sags(self) -> dict[str, list[tuple[str, Sag]]]:
        """By heavy item: (condition, what sags while it draws its short-time amps)."""
        return start_sags(self.network, self.before)

    @cached_property
    def largest_set(self) -> int:
        """The most failures in a set that is looked for."""
        return largest_set(self.network)

    def function_set_order(self, condition: int) -> int:
        """The same of functions, in a condition by its number."""
        return min(2, self.largest_set) if condition else self.largest_set

    @cached_property
    def function_sets(self) -> list[dict[str, tuple[GroupedSet, ...]]]:
        """By condition, by function that has enough providers there: its minimal cut sets.

        Up to three failures in the first condition, which is shown first; two in the others.
        """
        functions = [f.id for f in self.network.catalogue.functions]
        return [
            grouped_cut_sets(
                self.network,
                condition.id,
                functions=functions,
                order=self.function_set_order(i),
                before=self.before,
            )
            for i, condition in enumerate(self.conditions)
        ]

    @cached_property
    def equipment_sets(self) -> Mapping[str, tuple[int, tuple[GroupedSet, ...]]]:
        """By equipment: the first condition in which it works, and what takes it there.

        The condition is given by its number; what never works is left out.
        """
        first = {item: bits(mask)[0] for item, mask in self.before.works.items() if mask}

        def answer(items: tuple[str, ...]) -> list[tuple[int, tuple[GroupedSet, ...]]]:
            found: dict[str, tuple[GroupedSet, ...]] = {}
            for i, condition in enumerate(self.conditions):
                here = [item for item in items if first[item] == i]
                if here:
                    found |= grouped_cut_sets(self.network, condition.id, here, before=self.before)
            return [(first[item], found[item]) for item in items]

        items = tuple(first)
        return InBatches([items] if self.together else [(item,) for item in items], answer)

    @cached_property
    def named(self) -> dict[str, tuple[tuple[Loss, ...], ...]]:
        """By named failure its losses: at once and, if the crew can act, after it has."""
        return self._with_overload(self.network.catalogue.failures, *self._named)

    @cached_property
    def named_dip(self) -> dict[str, tuple[tuple[Loss, ...], ...]]:
        """By named failure the same if contactors drop out; empty where that is clear."""
        found: dict[str, tuple[tuple[Loss, ...], ...]] = {
            f.id: ((), ()) for f in self.network.catalogue.failures
        }
        return {**found, **self._with_overload(self._shorting, *self._named_dip)}

    def _with_overload(
        self, failures: Sequence[Failure], at_once: Outcome, acted: Outcome
    ) -> dict[str, tuple[tuple[Loss, ...], ...]]:
        return self._by_failure(
            failures,
            _at_once(at_once),
            with_overload(losses(acted), acted, at_once, self._thens(failures)),
        )

    @cached_property
    def named_loads(self) -> dict[str, tuple[tuple[LoadPair, ...], ...]]:
        """By named failure the amps, for the same stages and conditions."""
        return self._by_failure(self.network.catalogue.failures, *map(load_pairs, self._named))

    @cached_property
    def _named(self) -> tuple[Outcome, Outcome]:
        return self._stages(self.network.catalogue.failures)

    @cached_property
    def _named_dip(self) -> tuple[Outcome, Outcome]:
        return self._stages(self._shorting, dip=True)

    @cached_property
    def _shorting(self) -> list[Failure]:
        return [
            failure
            for failure in self.network.catalogue.failures
            if may_drop_out(self.network, faults_of(self.network, failure))
        ]

    def _stages(self, failures: Sequence[Failure], dip: bool = False) -> tuple[Outcome, Outcome]:
        """Named failures in every condition, one after the other: at once, and after the crew.

        Where the crew has nothing to do, it does nothing.
        """
        scenarios = named_scenarios(self.network, failures)
        at_once = solve(self.network, scenarios, self.before, dip)
        return at_once, after_the_crew(at_once, self._thens(failures))

    def _thens(self, failures: Sequence[Failure]) -> list[Then]:
        """What the crew does, by scenario of `_stages`."""
        return [f.crew_does(c.id) for f in failures for c in self.conditions]

    def _by_failure(
        self, failures: Sequence[Failure], at_once: Sequence[T], acted: Sequence[T]
    ) -> dict[str, tuple[tuple[T, ...], ...]]:
        """By named failure what belongs to its scenarios of `_stages`."""
        size, found = len(self.conditions), {}
        for number, failure in enumerate(failures):
            here = slice(number * size, (number + 1) * size)
            stages = (at_once, acted) if failure.has_acts else (at_once,)
            found[failure.id] = tuple(tuple(stage[here]) for stage in stages)
        return found

    @cached_property
    def device_ends(self) -> dict[str, tuple[Ends, ...]]:
        """By device in a feeder: between which nodes it is."""
        return device_ends(self.network)

    @cached_property
    def live_sides(self) -> dict[str, tuple[LiveSide, ...]]:
        """By device in a feeder: its sides that no switch turns off."""
        return live_sides(self.network)

    @cached_property
    def panels(self) -> tuple[PanelPlan, ...]:
        """Every panel, with what is where on it."""
        return panel_plans(self.network, self.device_ends, self.live_sides)

    @cached_property
    def required_by(self) -> dict[str, list[str]]:
        """By equipment: what other equipment depends on it."""
        found: dict[str, list[str]] = {}
        for item, equipment in self.network.equipment.items():
            for other in dict.fromkeys(required_ids(equipment)):
                found.setdefault(other, []).append(item)
        return found

    def _every(self, faults: Sequence[Fault]) -> Scenarios:
        return every_single([c.id for c in self.conditions], faults)


def _by_fault(faults: Sequence[Fault], answers: Sequence[T]) -> list[tuple[T, ...]]:
    """Of each fault its answers, from those of all faults in one condition after the other."""
    return [tuple(answers[i :: len(faults)]) for i in range(len(faults))]


def _by_batch(
    batches: Sequence[tuple[Fault, ...]], answer: Callable[[tuple[Fault, ...]], Sequence[T]]
) -> Mapping[Fault, tuple[T, ...]]:
    """Of each fault its answers; those of a batch are worked out when one of them is asked for."""
    return InBatches(batches, lambda faults: _by_fault(faults, answer(faults)))


def _at_once(outcome: Outcome) -> list[Loss]:
    return with_overload(losses(outcome), outcome, outcome)
