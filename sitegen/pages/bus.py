"""The page of a bus: what feeds it, what hangs on it, and what drops with it."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from markupsafe import Markup

from sitegen.catalogue.model import Bus
from sitegen.network.drop import Loss
from sitegen.network.network import Network, Run
from sitegen.pages.links import blank_page, bus_page, equipment_page, failure_page
from sitegen.pages.panel_map import of_bus
from sitegen.pages.sheet import Page, Sheet
from sitegen.pages.views import classes, said
from sitegen.pages.words import KINDS, counted

NAMED_HERE = 8
"""How many lost items the bus page names before it sends on to the failure's page."""


def pages(sheet: Sheet) -> list[Page]:
    """A page for every bus."""
    buses = sheet.answers.network.catalogue.buses
    return [sheet.page(bus_page(b.id), partial(_page, sheet, b)) for b in buses]


def _page(sheet: Sheet, bus: Bus) -> str:
    answers = sheet.answers
    rows = sheet.node_states[bus.id]
    network = answers.network
    return sheet.fill(
        "bus",
        bus_page(bus.id),
        bus.name,
        f"{bus.current.upper()} bus",
        rows=sheet.by_condition([row.word for row in rows]),
        states=rows,
        drop_page=failure_page(bus.id),
        drop_says=said("p", [_drops(sheet, bus.id, i) for i in range(len(rows))]),
        chapters=list(_equipment(sheet, bus.id)),
        total=counted(len({e for e, _ in network.on_bus[bus.id]}), "item"),
        fed_by=Markup("").join(_run(sheet, *way) for way in network.into(bus.id)),
        feeds=Markup("").join(_run(sheet, *way) for way in network.out_of(bus.id)),
        meters=Markup("").join(_meters(sheet, bus.id)),
        maps=of_bus(sheet, bus.id),
        note=sheet.pieces.prose(bus.note),
        reference=bus.reference or "",
        blank=blank_page(bus.id),
        picture=sheet.pictures.feed((bus.id,), answers.normal),
    )


def _drops(sheet: Sheet, bus: str, condition: int) -> Markup:
    loss = sheet.answers.single[bus, "dead"][condition]
    if not sheet.answers.normal[condition].nodes[bus].live:
        return Markup("It is dead in this condition; nothing changes.")
    if not loss.lost:
        return Markup("<b class=count>Nothing is lost.</b>")
    return Markup("<b class=count>You lose {}:</b> {}.{}").format(
        counted(len(loss.lost), "item"),
        sheet.pieces.list(loss.lost, NAMED_HERE),
        _functions_lost(sheet, loss, sheet.answers.normal[condition]),
    )


def _functions_lost(sheet: Sheet, loss: Loss, normal: Loss) -> Markup:
    functions = sheet.answers.network.catalogue.functions
    gone = [
        f.name
        for f in functions
        if loss.functions[f.id] == "lost" and normal.functions[f.id] != "lost"
    ]
    return Markup("<br>Functions lost: <b>{}</b>.").format(", ".join(gone)) if gone else Markup("")


def _equipment(sheet: Sheet, bus: str) -> Iterator[tuple[str, Markup]]:
    """What hangs on the bus, by chapter: breaker, amps, place, and other supplies."""
    network, pieces = sheet.answers.network, sheet.pieces
    here: dict[str, list[Markup]] = {}
    for item, connection in network.on_bus[bus]:
        here.setdefault(item, []).append(pieces.supply(connection))
    for title, items in pieces.chapters.items():
        rows = []
        for item in items:
            if item in here:
                others = dict.fromkeys(c.bus for c in network.connections[item] if c.bus != bus)
                needs = network.equipment[item].needs
                also = "also needs" if needs == "all" else "also fed from"
                more = (
                    Markup("<span class=also>{} {}</span>").format(also, pieces.list(others))
                    if others
                    else ""
                )
                rows.append(
                    Markup('<li class=row><a class=item href="{}">{}</a>{}{}</li>').format(
                        equipment_page(item),
                        network.names[item],
                        Markup("").join(here[item]),
                        more,
                    )
                )
        if rows:
            yield title, Markup("").join(rows)


def _run(sheet: Sheet, run: Run, other: str) -> Markup:
    links = sheet.pieces.links
    through = Markup(", ").join(links[d] for d in run.through)
    return Markup("<li class=row>{}{}</li>").format(
        links[other],
        Markup("<span class=also>through {}</span>").format(through) if through else "",
    )


def _meters(sheet: Sheet, bus: str) -> Iterator[Markup]:
    network: Network = sheet.answers.network
    for indication in network.catalogue.indications:
        if indication.at != bus:
            continue
        texts = [loss.readings[indication.id] for loss in sheet.answers.normal]
        shown: dict[str, int] = {}
        for i, text in enumerate(texts):
            shown[text] = shown.get(text, 0) | 1 << i
        for text, mask in shown.items():
            yield Markup('<li class="reading{}"><span>{} ({})</span> <b>{}</b></li>').format(
                classes(mask, len(texts)), indication.name, KINDS[indication.kind].lower(), text
            )
