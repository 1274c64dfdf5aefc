"""The page of a failure: this drops; what do I lose, and what is left?"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Any

from markupsafe import Markup

from sitegen.catalogue.model import Failure
from sitegen.network.drop import Loss, faults_of
from sitegen.network.scenarios import Fault
from sitegen.pages import consequences as follows
from sitegen.pages.about import Fact, component_facts, component_kind, crew_acts
from sitegen.pages.battery import clocks
from sitegen.pages.consequences import View
from sitegen.pages.failure_loads import failure_loads
from sitegen.pages.links import LOADS, failure_page, named_failure_page
from sitegen.pages.load_text import FIGURES
from sitegen.pages.panel_map import of_failure
from sitegen.pages.sheet import Page, Sheet
from sitegen.pages.steps import befores, steps
from sitegen.pages.views import Choice, ChoiceRow, block, said
from sitegen.pages.words import MODES


def pages(sheet: Sheet) -> list[Page]:
    """A page for every named failure, and for every source, bus and device."""
    named = sheet.answers.network.catalogue.failures
    return [
        *(sheet.page(named_failure_page(f.id), partial(_named_page, sheet, f)) for f in named),
        *(
            sheet.page(failure_page(c), partial(_single_page, sheet, c))
            for c in sheet.answers.paged
        ),
    ]


def _single_page(sheet: Sheet, component: str) -> str:
    answers = sheet.answers
    known = answers.network.components[component]
    views = [
        view
        for mode in known.modes
        for view in views_of(
            sheet, MODES[mode], ((component, mode),), answers.single[component, mode]
        )
    ]
    found = [here for mode in known.modes for here in sheet.clocks.of_single((component, mode))]
    return sheet.fill(
        "failure",
        failure_page(component),
        known.name,
        f"{component_kind(sheet, component)}: if it fails",
        facts=[*component_facts(sheet, component), *_named_with(sheet, component)],
        crew=None,
        clocks=clocks(sheet, [v.loss for v in views], found),
        loads=failure_loads(
            sheet, [amps for mode in known.modes for amps in answers.single_loads[component, mode]]
        ),
        **_answer(sheet, views),
    )


def _named_with(sheet: Sheet, component: str) -> Iterator[Fact]:
    """The named failures that this is a part of: there the crew's actions stand."""
    network = sheet.answers.network
    named = [
        Markup('<a href="{}">{}</a>').format(named_failure_page(f.id), f.name)
        for f in network.catalogue.failures
        if component in {c for c, _ in faults_of(network, f)}
    ]
    if named:
        yield "Crew actions", Markup("; ").join(named)


def _named_page(sheet: Sheet, failure: Failure) -> str:
    network, links = sheet.answers.network, sheet.pieces.links
    faults = faults_of(network, failure)
    # Without crew actions in the catalogue there is one stage, and no need to name it.
    views = [
        view
        for stage, losses in zip(
            ("At once", "Crew has acted"), sheet.answers.named[failure.id], strict=False
        )
        for view in views_of(sheet, stage, faults, losses)
    ]
    fails = [
        Markup("{} ({})").format(links[c], MODES[mode].lower())
        if len(network.components[c].modes) > 1
        else links[c]
        for c, mode in faults
    ]
    facts: list[Fact] = [("Fails", Markup(", ").join(fails))]
    if failure.note:
        facts.append(("Note", sheet.pieces.prose(failure.note)))
    # The clocks of a condition span both stages of what the crew does.
    found = sheet.clocks.of_named(failure) * len(sheet.answers.named[failure.id])
    return sheet.fill(
        "failure",
        named_failure_page(failure.id),
        failure.name,
        "Named failure",
        facts=facts,
        crew=crew_acts(sheet, failure.then) if failure.then else None,
        clocks=clocks(sheet, [v.loss for v in views], found, failure.then),
        loads=failure_loads(
            sheet, [amps for stage in sheet.answers.named_loads[failure.id] for amps in stage]
        ),
        **_answer(sheet, views),
    )


