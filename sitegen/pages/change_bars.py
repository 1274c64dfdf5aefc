"""What has changed on one airframe's pages since an older revision, for the bars in the margin.

A line has a bar where what it says of its own record has changed, or where the answer that it is in
has it anew; a page has one where a line on it or the answer that it is about has changed. Where
only the name of another record is another, there is no bar.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.answers.changes import Changes
from sitegen.answers.drop import Loss, faults_of
from sitegen.answers.record_changes import RecordChange
from sitegen.catalogue.model import WHOLE_HANDOUT
from sitegen.catalogue.read import ReadResult
from sitegen.pages.links import (
    A_TO_Z,
    AUDIT,
    BUSES,
    CONDITIONS,
    FAILURES,
    FUNCTIONS,
    INDEX,
    LOADS,
    PANELS,
    PROTECTION,
    bus_page,
    equipment_page,
    failure_page,
    function_page,
    handout_page,
    indication_page,
    named_failure_page,
    note_page,
    panel_page,
)
from sitegen.solver.network import Branch
from sitegen.solver.scenarios import Fault
from sitegen.words import day

WORDS_ONLY = {"reworded", "checked"}
"""Kinds of change that only the record's own page shows."""
NOT_ON_A_LINE = {"note", "reference", "checked"}
"""Fields that only the record's own page shows."""
DISTRIBUTION = {"sources", "devices", "feeders", "equipment"}


