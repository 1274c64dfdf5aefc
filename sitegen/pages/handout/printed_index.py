"""The index: everything that has a name, and the number of the part or block about it."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import Any

from sitegen.catalogue.kinds import KINDS
from sitegen.pages.handout.handout_context import HandoutContext, anchor_of
from sitegen.pages.links import equipment_page

Entry = tuple[str, str, str, str]
"""Name, what it is or where, number of the part, anchor."""


def values(handout: HandoutContext) -> dict[str, Any]:
    """Values for the template."""
    entries = sorted(_entries(handout), key=lambda e: (e[0].casefold(), e[1], e[2]))
    return {
        "letters": [
            (letter, list(members))
            for letter, members in groupby(entries, key=lambda e: _letter(e[0]))
        ]
    }


def _letter(name: str) -> str:
    return name[:1].upper() if name[:1].isalpha() else "0-9"


def _entries(handout: HandoutContext) -> Iterator[Entry]:
    network, numbers = handout.context.answers.network, handout.numbers
    catalogue, hazard = network.catalogue, handout.context.fragments.hazard_note

    def part(section: str) -> str:
        return str(numbers.get(section, ""))

    for item, equipment in network.equipment.items():
        connections = network.connections[item]
        places = dict.fromkeys(network.positions[c.protector] for c in connections if c.protector)
        buses = dict.fromkeys(handout.bus_numbers[c.bus] for c in connections)
        detail = ", ".join(filter(None, (*places, hazard(item))))
        anchor = anchor_of(equipment_page(item))
        yield equipment.name, detail, ", ".join(b for b in buses if b), anchor
    for bus in catalogue.buses:
        detail = ", ".join(filter(None, ("bus", hazard(bus.id))))
        yield bus.name, detail, handout.bus_numbers[bus.id] or part("diagram"), ""
    numbers_of = {f.anchor: f.number for f in handout.failures}
    for source in catalogue.sources:
        number = numbers_of.get(f"failure-{source.id}", "") or part("diagram")
        kind = KINDS[source.kind].noun.lower()
        yield source.name, ", ".join(filter(None, (kind, hazard(source.id)))), number, ""
    for device in catalogue.devices:
        detail = ", ".join(
            t for t in (KINDS[device.kind].noun.lower(), network.positions[device.id]) if t
        )
        yield device.name, detail, part("failures") or part("diagram"), ""
    for f in handout.failures:
        if f.named:
            yield f.named.name, "failure", f.number, ""
    for function in catalogue.functions:
        number = part("functions") or part("function-losses")
        yield function.name, "function", number, ""
    for indication in catalogue.indications:
        yield indication.name, KINDS[indication.kind].noun.lower(), part("indications"), ""
    titles = {n.id: n.title for n in handout.context.answers.reading.notes}
    for k, note in enumerate(handout.notes, 1):
        yield titles[note], "note", handout.numbered("notes", k), ""