def views_of(
    sheet: Sheet, row: str, faults: tuple[Fault, ...], losses: Sequence[Loss]
) -> Iterator[View]:
    """One view for each condition, beside how the condition stood before."""
    for i, (loss, normal) in enumerate(zip(losses, sheet.answers.normal, strict=True)):
        yield View(row, i, faults, loss, normal, _already(sheet, faults, i, normal))


def _already(sheet: Sheet, faults: Sequence[Fault], condition: int, normal: Loss) -> str:
    """Why a fault makes no difference in a condition: what fails was not in use."""
    if len(faults) != 1:
        return ""
    component, mode = faults[0]
    if mode == "lost":
        on_line = sheet.answers.before.settled.produces[component] >> condition & 1
        return "" if on_line else "Not on line"
    if mode in ("dead", "shorted"):
        return "" if normal.nodes[component].live else "Already dead"
    if mode == "stuck-closed":
        return "Already closed" if normal.conducts[component] else ""
    return "" if normal.conducts[component] else "Already open"


def _answer(sheet: Sheet, views: Sequence[View]) -> dict[str, Any]:
    """What the template shows of the views."""
    losses = [v.loss for v in views]
    before = befores([c.name for c in sheet.answers.conditions], len(views))

    def each(says: Callable[[Sheet, View], str]) -> list[str]:
        return [says(sheet, view) for view in views]

    lost = [loss.lost for loss in losses]
    reduced = [loss.reduced for loss in losses]
    battery = [v.newly_on_battery for v in views]
    # Where all that works is on battery, one sentence says so and needs no list.
    listed = [() if v.all_on_battery else v.newly_on_battery for v in views]
    shed = [loss.shed for loss in losses]
    unpowered = [loss.not_powered for loss in losses]
    moved = [follows.moved(sheet, view) for view in views]
    return {
        "rows": _choices(sheet, views),
        "before": before,
        "more_views": len(before),
        "headline": said("p", each(follows.headline), "headline"),
        "dead": said("p", each(follows.dead_buses), "dead-buses"),
        "chatter": said("p", each(follows.chatter), "warning"),
        "functions": block([v.functions_touched for v in views], follows.functions(sheet, views)),
        "lost": block(lost, follows.by_chapter(sheet, lost, follows.reasons(sheet, views))),
        "reduced": block(
            reduced, follows.by_chapter(sheet, reduced, follows.without(sheet, views), brief=True)
        ),
        "battery": block(
            battery,
            {"says": said("p", each(follows.battery)), "names": follows.names(sheet, listed)},
        ),
        "panels": of_failure(sheet, views),
        "readings": follows.readings(sheet, views, changed=True),
        "readings_same": follows.readings(sheet, views, changed=False),
        "moves": block(moved, follows.moves(sheet, moved)),
        "none_live": said("p", each(follows.none_live)),
        "live": follows.live(sheet, views),
        "loads_page": LOADS,
        "caution_of_figures": FIGURES,
        "left_says": said("span", each(follows.left)),
        "left": follows.names(sheet, [v.left for v in views]),
        "shed": block(shed, follows.names(sheet, shed)),
        "unpowered_says": said("span", each(follows.unpowered)),
        "unpowered": block(unpowered, follows.names(sheet, unpowered)),
        "picture": sheet.pictures.overview(
            [*losses, *sheet.answers.normal],
            steps=steps(sheet.answers.network, views, before),
        ),
    }


def _choices(sheet: Sheet, views: Sequence[View]) -> list[ChoiceRow]:
    rows: dict[str, list[Choice]] = {}
    for number, view in enumerate(views):
        lost = len(view.loss.lost)
        answer = f"{lost} lost" if lost else view.already.lower() or "none lost"
        if view.loss.shed:
            answer += f", {len(view.loss.shed)} off"
        name = sheet.answers.conditions[view.condition].name
        rows.setdefault(view.row, []).append(Choice(number, name, answer))
    return [ChoiceRow(row if len(rows) > 1 else "", tuple(c)) for row, c in rows.items()]
