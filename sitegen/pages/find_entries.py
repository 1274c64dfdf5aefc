"""Everything of an airframe that has a name or a place, for the finder and the list A to Z."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import zip_longest

from sitegen.answers.drop import Loss
from sitegen.catalogue.kinds import KINDS
from sitegen.catalogue.model import Device, Failure, Named
from sitegen.pages.fragments.component_facts import between_and_on
from sitegen.pages.front_page import other_pages, questions
from sitegen.pages.links import (
    A_TO_Z,
    DIAGNOSE,
    FAILURES,
    PANELS,
    PAPER,
    PRACTISE,
    bus_page,
    condition_place,
    equipment_page,
    failure_page,
    function_page,
    indication_page,
    named_failure_page,
    note_page,
    panel_page,
    place_on_panel,
)
from sitegen.pages.page_context import PageContext
from sitegen.quantities import LONGEST_MINUTES, NO_BREAK
from sitegen.solver.network import Connection
from sitegen.terminal.headline_text import at_a_glance, in_every_answer, turned_off
from sitegen.words import counted

STUCK = " stuck closed welded"
"""What a device that may stick closed is looked for by."""

DIGITS = 3
"""Least digits of a document's number in a reference; that of a revision has fewer."""


@dataclass(frozen=True)
class Entry:
    """One thing to find."""

    name: str
    kind: str
    detail: str
    """Where its breaker is and which bus it is on, or what it is for: read without a tap."""
    href: str
    words: str = ""
    """What else it may be looked for by."""
    anchor: str = ""
    """Its place in the list A to Z, where no other page is about it."""
    in_conditions: tuple[str, ...] = ()
    """The detail by condition, where it is another in each; `detail` is the first."""

    @property
    def linked(self) -> bool:
        """Whether it leads anywhere else."""
        return not self.anchor


def entries(context: PageContext) -> list[Entry]:
    """All entries, by name as a person sorts them."""
    return sorted(_entries(context), key=lambda e: (e.name.casefold(), e.kind, e.detail, e.href))


ALSO_CALLED = {
    DIAGNOSE: "which why cause fault diagnosis troubleshooting",
    FAILURES: "dead drops fails",
    PANELS: "breaker popped tripped reset",
    PAPER: "print handout study",
    PRACTISE: "quiz exam learn",
    A_TO_Z: "index",
}
"""What else a page may be looked for by, as nothing in the wiring is called."""


def page_entries(context: PageContext) -> Iterator[Entry]:
    """The pages that are not about one thing alone: for the finder, since they have no letter."""
    for page, title, about in (*questions(context), *other_pages(context)):
        yield Entry(title, "Page", about, page, ALSO_CALLED.get(page, ""))


def _entries(context: PageContext) -> Iterator[Entry]:
    network, answers = context.answers.network, context.answers
    catalogue, names, hazard = network.catalogue, network.names, context.fragments.hazard_note
    for item, equipment in network.equipment.items():
        supplies = "; ".join(dict.fromkeys(_supply(context, c) for c in network.connections[item]))
        words = f"{_words(equipment)} ATA {equipment.ata}"
        supplies = _joined(supplies, hazard(item))
        yield Entry(equipment.name, "Equipment", supplies, equipment_page(item), words)
    for bus in catalogue.buses:
        count = len({item for item, _ in network.on_bus[bus.id]})
        detail = f"{counted(count, 'item')} on it" if count else "no equipment on it"
        detail = _joined(detail, hazard(bus.id))
        yield Entry(bus.name, "Bus", detail, bus_page(bus.id), _words(bus))
        loses = _loses(context, bus.id)
        yield _failure(f"{bus.name} drops", "Failure", loses, failure_page(bus.id), bus.id)
    for source in catalogue.sources:
        loses = tuple(
            _joined(f"if it fails: {text}", hazard(source.id))
            for text in _loses(context, source.id)
        )
        noun = KINDS[source.kind].noun
        yield _failure(source.name, noun, loses, failure_page(source.id), _words(source))
    for device in catalogue.devices:
        detail = _joined(_place(context, device.id), _position(context, device))
        noun = KINDS[device.kind].noun
        stuck = "stuck-closed" in network.components[device.id].modes
        words = _words(device) + (STUCK if stuck else "")
        yield Entry(device.name, noun, detail, failure_page(device.id), words)
    for owner, page in _owners(context).items():
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
                _place(context, breaker), f"on {names[connection.bus]}", f"for {names[owner]}"
            )
            yield Entry(component.name, KINDS[component.kind].noun, detail, there, breaker)
    for panel in catalogue.panels:
        yield Entry(panel.name, "Panel", panel.where, panel_page(panel.id), _words(panel))
    for failure in catalogue.failures:
        dips = answers.named_dip[failure.id][0]
        at_once, *acted = answers.named[failure.id]
        loses = _lost(context, at_once, dips, *acted)
        page = named_failure_page(failure.id)
        words = f"{_words(failure)} {_battery_words(context, failure)}".strip()
        yield _failure(failure.name, "Named failure", loses, page, words)
    for switch in catalogue.switches:
        where = switch.where or ""
        positions = " / ".join(switch.positions)
        detail = f"{where}: {positions}" if where else positions
        href = f"{A_TO_Z}#at-{switch.id}"
        yield Entry(switch.name, "Switch", detail, href, _words(switch), switch.id)
    for indication in catalogue.indications:
        at = f"reads {names[indication.at]}" if indication.at else ""
        supplies = "; ".join(_supply(context, c) for c in network.connections[indication.id])
        kind, page = KINDS[indication.kind].noun, indication_page(indication.id)
        yield Entry(indication.name, kind, _joined(at, supplies), page, _words(indication))
    for condition in catalogue.conditions:
        # The sources on line in it would be found by their names: of those there are pages.
        there = condition_place(condition.id)
        yield Entry(condition.name, "Condition", "", there, _words(condition))
    for function in catalogue.functions:
        detail = ", ".join(names[p] for p in function.equipment)
        yield Entry(function.name, "Function", detail, function_page(function.id), _words(function))
    for note in answers.reading.notes:
        yield Entry(note.title, "Note", "", note_page(note.id), note.id)


