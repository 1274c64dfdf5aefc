"""Everything of an airframe that has a name or a place, for the finder and the list A to Z."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from sitegen.catalogue.model import Device
from sitegen.network.drop import Loss
from sitegen.network.network import Connection
from sitegen.pages.links import (
    A_TO_Z,
    bus_page,
    equipment_page,
    failure_page,
    function_page,
    named_failure_page,
    note_page,
    panel_page,
    place_on_panel,
)
from sitegen.pages.sheet import Sheet
from sitegen.pages.words import KINDS, counted


@dataclass(frozen=True)
class Entry:
    """One thing to look for."""

    name: str
    kind: str
    detail: str
    """Where its breaker is and which bus it is on, or what it is for: read without a tap."""
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
        supplies = "; ".join(dict.fromkeys(_supply(sheet, c) for c in network.connections[item]))
        words = f"{item} ATA {equipment.ata}"
        yield Entry(equipment.name, "Equipment", supplies, equipment_page(item), words)
    for bus in catalogue.buses:
        count = len({item for item, _ in network.on_bus[bus.id]})
        detail = f"{counted(count, 'item')} on it" if count else "no equipment on it"
        yield Entry(bus.name, "Bus", detail, bus_page(bus.id), bus.id)
        loses = _loses(sheet, bus.id)
        yield Entry(f"{bus.name} drops", "Failure", loses, failure_page(bus.id), bus.id)
    for source in catalogue.sources:
        loses = f"if it fails: {_loses(sheet, source.id)}"
        yield Entry(source.name, KINDS[source.kind], loses, failure_page(source.id), source.id)
    for device in catalogue.devices:
        detail = _joined(_place(sheet, device.id), _stands(sheet, device))
        yield Entry(device.name, KINDS[device.kind], detail, failure_page(device.id), device.id)
    for owner, page in _owners(sheet).items():
        for connection in network.connections[owner]:
            breaker = connection.protector
            # A breaker with a page of its own is listed among the devices.
            if breaker is None or breaker in answers.paged:
                continue
            component = network.components[breaker]
            # What it serves is listed too, and leads to its page; the breaker leads to its place.
            on = component.panel if component.at else None
            there = place_on_panel(on, breaker) if on else page
            detail = _joined(
                _place(sheet, breaker), f"on {names[connection.bus]}", f"for {names[owner]}"
            )
            yield Entry(component.name, KINDS[component.kind], detail, there, breaker)
    for panel in catalogue.panels:
        yield Entry(panel.name, "Panel", panel.where, panel_page(panel.id), panel.id)
    for failure in catalogue.failures:
        loses = _lost(sheet, answers.named[failure.id][0][0])
        page = named_failure_page(failure.id)
        yield Entry(failure.name, "Named failure", loses, page, failure.id)
    for switch in catalogue.switches:
        where = switch.where or ""
        positions = " / ".join(switch.positions)
        detail = f"{where}: {positions}" if where else positions
        href = f"{A_TO_Z}#at-{switch.id}"
        yield Entry(switch.name, "Switch", detail, href, switch.id, switch.id)
    for indication in catalogue.indications:
        at = f"reads {names[indication.at]}" if indication.at else ""
        supplies = "; ".join(_supply(sheet, c) for c in network.connections[indication.id])
        href = f"{A_TO_Z}#at-{indication.id}"
        kind = KINDS[indication.kind]
        yield Entry(
            indication.name, kind, _joined(at, supplies), href, indication.id, indication.id
        )
    for function in catalogue.functions:
        detail = ", ".join(names[p] for p in function.provided_by)
        yield Entry(function.name, "Function", detail, function_page(function.id), function.id)
    for note in answers.reading.notes:
        yield Entry(note.title, "Note", "", note_page(note.id), note.id)


def _owners(sheet: Sheet) -> dict[str, str]:
    network = sheet.answers.network
    return {
        **{i: f"{equipment_page(i)}#supplies" for i in network.equipment},
        **{i.id: f"{A_TO_Z}#at-{i.id}" for i in network.catalogue.indications},
    }


def _loses(sheet: Sheet, component: str) -> str:
    """What goes with a component in its first mode, in the first condition."""
    mode = sheet.answers.network.components[component].modes[0]
    return _lost(sheet, sheet.answers.single[component, mode][0])


def _lost(sheet: Sheet, loss: Loss) -> str:
    count = f"{counted(len(loss.lost), 'item')} lost" if loss.lost else "nothing lost"
    return f"{count} in {sheet.answers.conditions[0].name}"


def _joined(*parts: str) -> str:
    return ", ".join(part for part in parts if part)


def _supply(sheet: Sheet, connection: Connection) -> str:
    """A supply's breaker by placard and place, and its bus."""
    network = sheet.answers.network
    bus = f"on {network.names[connection.bus]}"
    if connection.protector is None:
        return bus
    name = network.components[connection.protector].name
    return _joined(f"{name} {_place(sheet, connection.protector)}".strip(), bus)


def _place(sheet: Sheet, component: str) -> str:
    known = sheet.answers.network.components[component]
    panel = sheet.pieces.network.panel_names.get(known.panel or "", "")
    words = [f"{known.amps:g}\u00a0A"] if known.amps else []
    if known.at:
        words.append(f"{panel} {known.at}".strip())
    return ", ".join(words)


def _stands(sheet: Sheet, device: Device) -> str:
    """Between which nodes a device stands, or on which bus a shared breaker is."""
    network = sheet.answers.network
    between = [
        f"{network.names[run.origin]} to {network.names[run.target]}"
        for run in network.runs
        if device.id in run.through
    ]
    if between:
        return _few(between)
    buses = [
        f"on {network.names[connection.bus]}"
        for connections in network.connections.values()
        for connection in connections
        if device.id in connection.through
    ]
    return _few(buses)


def _few(parts: Iterable[str]) -> str:
    return "; ".join(dict.fromkeys(parts))
