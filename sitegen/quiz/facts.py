"""The facts that questions about one airframe are made from: each answer is worked out once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.answers.besides import differs
from sitegen.answers.drop import Loss, faults_of, function_states
from sitegen.answers.endurance.battery_endurance import battery_endurances
from sitegen.answers.endurance.results import Endurance
from sitegen.catalogue.model import Condition, Failure
from sitegen.pages.links import failure_page, named_failure_page
from sitegen.quiz.question_wording import failed_words, name_without_side
from sitegen.solver.network import Network
from sitegen.solver.scenarios import Fault, bits, ids_by_scenario
from sitegen.terminal.shared_text import crew_acts

LONGEST_ACTS = 300
"""Letters of what the crew does; longer lists are not asked about."""


@dataclass(frozen=True)
class PageToRead:
    """The page of the site that has an answer."""

    file: str
    """Its file in the airframe's folder."""
    title: str


@dataclass(frozen=True)
class FailureCase:
    """Something that has failed in a condition, and what that means."""

    condition: Condition
    number: int
    """The condition's index in the author's order."""
    faults: tuple[Fault, ...]
    failure: Failure | None
    """The named failure, if it is one."""
    acted: bool
    """The crew has done what the catalogue lists for this failure."""
    words: str
    """What has failed, as a question says it."""
    page: PageToRead
    loss: Loss
    normal: Loss
    """The condition with nothing failed."""
    points: int

    @cached_property
    def lost(self) -> frozenset[str]:
        """The equipment that is lost."""
        return frozenset(self.loss.lost)

    @cached_property
    def working(self) -> frozenset[str]:
        """The equipment that worked before anything failed, and still does."""
        worked = {*self.normal.kept, *self.normal.reduced}
        return frozenset(i for i in (*self.loss.kept, *self.loss.reduced) if i in worked)

    @property
    def key(self) -> str:
        """Unique among the cases."""
        named = self.failure.id if self.failure else ""
        failed = ",".join(":".join(f) for f in self.faults)
        return f"{self.condition.id} {failed} {named} {self.acted}"

    @property
    def asks(self) -> dict[str, object]:
        """The case as JSON values."""
        return {
            "condition": self.condition.id,
            "failed": [{"id": c, "mode": m} for c, m in self.faults],
            "failure": self.failure.id if self.failure else None,
            "crew-has-acted": self.acted,
        }


