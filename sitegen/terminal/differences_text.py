"""How two airframes differ, as plain text and JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from sitegen.answers.differences import Differences
from sitegen.answers.reading_changes import ReadingChange
from sitegen.answers.readings import reading_text
from sitegen.answers.record_changes import RecordChange
from sitegen.answers.three_answers import answer_json
from sitegen.catalogue.kinds import SECTION_NOUNS
from sitegen.solver.network import Network
from sitegen.terminal.shared_text import CAUTION, single_failure_text
from sitegen.words import counted

READ_WHERE = "Loadmeters and ammeters only where another indication differs too."


def differences_text(
    one: Network, other: Network, differences: Differences, read: Sequence[ReadingChange] = ()
) -> Iterator[str]:
    """How two airframes differ, line by line; `read` is what failures show otherwise."""
    names = {a.id: a.name for a in one.catalogue.airframes}
    here, there = names[differences.one], names[differences.other]
    aircraft = one.catalogue.aircraft
    yield f"{aircraft.name}, revision {aircraft.revision} | {here} and {there}"
    if not (differences.only_one or differences.only_other or differences.changed):
        yield "\nThe two are wired the same."
    for title, records in (
        (f"Only on {here}", differences.only_one),
        (f"Only on {there}", differences.only_other),
    ):
        if records:
            yield f"\n{title}"
            yield from by_section(records)
    if differences.changed:
        yield "\nNot the same"
        for change in differences.changed:
            yield f"  {change.name}"
            for field in change.fields:
                yield f"    {field.label}: {field.was} | {field.now}"
    conditions = one.condition_names
    if differences.conditions:
        yield "\nWith nothing failed"
        for condition in differences.conditions:
            yield f"  {conditions[condition.condition]}"
            for place, items in ((here, condition.only_one), (there, condition.only_other)):
                if items:
                    yield f"    works only on {place}: {', '.join(one.names[i] for i in items)}"
    if differences.consequences:
        yield "\nThe same failure takes something else"
        for consequence in differences.consequences:
            fault = single_failure_text(one, consequence.fault, consequence.answer)
            yield f"  {fault}, {conditions[consequence.condition]}"
            for place, words, items in (
                (here, "only on", consequence.only_one),
                (there, "only on", consequence.only_other),
                (here, "comes on only on", consequence.on_one),
                (there, "comes on only on", consequence.on_other),
                (here, "not known only on", consequence.unsure_one),
                (there, "not known only on", consequence.unsure_other),
            ):
                if items:
                    yield f"    {words} {place}: {', '.join(one.names[i] for i in items)}"
    elif differences.changed or differences.only_one or differences.only_other:
        yield "\nNo single failure that both can have takes other equipment that both have."
    if read:
        yield f"\nThe same failure reads differently: {here} | {there}"
        yield f"  {READ_WHERE}"
        kinds = {i.id: i.kind for i in one.catalogue.indications}
        for case in read:
            fault = single_failure_text(one, case.fault, case.answer)
            yield f"  {fault}, {conditions[case.condition]}"
            for i, was, now in case.shown:
                shown = (reading_text(was, kinds[i]), reading_text(now, kinds[i]))
                yield f"    {one.names[i]}: {' | '.join(shown)}"
    yield f"\n{CAUTION}"


def differences_json(
    differences: Differences, read: Sequence[ReadingChange] = ()
) -> dict[str, Any]:
    """The object that `differences --json` prints."""
    return {
        "airframes": [differences.one, differences.other],
        "only": {
            differences.one: [{"section": r.section, "id": r.id} for r in differences.only_one],
            differences.other: [{"section": r.section, "id": r.id} for r in differences.only_other],
        },
        "changed": [
            {
                "section": c.section,
                "id": c.id,
                "fields": {f.label: [f.was, f.now] for f in c.fields},
            }
            for c in differences.changed
        ],
        "conditions": [
            {
                "condition": c.condition,
                "works_only": {
                    differences.one: list(c.only_one),
                    differences.other: list(c.only_other),
                },
            }
            for c in differences.conditions
        ],
        "consequences": [
            {
                "condition": c.condition,
                "failed": {"id": c.fault[0], "mode": c.fault[1]},
                **answer_json(c.answer),
                "lost_only": {
                    differences.one: list(c.only_one),
                    differences.other: list(c.only_other),
                },
                "comes_on_only": {
                    differences.one: list(c.on_one),
                    differences.other: list(c.on_other),
                },
                "not_known_only": {
                    differences.one: list(c.unsure_one),
                    differences.other: list(c.unsure_other),
                },
            }
            for c in differences.consequences
        ],
        "readings": [
            {
                "condition": case.condition,
                "failed": {"id": case.fault[0], "mode": case.fault[1]},
                **answer_json(case.answer),
                "shown": {i: [str(was), str(now)] for i, was, now in case.shown},
            }
            for case in read
        ],
    }


def by_section(records: Sequence[RecordChange]) -> Iterator[str]:
    """Records by section, with their number: `  2 devices: Avionics relay, Standby diode`."""
    for section in dict.fromkeys(record.section for record in records):
        names = [record.name for record in records if record.section == section]
        piece, pieces = ("piece of ", "pieces of ") if section == "equipment" else ("", "")
        number = counted(len(names), piece + SECTION_NOUNS[section], pieces + section)
        yield f"  {number}: {'; '.join(names)}"
