"""The front pages: of the site, where the airframe is chosen, and of each airframe."""

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
from sitegen.catalogue.model import WHOLE_HANDOUT, Airframe, Bus, Catalogue, Device, Source
from sitegen.pages.author_text import prose
from sitegen.pages.fragments.condition_states import power_state
from sitegen.pages.links import INDEX, PRACTISE, failure_page, named_failure_page
from sitegen.pages.load_page import has_figures
from sitegen.pages.page_context import Page, PageContext, PageKind, frame
from sitegen.pages.panel_page import component_list
from sitegen.pages.theme import fill, macro
from sitegen.pages.views import with_classes
from sitegen.quantities import NO_BREAK
from sitegen.terminal.headline_text import in_every_answer, in_few_words
from sitegen.terminal.shared_text import condition_text


def fleet_page(catalogue: Catalogue, shares: Sequence[tuple[Airframe, str]]) -> Page:
    """The front page of the site.

    Parameters
    ----------
    catalogue : the whole fleet's.
    shares : each airframe with a line about what is fitted to it.
    """

    def make() -> str:
        return fill(
            "fleet",
            {
                **frame(catalogue),
                "top": "",
                "airframe": "",
                "title": catalogue.aircraft.name,
                "kind": catalogue.aircraft.title,
                "others": [],
                "rows": [],
                "view_count": 0,
                "statement_text": prose(catalogue.aircraft.statement, _no_page),
                "airframes": [
                    {
                        "href": f"{a.id}/{INDEX}",
                        "name": a.name,
                        "note": prose(a.note, _no_page),
                        "share": share,
                    }
                    for a, share in shares
                ],
            },
        )

    return Page(INDEX, make)


def _no_page(_: str) -> None:
    """The page of all airframes has no link to what one of them has: its id names no one page."""


def _values(context: PageContext, airframe: Airframe) -> Mapping[str, Any]:
    answers = context.answers
    catalogue = answers.network.catalogue
    return {
        "rows": context.by_condition([""] * len(answers.conditions)),
        "catalogue": catalogue,
        "has_loads": has_figures(context),
        "has_practice": context.has(PRACTISE),
        "handouts": catalogue.handout or [WHOLE_HANDOUT],
        "buses": [
            (bus, macro("states")(with_classes(states), context.drawings.marks))
            for bus in catalogue.buses
            for states in [[_power(loss.nodes[bus.id]) for loss in answers.normal]]
        ],
        "groups": list(_failures(context)),
        "panels": [plan.panel for plan in answers.panels],
        "on_no_panel": component_list(context, list(on_no_panel(answers.network))),
        "notes": answers.reading.notes,
        "note": answers.airframe.note,
        "conditions": [(c, condition_text(answers.network, c)) for c in answers.conditions],
        "drawing": context.drawings.live(),
    }


def _power(state: NodeState) -> tuple[str, str]:
    """The state of a bus as a class, and in words."""
    power = power_state(state)
    volts = NO_BREAK.volts(state.volts)
    return power, {"dead": "dead", "battery": f"{volts} battery", "live": volts}[power]


@dataclass(frozen=True)
class FailureGroup:
    """A list of failures on the front page."""

    anchor: str
    title: str
    failures: list[tuple[str, str, Markup]]
    """Page, name, and how much is lost in each condition."""
    opened: bool = True
    """False for one that unfolds."""


def _failures(context: PageContext) -> Iterator[FailureGroup]:
    answers = context.answers
    catalogue = answers.network.catalogue

    def lost(losses: Sequence[Loss], dips: Sequence[Loss] = ()) -> Markup:
        counts = [
            in_every_answer(in_few_words(loss) or "none lost", loss, dip)
            for loss, dip in zip_longest(losses, dips)
        ]
        return macro("lost_counts")(with_classes(counts))

    def single(records: Sequence[Source | Bus | Device]) -> list[tuple[str, str, Markup]]:
        components = answers.network.components
        first_modes = [(r.id, components[r.id].modes[0]) for r in records]
        return [
            (failure_page(i), components[i].name, lost(answers.single[i, mode]))
            for i, mode in first_modes
        ]

    if catalogue.failures:
        named = [
            (
                named_failure_page(f.id),
                f.name,
                lost(answers.named[f.id][0], answers.named_dip[f.id][0]),
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


PAGE: PageKind[Airframe] = PageKind(
    template="front",
    subjects=lambda context: [context.answers.airframe],
    path=lambda airframe: INDEX,
    title=lambda airframe: airframe.name,
    kind=lambda context, airframe: context.answers.network.catalogue.aircraft.title,
    values=_values,
)
