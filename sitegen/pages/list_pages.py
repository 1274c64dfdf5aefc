"""The pages that list others: failures, buses, panels, functions, conditions, what to print."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any

from markupsafe import Markup

from sitegen.answers.drop import Loss
from sitegen.answers.node_states import NodeState
from sitegen.answers.panel_plans import on_no_panel
from sitegen.catalogue.kinds import KINDS
from sitegen.catalogue.model import WHOLE_HANDOUT, Bus, Device, Source
from sitegen.pages.fragments.condition_states import power_state
from sitegen.pages.fragments.endurance_lines import with_nothing_failed
from sitegen.pages.links import (
    BUSES,
    CONDITIONS,
    FAILURES,
    FUNCTIONS,
    PANELS,
    PAPER,
    failure_page,
    named_failure_page,
)
from sitegen.pages.page_context import PageContext, PageKind, one_page
from sitegen.pages.panel_page import component_list
from sitegen.pages.theme import macro
from sitegen.pages.views import with_classes
from sitegen.quantities import NO_BREAK
from sitegen.terminal.headline_text import at_a_glance, in_every_answer, turned_off
from sitegen.terminal.shared_text import condition_text
from sitegen.words import counted


def _no_answers(context: PageContext) -> dict[str, Any]:
    """The choice of a condition, without an answer for each."""
    return {"rows": context.by_condition([""] * len(context.answers.conditions))}


def _buses(context: PageContext, _: None) -> Mapping[str, Any]:
    answers = context.answers
    return {
        **_no_answers(context),
        "buses": [
            (bus, macro("states")(with_classes(states), context.drawings.marks))
            for bus in answers.network.catalogue.buses
            for states in [[_power(loss.nodes[bus.id]) for loss in answers.normal]]
        ],
    }


def _power(state: NodeState) -> tuple[str, str]:
    """The state of a bus as a class, and in words."""
    power = power_state(state)
    volts = NO_BREAK.volts(state.volts)
    return power, {"dead": "dead", "battery": f"{volts} battery", "live": volts}[power]


@dataclass(frozen=True)
class FailureGroup:
    """A list of failures under one title."""

    anchor: str
    title: str
    failures: list[tuple[str, str, str, Markup]]
    """Page, name, what is dangerous there, and how much is lost in each condition."""
    opened: bool = True
    """False for one that unfolds."""


def _failures(context: PageContext) -> Iterator[FailureGroup]:
    answers = context.answers
    catalogue = answers.network.catalogue

    network = answers.network

    def line(
        page: str,
        name: str,
        losses: Sequence[Loss],
        dips: Sequence[Loss] = (),
        acted: Sequence[Loss] = (),
        shorts: Sequence[Loss] = (),
    ) -> tuple[str, str, str, Markup]:
        counts = []
        each = zip_longest(answers.normal, losses, dips, acted, shorts)
        for normal, loss, dip, crew, short in each:
            lost = in_every_answer(at_a_glance(network, loss, normal), loss, dip)
            if short and len(short.lost) > len(loss.lost):
                lost += f"; {len(short.lost)} lost if shorted"
            counts.append(lost + turned_off(crew))
        concerned = {i for loss in losses for i in (*loss.comes_on, *(c for c, _ in loss.failed))}
        hazards = {text: None for i, text in network.hazards.items() if i in concerned}
        return page, name, " ".join(hazards), macro("lost_counts")(with_classes(counts))

    def single(
        records: Sequence[Source | Bus | Device],
    ) -> list[tuple[str, str, str, Markup]]:
        components = network.components
        return [
            line(
                failure_page(r.id),
                components[r.id].name,
                answers.single[r.id, components[r.id].modes[0]],
                shorts=answers.single.get((r.id, "shorted"), ()) if r.id in network.nodes else (),
            )
            for r in records
        ]

    if catalogue.failures:
        named = [
            line(
                named_failure_page(f.id),
                f.name,
                answers.named[f.id][0],
                answers.named_dip[f.id][0],
                *answers.named[f.id][1:],
            )
            for f in catalogue.failures
        ]
        yield FailureGroup("named", "Named failures", named)
    yield FailureGroup("sources", "A source is lost", single(catalogue.sources))
    yield FailureGroup("dead-buses", "A bus drops", single(catalogue.buses))
    kinds: dict[str, list[Device]] = {}
    for device in catalogue.devices:
        kinds.setdefault(device.kind, []).append(device)
    for kind, devices in kinds.items():
        yield FailureGroup(kind, f"{KINDS[kind].plural} open", single(devices), opened=False)


def _failure_lists(context: PageContext, _: None) -> Mapping[str, Any]:
    groups = list(_failures(context))
    signed = any(hazard for group in groups for _, _, hazard, _ in group.failures)
    return {**_no_answers(context), "groups": groups, "signed": signed}


def _panels(context: PageContext, _: None) -> Mapping[str, Any]:
    answers = context.answers
    return {
        "panels": [plan.panel for plan in answers.panels],
        "on_no_panel": component_list(context, list(on_no_panel(answers.network))),
    }


def _conditions(context: PageContext, _: None) -> Mapping[str, Any]:
    answers = context.answers
    return {
        "note": answers.airframe.note,
        "conditions": [
            (c, condition_text(answers.network, c), with_nothing_failed(context, c.id))
            for c in answers.conditions
        ],
    }


LISTS: tuple[PageKind[None], ...] = (
    PageKind(
        template="failure-list",
        subjects=one_page,
        path=lambda _: FAILURES,
        title=lambda _: "What do I lose?",
        kind=lambda context, _: "Failures",
        values=_failure_lists,
    ),
    PageKind(
        template="bus-list",
        subjects=one_page,
        path=lambda _: BUSES,
        title=lambda _: "Buses",
        kind=lambda context, _: counted(
            len(context.answers.network.catalogue.buses), "bus", "buses"
        ),
        values=_buses,
    ),
    PageKind(
        template="panel-list",
        subjects=lambda context: [None] if context.answers.panels else [],
        path=lambda _: PANELS,
        title=lambda _: "Panels",
        kind=lambda context, _: "Every breaker in its place",
        values=_panels,
    ),
    PageKind(
        template="function-list",
        subjects=lambda context: [None] if context.answers.network.catalogue.functions else [],
        path=lambda _: FUNCTIONS,
        title=lambda _: "Functions",
        kind=lambda context, _: "What each needs",
        values=lambda context, _: {"functions": context.answers.network.catalogue.functions},
    ),
    PageKind(
        template="condition-list",
        subjects=one_page,
        path=lambda _: CONDITIONS,
        title=lambda _: "Conditions",
        kind=lambda context, _: "How they are set",
        values=_conditions,
    ),
    PageKind(
        template="paper-list",
        subjects=one_page,
        path=lambda _: PAPER,
        title=lambda _: "On paper",
        kind=lambda context, _: "To print",
        values=lambda context, _: {
            "handouts": context.answers.network.catalogue.handout or [WHOLE_HANDOUT]
        },
        depends_on=lambda context, _: [],
    ),
)
