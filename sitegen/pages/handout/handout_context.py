"""One handout in the making: what is asked of it, and the numbers by which its parts are found.

Page numbers are known to the printer only, so on paper things go by the number of their part:
`2.4` is the fourth bus of part 2.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from markupsafe import Markup, escape

from sitegen.answers.drop import Loss, faults_of
from sitegen.catalogue.kinds import MODE_NOUNS
from sitegen.catalogue.model import WHOLE_HANDOUT, Catalogue, Failure, Handout
from sitegen.pages.failure_page import views_of
from sitegen.pages.fragments.consequences import View
from sitegen.pages.links import failure_page, named_failure_page
from sitegen.pages.page_context import PageContext
from sitegen.solver.scenarios import Fault
from sitegen.words import join_words

GROUPS = ("Named failures", "A source is lost", "A bus drops")


@dataclass(frozen=True)
class Failing:
    """A failure with a number: a named one, a source, or a bus."""

    number: str
    anchor: str
    """The name of its page."""
    name: Markup
    group: int
    """Index into GROUPS."""
    stages: tuple[tuple[View, ...], ...]
    """At once and, if the crew can act, after it has; each in every condition."""
    named: Failure | None
    same_as: Failing | None = None
    """An earlier one that comes to the same in all that is told."""


def handouts(catalogue: Catalogue) -> list[Handout]:
    """The handouts of an airframe: its author's, or else the usual one."""
    return catalogue.handout or [WHOLE_HANDOUT]


@dataclass(frozen=True)
class Course:
    """One handout of one airframe."""

    context: PageContext
    handout: Handout

    @property
    def paper(self) -> str:
        """`a4` or `letter`."""
        return self.context.paper or self.handout.paper

    @cached_property
    def conditions(self) -> list[int]:
        """The conditions that are told of, by their number."""
        every = [c.id for c in self.context.answers.conditions]
        return [every.index(c) for c in self.handout.conditions] or [0]

    @cached_property
    def condition_names(self) -> list[str]:
        """By number."""
        return [c.name for c in self.context.answers.conditions]

    @cached_property
    def numbers(self) -> dict[str, int]:
        """By section its number; a cover has none."""
        counted = [s for s in self.handout.sections if s != "cover" and self._holds(s)]
        return {section: k for k, section in enumerate(counted, 1)}

    def _holds(self, section: str) -> bool:
        """Whether there is anything for it to say."""
        catalogue = self.context.answers.network.catalogue
        needed = {
            "function-losses": catalogue.functions,
            "functions": catalogue.functions,
            "indications": catalogue.indications,
            "equipment-losses": catalogue.equipment,
            "loads": any(e.amps is not None for e in catalogue.equipment),
            "battery": any(s.kind == "battery" for s in catalogue.sources),
            "notes": self.notes,
        }
        return bool(needed.get(section, True))

    @cached_property
    def notes(self) -> list[str]:
        """The longer texts to print, by id."""
        every = [n.id for n in self.context.answers.reading.notes]
        chosen = every if self.handout.notes is None else self.handout.notes
        return [n for n in chosen if n in every]

    def numbered(self, section: str, place: int) -> str:
        """The number of a block of a part: `2.4`; empty where the part is left out."""
        return f"{self.numbers[section]}.{place}" if section in self.numbers else ""

    @cached_property
    def bus_numbers(self) -> dict[str, str]:
        """By bus the number of its block."""
        buses = self.context.answers.network.catalogue.buses
        return {b.id: self.numbered("buses", k) for k, b in enumerate(buses, 1)}

    @cached_property
    def failing(self) -> list[Failing]:
        """Named failures, then sources, then buses. Modes that do the same are one failure."""
        found: list[Failing] = []
        firsts: dict[tuple[object, ...], Failing] = {}
        for k, (anchor, name, group, stages, named) in enumerate(self._failing(), 1):
            comes_to = tuple(consequences(stages[0][c].loss) for c in self.conditions)
            number = self.numbered("failures", k)
            # What the crew does about a named failure is its own.
            same = None if named else firsts.get(comes_to)
            found.append(Failing(number, anchor, name, group, stages, named, same))
            firsts.setdefault(comes_to, found[-1])
        return found

    def _failing(
        self,
    ) -> Iterator[tuple[str, Markup, int, tuple[tuple[View, ...], ...], Failure | None]]:
        context, answers = self.context, self.context.answers
        network = answers.network
        for failure in network.catalogue.failures:
            faults = faults_of(network, failure)
            stages = tuple(
                tuple(views_of(context, "", faults, losses)) for losses in answers.named[failure.id]
            )
            page = named_failure_page(failure.id).removesuffix(".html")
            yield page, escape(failure.name), 0, stages, failure
        for node in network.nodes:
            group = 1 if node in network.sources else 2
            for modes in self._alike(node):
                first = (node, modes[0])
                views = tuple(views_of(context, "", (first,), answers.single[first]))
                if all(views[k].idle for k in self.conditions):
                    continue  # it is not in use
                words = join_words([MODE_NOUNS[m].lower() for m in modes], "or")
                page = failure_page(node).removesuffix(".html")
                # No id has two hyphens together, so the other modes meet no other page's name.
                first_of_all = modes[0] == network.components[node].modes[0]
                anchor = page if first_of_all else f"{page}--{modes[0]}"
                name = escape(f"{network.names[node]} {words}")
                yield anchor, name, group, (views,), None

    def _alike(self, node: str) -> list[list[str]]:
        """The modes of a node, those together that come to the same in what is told."""
        groups: dict[tuple[object, ...], list[str]] = {}
        for mode in self.context.answers.network.components[node].modes:
            losses = self.context.answers.single[node, mode]
            same = tuple(consequences(losses[k]) for k in self.conditions)
            groups.setdefault(same, []).append(mode)
        return list(groups.values())


def consequences(loss: Loss) -> tuple[object, ...]:
    """What a failure comes to, whatever has failed: equal for failures that do the same."""
    nodes = tuple((s.live, s.volts, s.sources) for s in loss.nodes.values())
    shown = tuple(loss.readings.values())
    return loss.lost, loss.reduced, loss.on_battery, nodes, shown, tuple(loss.functions.values())


def by_conditions(course: Course) -> list[tuple[int, str]]:
    """The conditions told of, with the name of each; empty where there is one only."""
    return [
        (k, course.condition_names[k] if len(course.conditions) > 1 else "")
        for k in course.conditions
    ]


def device_faults(course: Course) -> Sequence[Fault]:
    """The failures of devices with a page of their own."""
    nodes = set(course.context.answers.network.nodes)
    return [fault for fault in course.context.answers.single if fault[0] not in nodes]