@dataclass(frozen=True)
class Facts:
    """One airframe, and the conditions that are asked about."""

    answers: AirframeAnswers
    fleet: tuple[Network, ...]
    """The networks of all airframes, this one included, in the author's order."""
    only_condition: str | None = None
    """Ask about this condition only; None for all."""

    @property
    def network(self) -> Network:
        """The airframe's network."""
        return self.answers.network

    @cached_property
    def conditions(self) -> tuple[tuple[int, Condition], ...]:
        """The conditions asked about, each with its index in the author's order."""
        every = enumerate(self.answers.conditions)
        return tuple((i, c) for i, c in every if self.only_condition in (None, c.id))

    @cached_property
    def distinct_items(self) -> tuple[str, ...]:
        """The equipment whose name nothing else on the airframe has."""
        named = Counter(name.lower() for name in self.network.names.values())
        return tuple(i for i, e in self.network.equipment.items() if named[e.name.lower()] == 1)

    @cached_property
    def distinct_item_set(self) -> frozenset[str]:
        """The same as a set."""
        return frozenset(self.distinct_items)

    @cached_property
    def distinct_components(self) -> frozenset[str]:
        """The components whose name no other component has."""
        names = self.network.names
        named = Counter(names[c].lower() for c in self.network.components)
        return frozenset(c for c in self.network.components if named[names[c].lower()] == 1)

    @cached_property
    def features(self) -> dict[str, frozenset[tuple[str, str]]]:
        """By equipment, what it may share with others: buses, panels, chapter, name."""
        features = {}
        for item, equipment in self.network.equipment.items():
            connections = self.network.connections[item]
            breakers = [self.network.components[c.protector] for c in connections if c.protector]
            features[item] = frozenset(
                {
                    ("chapter", equipment.ata[:2]),
                    ("pair", name_without_side(equipment.name)),
                    *(("bus", c.bus) for c in connections),
                    *(("panel", b.panel) for b in breakers if b.panel),
                }
            )
        return features

    def similarity(self, one: str, other: str) -> int:
        """How many features two pieces of equipment share."""
        return len(self.features[one] & self.features[other])

    @cached_property
    def singles(self) -> tuple[FailureCase, ...]:
        """Every failure of one component that has a page, in every condition asked about."""
        network = self.network
        return tuple(
            case
            for fault, losses in self.answers.single.items()
            for case in self._cases(
                (fault,),
                None,
                False,
                failed_words(network, (fault,)),
                PageToRead(failure_page(fault[0]), f"{network.names[fault[0]]}: if it fails"),
                losses,
                self.answers.single_dip.get(fault, ()),
                int(network.components[fault[0]].modes[0] != fault[1]),
            )
        )

    @cached_property
    def named(self) -> tuple[FailureCase, ...]:
        """The named failures of several components, and those on which the crew has acted."""
        cases: list[FailureCase] = []
        for failure in self.network.catalogue.failures:
            faults = faults_of(self.network, failure)
            page = PageToRead(named_failure_page(failure.id), f"{failure.name}: named failure")
            stages = zip(
                self.answers.named[failure.id], self.answers.named_dip[failure.id], strict=False
            )
            for acted, (losses, dips) in enumerate(stages):
                if acted or len(faults) > 1:
                    cases += self._cases(
                        faults, failure, bool(acted), failure.name, page, losses, dips, 1
                    )
        return tuple(cases)

    @cached_property
    def at_once(self) -> tuple[FailureCase, ...]:
        """Every case in which nobody has acted yet; the same failures once only."""
        cases: dict[tuple[object, ...], FailureCase] = {}
        for case in (*self.singles, *self.named):
            if not case.acted:
                cases.setdefault((case.number, frozenset(case.faults)), case)
        return tuple(cases.values())

    @cached_property
    def effects(self) -> dict[int, dict[Fault, frozenset[str]]]:
        """By condition number and single failure: the equipment lost.

        Breakers of one item are included; failures that leave contactors chattering are not.
        """
        outcome, faults = self.answers.every_fault, self.network.faults
        lost = ids_by_scenario(outcome.lost, outcome.scenarios.count)
        return {
            number: {
                faults[k]: frozenset(lost[number * len(faults) + k])
                for k in bits(self._part(outcome.scenarios.all, number))
            }
            for number, _ in self.conditions
        }

    @cached_property
    def _function_lost(self) -> dict[str, int]:
        return {f: lost for f, (lost, _) in function_states(self.answers.every_fault).items()}

    @cached_property
    def _steady(self) -> int:
        """Mask of the single failures, in every condition, that have one certain answer."""
        outcome = self.answers.every_fault
        steady, faults = outcome.scenarios.all, self.network.faults
        for unsure in (outcome.after.steady.chatters, outcome.not_known):
            for mask in unsure.values():
                steady &= ~mask
        for fault, dips in self.answers.single_dip.items():
            for number, (loss, dip) in enumerate(
                zip(self.answers.single[fault], dips, strict=True)
            ):
                if differs(loss, dip):
                    steady &= ~(1 << number * len(faults) + faults.index(fault))
        return steady

    def _part(self, mask: int, number: int) -> int:
        """One condition's part of a mask over every single failure: bit k is fault k."""
        size = len(self.network.faults)
        return (mask & self._steady) >> (number * size) & ((1 << size) - 1)

    def single_failures_losing(self, number: int, function: str) -> list[Fault]:
        """The single failures that lose a function in a condition."""
        faults = self.network.faults
        return [faults[k] for k in bits(self._part(self._function_lost[function], number))]

    def some_single_takes(self, number: int, function: str) -> bool:
        """Whether a single failure loses a function in a condition, its answer certain or not."""
        size = len(self.network.faults)
        if self._function_lost[function] >> number * size & (1 << size) - 1:
            return True
        return any(
            d[number].functions[function] == "lost" for d in self.answers.single_dip.values()
        )

    @cached_property
    def _endurances(self) -> dict[tuple[str, str | None], list[Endurance]]:
        return {}

    def endurances(self, condition: str, failure: str | None) -> list[Endurance]:
        """How long the batteries last, in a condition by itself or with a named failure."""
        key = (condition, failure)
        if key not in self._endurances:
            network = self.network
            named = next((f for f in network.catalogue.failures if f.id == failure), None)
            faults = faults_of(network, named) if named else ()
            self._endurances[key] = battery_endurances(
                network, condition, faults, named, self.answers.before
            )
        return self._endurances[key]

    def _cases(
        self,
        faults: tuple[Fault, ...],
        failure: Failure | None,
        acted: bool,
        words: str,
        page: PageToRead,
        losses: tuple[Loss, ...],
        dips: tuple[Loss, ...],
        points: int,
    ) -> Iterator[FailureCase]:
        for number, condition in self.conditions:
            acts = ""
            if acted and failure:
                acts = crew_acts(self.network, failure.crew_does(condition.id))
                if not 0 < len(acts) <= LONGEST_ACTS:
                    continue
            loss, normal = losses[number], self.answers.normal[number]
            # Nothing is certain with chattering contactors or where AC sources conflict, and the
            # failure of what was not in use is only a puzzle.
            certain = not (loss.chatter or loss.not_known or normal.chatter or normal.not_known)
            # Contactors may drop out or ride through: where that matters there are two answers.
            certain = certain and not (dips and differs(loss, dips[number]))
            if certain and all(
                f[0] in self.distinct_components and in_use(normal, f) for f in faults
            ):
                yield FailureCase(
                    condition,
                    number,
                    faults,
                    failure,
                    acted,
                    f"{words}. {acts}" if acts else words,
                    page,
                    loss,
                    normal,
                    min(points + (number > 0), 2),
                )

    @property
    def airframes(self) -> tuple[str, ...]:
        """The ids of the whole fleet, in the author's order."""
        return tuple(network.airframe for network in self.fleet)


def in_use(normal: Loss, fault: Fault) -> bool:
    """Whether the failure can make a difference in the condition.

    A source produced, a bus was live, a device was closed (or open, if it sticks closed).
    """
    component, mode = fault
    state = normal.nodes.get(component)
    if state is None:
        return normal.conducts[component] != (mode == "stuck-closed")
    return component in state.sources if mode == "lost" else state.live