def _words(record: Named) -> str:
    """Its id, its other names, and the numbers of the documents that its page refers to."""
    numbers = [
        word
        for word in re.findall(r"[\w-]+", record.reference or "")
        if sum(c.isdigit() for c in word) >= DIGITS
    ]
    return " ".join([record.id, *record.also_called, *numbers])


def _battery_words(context: PageContext, failure: Failure) -> str:
    """What is asked of a failure that leaves a battery with its load for some minutes."""
    lasting = context.endurances.of_named(failure, 0)
    short = any(e.total is not None and e.total <= LONGEST_MINUTES for e in lasting)
    return "battery time how long minutes endurance lasts" if short else ""


def _owners(context: PageContext) -> dict[str, str]:
    network = context.answers.network
    return {
        **{i: f"{equipment_page(i)}#supplies" for i in network.equipment},
        **{i.id: indication_page(i.id) for i in network.catalogue.indications},
    }


def _failure(name: str, kind: str, loses: tuple[str, ...], page: str, words: str) -> Entry:
    each = loses if len(loses) > 1 else ()
    return Entry(name, kind, loses[0], page, words, in_conditions=each)


def _loses(context: PageContext, component: str) -> tuple[str, ...]:
    """What goes with a component in its first mode, in each condition."""
    mode = context.answers.network.components[component].modes[0]
    return _lost(context, context.answers.single[component, mode])


def _lost(
    context: PageContext,
    losses: Sequence[Loss],
    dips: Sequence[Loss] = (),
    acted: Sequence[Loss] = (),
) -> tuple[str, ...]:
    answers = context.answers

    def text(where: str, normal: Loss, loss: Loss, dip: Loss | None, crew: Loss | None) -> str:
        words = at_a_glance(answers.network, loss, normal)
        said = in_every_answer(words, loss, dip, f" in {where}")
        return said + turned_off(crew)

    each = list(zip_longest(answers.normal, losses, dips, acted))
    everywhere = {text("every condition", *one) for one in each}
    if len(everywhere) == 1 < len(each):
        return (everywhere.pop(),)
    return tuple(text(c.name, *one) for c, one in zip(answers.conditions, each, strict=True))


def _joined(*parts: str) -> str:
    return ", ".join(part for part in parts if part)


def _supply(context: PageContext, connection: Connection) -> str:
    """A supply's breaker by placard and place, and its bus."""
    network = context.answers.network
    bus = f"on {network.names[connection.bus]}"
    if connection.protector is None:
        return bus
    name = network.components[connection.protector].name
    return _joined(f"{name} {_place(context, connection.protector)}".strip(), bus)


def _place(context: PageContext, component: str) -> str:
    known = context.answers.network.components[component]
    return _joined(NO_BREAK.rated(known.amps), context.answers.network.positions[component])


def _position(context: PageContext, device: Device) -> str:
    """Between which nodes a device is, or on which bus a shared breaker is."""
    between, on = between_and_on(context, device.id)
    return _few(between or on)


def _few(parts: Iterable[str]) -> str:
    return "; ".join(dict.fromkeys(parts))
