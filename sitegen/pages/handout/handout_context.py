"""One handout: its conditions, the numbers of its parts and blocks, and the places to link to.

Only the printer knows page numbers, so references are to parts and blocks: `2.4` is the fourth
block of part 2. A link leads to another place of the same handout, or is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from sitegen.answers.besides import COMPARED, besides
from sitegen.catalogue.kinds import MODE_NOUNS
from sitegen.catalogue.model import WHOLE_HANDOUT, Catalogue, Condition, Failure, Handout
from sitegen.pages.fragments.failure_view import View, stages_of, views_of_fault
from sitegen.pages.links import (
    bus_page,
    equipment_page,
    failure_page,
    function_page,
    named_failure_page,
    note_page,
)
from sitegen.pages.page_context import PageContext
from sitegen.solver.network import Network
from sitegen.solver.scenarios import Fault
from sitegen.terminal.shared_text import condition_text
from sitegen.words import join_words

GROUPS = ("Named failures", "A source is lost", "A bus drops")


@dataclass(frozen=True)
class NumberedFailure:
    """A failure with a number: a named one, a source, or a bus."""

    number: str
    anchor: str
    """The name of its page."""
    name: str
    group: int
    """Index into GROUPS."""
    stages: tuple[tuple[View, ...], ...]
    """At once and, if the crew can act, after it has; each in every condition."""
    named: Failure | None
    same_as: NumberedFailure | None = None
    """An earlier one with the same consequences."""


def anchor_of(page: str) -> str:
    """The anchor of the block that replaces a page of the site."""
    return page.partition("#")[0].removesuffix(".html")


def handouts(catalogue: Catalogue) -> list[Handout]:
    """The handouts of an airframe: those in the catalogue, or else the default one."""
    return catalogue.handout or [WHOLE_HANDOUT]


@dataclass(frozen=True)
class HandoutContext:
    """One handout of one airframe."""

    site: PageContext
    """The airframe's pages, with the site's links."""
    record: Handout

    @cached_property
    def context(self) -> PageContext:
        """The airframe's pages, with links to places of this handout."""
        return self.site.with_links(self.place)

    def place(self, page: str) -> str | None:
        """The link to the place in this handout that replaces a page of the site, or None."""
        anchor = anchor_of(page)
        return f"#{anchor}" if anchor in self.places else None

    @cached_property
    def places(self) -> frozenset[str]:
        """The anchors of this handout: its sections, and its blocks by the names of their pages."""
        network = self.site.answers.network
        first = self.conditions[0]
        by_section: dict[str, list[str]] = {
            "buses": [bus_page(b.id) for b in network.catalogue.buses],
            "failures": [
                *(f"{f.anchor}.html" for f in self.failures),
                *(
                    failure_page(fault[0])
                    for fault in device_faults(self)
                    if is_listed(self, fault, first)
                ),
            ],
            "functions": [function_page(f.id) for f in network.catalogue.functions],
            "notes": [note_page(n) for n in self.notes],
            "index": [equipment_page(i) for i in network.equipment],
        }
        blocks = [page for section in self.numbers for page in by_section.get(section, ())]
        return frozenset((*self.record.sections, *map(anchor_of, blocks)))

    @property
    def paper(self) -> str:
        """`a4` or `letter`."""
        return self.site.paper or self.record.paper

    @cached_property
    def conditions(self) -> list[int]:
        """The indexes of the conditions that it covers."""
        every = [c.id for c in self.site.answers.conditions]
        return [every.index(c) for c in self.record.conditions] or [0]

    @cached_property
    def condition_names(self) -> list[str]:
        """By index."""
        return [c.name for c in self.site.answers.conditions]

    @property
    def explained_conditions(self) -> list[tuple[Condition, str]]:
        """The conditions covered, each with what is on line and how the switches are set."""
        answers = self.site.answers
        covered = [answers.conditions[k] for k in self.conditions]
        return [(c, condition_text(answers.network, c)) for c in covered]

    @cached_property
    def explains(self) -> str:
        """The section that explains the conditions; without one they follow all sections."""
        those = ("cover", "diagram", "blank-diagram")
        return next((s for s in those if s in self.record.sections), "")

    @cached_property
    def numbers(self) -> dict[str, int]:
        """By section, its number; a cover has none."""
        counted = [s for s in self.record.sections if s != "cover" and self._has_content(s)]
        return {section: k for k, section in enumerate(counted, 1)}

    def _has_content(self, section: str) -> bool:
        """Whether the catalogue has anything for a section."""
        catalogue = self.site.answers.network.catalogue
        needed = {
            "function-losses": catalogue.functions,
            "functions": catalogue.functions,
            "indications": catalogue.indications,
            "equipment-losses": catalogue.equipment,
            "loads": any(e.has_amps for e in catalogue.equipment),
            "battery": any(s.kind == "battery" for s in catalogue.sources),
            "notes": self.notes,
        }
        return bool(needed.get(section, True))

    @cached_property
    def notes(self) -> list[str]:
        """The ids of the notes to print."""
        every = [n.id for n in self.site.answers.reading.notes]
        chosen = every if self.record.notes is None else self.record.notes
        return [n for n in chosen if n in every]

    def numbered(self, section: str, block: int) -> str:
        """The number of a block of a part: `2.4`; empty if the part is left out."""
        return f"{self.numbers[section]}.{block}" if section in self.numbers else ""

    @cached_property
    def bus_numbers(self) -> dict[str, str]:
        """By bus, the number of its block."""
        buses = self.site.answers.network.catalogue.buses
        return {b.id: self.numbered("buses", k) for k, b in enumerate(buses, 1)}

    @cached_property
    def failures(self) -> list[NumberedFailure]:
        """Named failures, then sources, then buses. Modes with the same consequences are one."""
        numbered: list[NumberedFailure] = []
        firsts: dict[tuple[object, ...], NumberedFailure] = {}
        network = self.site.answers.network
        for k, (anchor, name, group, stages, named) in enumerate(self._every_failure(), 1):
            effects = tuple(same_effects(network, stages[0][c]) for c in self.conditions)
            number = self.numbered("failures", k)
            # A named failure has crew actions of its own.
            same = None if named else firsts.get(effects)
            numbered.append(NumberedFailure(number, anchor, name, group, stages, named, same))
            firsts.setdefault(effects, numbered[-1])
        return numbered

    def _every_failure(
        self,
    ) -> Iterator[tuple[str, str, int, tuple[tuple[View, ...], ...], Failure | None]]:
        network = self.site.answers.network
        for failure in network.catalogue.failures:
            stages = tuple(map(tuple, stages_of(self.site, failure)))
            page = anchor_of(named_failure_page(failure.id))
            yield page, failure.name, 0, stages, failure
        for node in network.nodes:
            group = 1 if node in network.sources else 2
            for modes in self._modes_together(node):
                views = self.views((node, modes[0]))
                if all(views[k].idle for k in self.conditions):
                    continue  # it is not in use
                words = join_words([MODE_NOUNS[m].lower() for m in modes], "or")
                page = anchor_of(failure_page(node))
                # Ids have no two hyphens in a row, so this is no other page's name.
                first_of_all = modes[0] == network.components[node].modes[0]
                anchor = page if first_of_all else f"{page}--{modes[0]}"
                yield anchor, f"{network.names[node]} {words}", group, (views,), None

    def views(self, fault: Fault) -> tuple[View, ...]:
        """The answers to one fault, in every condition."""
        return tuple(views_of_fault(self.site, fault))

    def _modes_together(self, node: str) -> list[list[str]]:
        """The modes of a node, those with the same consequences together.

        A source whose terminals are shorted takes what its bus takes: it is left to the site.
        """
        groups: dict[tuple[object, ...], list[str]] = {}
        network = self.site.answers.network
        modes = network.components[node].modes
        for mode in modes[:1] if node in network.sources else modes:
            views = self.views((node, mode))
            same = tuple(same_effects(network, views[k]) for k in self.conditions)
            groups.setdefault(same, []).append(mode)
        return list(groups.values())


