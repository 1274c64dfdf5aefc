"""How two airframes differ, as plain text and JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from sitegen.answers.differences import Differences
from sitegen.catalogue.kinds import SECTION_NOUNS
from sitegen.solver.network import Network
from sitegen.terminal.shared_text import CAUTION, single_failure_text
from sitegen.words import counted


def differences_text(one: Network, other: Network, differences: Differences) -> Iterator[str]:
    """How two airframes differ, line by line."""
    names = {a.id: a.name for a in one.catalogue.airframes}
    here, there = names[differences.one], names[differences.other]
    aircraft = one.catalogue.aircraft
    yield f"{aircraft.name}, revision {aircraft.revision} | {here} and {there}"
    if not (differences.only_one or differences.only_other or differences.changed):
        yield "\nThe two are wired the same."
    for title, network, entries in (
        (f"Only on {here}", one, differences.only_one),
        (f"Only on {there}", other, differences.only_other),
    ):
        if entries:
            yield f"\n{title}"
            yield from _by_section(network, entries)
    if differences.changed:
        yield "\nNot the same"
        for change in differences.changed:
            yield f"  {_name(one, change.section, change.id)}"
            for field, was, now in change.fields:
                yield f"    {field}: {was} | {now}"
    if differences.consequences:
        yield "\nThe same failure takes something else"
        conditions = one.condition_names
        for consequence in differences.consequences:
            fault = single_failure_text(one, consequence.fault, consequence.drop_out)
            yield f"  {fault}, {conditions[consequence.condition]}"
            for place, items in (
                (here, consequence.only_one),
                (there, consequence.only_other),
            ):
                if items:
                    lost = ", ".join(one.names[item] for item in items)
                    yield f"    only on {place}: {lost}"
    elif differences.changed or differences.only_one or differences.only_other:
        yield "\nNo single failure that both can have takes other equipment that both have."
    yield f"\n{CAUTION}"


def differences_json(differences: Differences) -> dict[str, Any]:
    """The object that `differences --json` prints."""
    return {
        "airframes": [differences.one, differences.other],
        "only": {
            differences.one: [{"section": s, "id": i} for s, i in differences.only_one],
            differences.other: [{"section": s, "id": i} for s, i in differences.only_other],
        },
        "changed": [
            {
                "section": c.section,
                "id": c.id,
                "fields": {field: [was, now] for field, was, now in c.fields},
            }
            for c in differences.changed
        ],
        "consequences": [
            {
                "condition": c.condition,
                "failed": {"id": c.fault[0], "mode": c.fault[1]},
                "if_contactors_drop_out": c.drop_out,
                "lost_only": {
                    differences.one: list(c.only_one),
                    differences.other: list(c.only_other),
                },
            }
            for c in differences.consequences
        ],
    }


def _by_section(network: Network, entries: Sequence[tuple[str, str]]) -> Iterator[str]:
    for section in dict.fromkeys(section for section, _ in entries):
        names = [_name(network, s, name) for s, name in entries if s == section]
        piece, pieces = ("piece of ", "pieces of ") if section == "equipment" else ("", "")
        number = counted(len(names), piece + SECTION_NOUNS[section], pieces + section)
        yield f"  {number}: {', '.join(names)}"


def _name(network: Network, section: str, name: str) -> str:
    records = {} if section == "feeders" else {r.id: r for r in getattr(network.catalogue, section)}
    return records[name].name if name in records else name