@dataclass(frozen=True)
class Revision:
    """What has changed since an older revision, on one airframe."""

    changes: Changes
    """Of this airframe."""
    older: AirframeAnswers
    newer: AirframeAnswers

    @property
    def since(self) -> str:
        """`revision 7 of 20 Nov 2026`."""
        old = self.changes.old.aircraft
        return f"revision {old.revision} of {day(old.revised)}"

    @cached_property
    def fields(self) -> dict[str, frozenset[str]]:
        """By id of a record: the first parts of the names of its changed fields."""
        return {
            of.what.id: frozenset(f.field.partition(".")[0] for f in of.what.fields)
            for of in self.changes.records
        }

    def has(self, name: str, *fields: str) -> bool:
        """Whether a record is new, or one of these fields (else any) of it has changed."""
        changed = self.fields.get(name, frozenset())
        return bool(changed) if not fields else "" in changed or not changed.isdisjoint(fields)

    def has_branch(self, branch: Branch) -> bool:
        """Whether a feeder, or a device in it, is new or has changed."""
        wording = " > ".join((branch.origin, *branch.through, branch.target))
        return self.has(wording) or not self.lines.isdisjoint(branch.through)

    @cached_property
    def lines(self) -> frozenset[str]:
        """The records, breakers and fuses whose lines in lists have changed."""
        found = {i for i, fields in self.fields.items() if fields - NOT_ON_A_LINE}
        connections = self.newer.network.connections
        supplied = [i for i in found if i in connections and self.has(i, *OF_SUPPLIES)]
        return frozenset(found.union(c.protector or "" for i in supplied for c in connections[i]))

    @cached_property
    def taken(self) -> dict[tuple[tuple[Fault, ...], str, bool], frozenset[str]]:
        """By faults, condition and whether the crew has acted: what is lost or comes on anew."""
        failures = {f.id: f for f in self.newer.network.catalogue.failures}
        found: dict[tuple[tuple[Fault, ...], str, bool], frozenset[str]] = {}
        for of in self.changes.failures:
            change = of.what
            if change.answer != "expected":
                continue
            faults: tuple[Fault, ...] = (change.fault,)
            if not change.fault[1]:
                faults = faults_of(self.newer.network, failures[change.fault[0]])
            found[faults, change.condition, change.after_crew] = frozenset(
                (*change.only_other, *change.on_other, *change.unsure_other)
            )
        return found

    @cached_property
    def causes(self) -> frozenset[tuple[str, str]]:
        """(item, component or named failure): the one takes or spares the other anew."""
        return frozenset(
            (item, of.what.fault[0])
            for of in self.changes.failures
            for ids in of.what.effect
            for item in ids
        )

    @cached_property
    def points(self) -> frozenset[tuple[str, tuple[str, ...]]]:
        """(function, two items of it or none) that single failures take or spare anew."""
        return frozenset((of.what.function, of.what.items) for of in self.changes.single_points)

    @cached_property
    def entries(self) -> frozenset[str]:
        """The pages of records whose entry in the list A to Z has changed."""
        on_a_line = (of.what for of in self.changes.records if of.what.kinds - WORDS_ONLY)
        return frozenset(page for record in on_a_line for page in _own_pages(record))

    @cached_property
    def pages(self) -> frozenset[str]:
        """The pages on which something has changed, in the airframe's folder."""
        own = set(self._of_records()) | set(self._of_answers())
        kinds = {of.what.section for of in self.changes.records if of.what.kinds - {"checked"}}
        lists = {
            FAILURES: any(page.startswith(("failure-", "named-failure-")) for page in own),
            BUSES: any(page.startswith("bus-") for page in own),
            PANELS: "panels" in kinds,
            FUNCTIONS: "functions" in kinds,
            CONDITIONS: bool({"conditions", "switches"} & kinds) or bool(self.changes.conditions),
            AUDIT: bool(self.changes.single_points),
            INDEX: "airframes" in kinds,
            A_TO_Z: bool(self.entries),
        }
        if own:
            handouts = self.newer.network.catalogue.handout or [WHOLE_HANDOUT]
            own.update(handout_page(h.id, number) for number, h in enumerate(handouts))
        return frozenset(own | {page for page, changed in lists.items() if changed})

    def _of_records(self) -> Iterator[str]:
        """The pages about records that have changed, and those that list them."""
        for of in self.changes.records:
            record = of.what
            yield from _own_pages(record)
            if record.section == "feeders":
                for part in record.id.split(" > "):
                    yield failure_page(part)
                    yield bus_page(part)
            if record.section in DISTRIBUTION and record.kinds & {"re-rated", "rewired"}:
                yield from (LOADS, PROTECTION)
            if record.kinds - WORDS_ONLY:
                for network in (self.older.network, self.newer.network):
                    connections = network.connections.get(record.id, ())
                    yield from (bus_page(c.bus) for c in connections)
                    for name in (*(c.protector or "" for c in connections), record.id):
                        component = network.components.get(name)
                        if component and component.panel:
                            yield panel_page(component.panel)

    def _of_answers(self) -> Iterator[str]:
        """The pages of failures whose answer is another, and of what they take otherwise."""
        old, new = self.older, self.newer
        for fault, losses in new.single.items():
            if not _same(old.single.get(fault, ()), losses):
                yield failure_page(fault[0])
        for fault, losses in new.single_dip.items():
            if not _same(old.single_dip.get(fault, ()), losses):
                yield failure_page(fault[0])
        for failure, stages in new.named.items():
            before = old.named.get(failure, ())
            same = len(before) == len(stages) and all(map(_same, before, stages))
            if not same:
                yield named_failure_page(failure)
        for of in self.changes.failures:
            for item in {i for ids in of.what.effect for i in ids}:
                yield equipment_page(item)
        for of_condition in self.changes.conditions:
            for item in (*of_condition.what.only_one, *of_condition.what.only_other):
                yield equipment_page(item)
        for of_minutes in self.changes.endurances:
            failed, mode = of_minutes.what.fault
            yield failure_page(failed) if mode else named_failure_page(failed)
        for of_point in self.changes.single_points:
            yield function_page(of_point.what.function)


OF_SUPPLIES = ("supplies", "breaker", "fuse", "bus", "through", "wire", "length")
"""The fields from which the line of a breaker is written."""


def revision_since(changes: Changes, old: ReadResult, newer: AirframeAnswers) -> Revision | None:
    """What has changed on an airframe; None if the older catalogue does not have it."""
    airframe = newer.airframe.id
    if airframe not in changes.networks:
        return None
    network = changes.networks[airframe][0]
    return Revision(changes.of_airframe(airframe), AirframeAnswers(old, network), newer)


def _own_pages(record: RecordChange) -> Iterator[str]:
    """The pages that are about a record alone."""
    pages = {
        "sources": (failure_page,),
        "buses": (bus_page, failure_page),
        "devices": (failure_page,),
        "equipment": (equipment_page,),
        "indications": (indication_page,),
        "functions": (function_page,),
        "failures": (named_failure_page,),
        "panels": (panel_page,),
        "notes": (note_page,),
    }
    for page in pages.get(record.section, ()):
        yield page(record.id)


def _same(old: tuple[Loss, ...], new: tuple[Loss, ...]) -> bool:
    """Whether the answers in each condition are the same."""
    by_condition = {loss.condition: loss for loss in old}
    return len(old) == len(new) and all(by_condition.get(loss.condition) == loss for loss in new)