def same_effects(network: Network, view: View) -> tuple[object, ...]:
    """The consequences of a failure as a key, equal for failures that do the same.

    What differs only at the terminals of a source, such as one that a short stalls, is left to the
    site.
    """
    loss, more = view.loss, view.besides
    nodes = tuple(
        (s.live, s.volts, s.battery) for n, s in loss.nodes.items() if n not in network.sources
    )
    shown = tuple(loss.readings.values())
    other_answers = [
        other and [getattr(other, field) for field in COMPARED]
        for other in (more.dip, more.overload, more.dip_overload)
    ]
    states = (nodes, shown, *loss.functions.values(), str(other_answers))
    more = replace(more, dip=None, overload=None, dip_overload=None)
    return loss.lost, loss.on_battery, *vars(more).values(), states


def is_listed(handout: HandoutContext, fault: Fault, condition: int) -> bool:
    """Whether the failure of a device has a line of its own."""
    answers = handout.site.answers
    loss = answers.single[fault][condition]
    return bool(loss.lost) or not besides(answers.network, loss, answers.normal[condition]).nothing


def by_conditions(handout: HandoutContext) -> list[tuple[int, str]]:
    """The conditions covered, each with its name; the name is empty if there is only one."""
    return [
        (k, handout.condition_names[k] if len(handout.conditions) > 1 else "")
        for k in handout.conditions
    ]


def device_faults(handout: HandoutContext) -> Sequence[Fault]:
    """The failures of devices with a page of their own; rare modes are left to the site."""
    network = handout.site.answers.network
    common = {fault for fault in network.combined_faults if fault[0] not in network.nodes}
    return [fault for fault in handout.site.answers.single if fault in common]
