"""Everything of an airframe that has a name or a place, for the finder and the list A to Z."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from sitegen.pages.links import (
    A_TO_Z,
    INDEX,
    bus_page,
    equipment_page,
    failure_page,
    named_failure_page,
    note_page,
    panel_page,
    place_on_panel,
)
from sitegen.pages.sheet import Sheet
from sitegen.pages.words import KINDS


@dataclass(frozen=True)
class Entry:
    """One thing to look for."""

    name: str
    kind: str
    detail: str
    """Where it is, or what it is for."""
    href: str
    words: str = ""
    """What else it may be looked for by."""
    anchor: str = ""
    """Its place in the list A to Z, where the list is the only page that tells of it."""

    @property
    def linked(self) -> bool:
        """Whether it leads anywhere else."""
        return not self.anchor


def entries(sheet: Sheet) -> list[Entry]:
    """All entries, by name as a person sorts them."""
    return sorted(_entries(sheet), key=lambda e: (e.name.casefold(), e.kind, e.detail, e.href))


def _entries(sheet: Sheet) -> Iterator[Entry]:
    network, answers = sheet.answers.network, sheet.answers
    catalogue, names = network.catalogue, network.names
    for item, equipment in network.equipment.items():
        buses = ", ".join(dict.fromkeys(names[c.bus] for c in network.connections[item]))
        yield Entry(
            equipment.name,
            "Equipment",
            f"ATA {equipment.ata}, on {buses}",
            equipment_page(item),
            item,
        )
    for bus in catalogue.buses:
        yield Entry(bus.name, "Bus", "", bus_page(bus.id), bus.id)
    for source in catalogue.sources:
        yield Entry(source.name, KINDS[source.kind], "", failure_page(source.id), source.id)
    for device in catalogue.devices:
        yield Entry(
            device.name,
            KINDS[device.kind],
            _place(sheet, device.id),
            failure_page(device.id),
            device.id,
        )
    for owner, page in _owners(sheet).items():
        for connection in network.connections[owner]:
            breaker = connection.protector
            # A breaker with a page of its own is listed among the devices.
            if breaker is None or breaker in answers.paged:
                continue
            component = network.components[breaker]
            where = _place(sheet, breaker)
            detail = f"{where}, for {names[owner]}" if where else f"for {names[owner]}"
            # What it serves is listed too, and leads to its page; the breaker leads to its place.
            on = component.panel if component.at else None
            there = place_on_panel(on, breaker) if on else page
            yield Entry(component.name, KINDS[component.kind], detail, there, breaker)
    for panel in catalogue.panels:
        yield Entry(panel.name, "Panel", panel.where, panel_page(panel.id), panel.id)
    for failure in catalogue.failures:
        yield Entry(failure.name, "Named failure", "", named_failure_page(failure.id), failure.id)
    for switch in catalogue.switches:
        where = switch.where or ""
        positions = " / ".join(switch.positions)
        detail = f"{where}: {positions}" if where else positions
        href = f"{A_TO_Z}#at-{switch.id}"
        yield Entry(switch.name, "Switch", detail, href, switch.id, switch.id)
    for indication in catalogue.indications:
        at = f"reads {names[indication.at]}" if indication.at else ""
        href = f"{A_TO_Z}#at-{indication.id}"
        kind = KINDS[indication.kind]
        yield Entry(indication.name, kind, at, href, indication.id, indication.id)
    for function in catalogue.functions:
        detail = ", ".join(names[p] for p in function.provided_by)
        yield Entry(function.name, "Function", detail, f"{INDEX}#functions", function.id)
    for note in answers.reading.notes:
        yield Entry(note.title, "Note", "", note_page(note.id), note.id)


def _owners(sheet: Sheet) -> dict[str, str]:
    network = sheet.answers.network
    return {
        **{i: f"{equipment_page(i)}#supplies" for i in network.equipment},
        **{i.id: f"{A_TO_Z}#at-{i.id}" for i in network.catalogue.indications},
    }


def _place(sheet: Sheet, component: str) -> str:
    known = sheet.answers.network.components[component]
    panel = sheet.pieces.network.panel_names.get(known.panel or "", "")
    words = [f"{known.amps:g}\u00a0A"] if known.amps else []
    if known.at:
        words.append(f"{panel} {known.at}".strip())
    return ", ".join(words)
