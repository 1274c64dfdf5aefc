"""How loaded the sources and the buses are in a failure, view by view."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from markupsafe import Markup

from sitegen.answers.airframe_answers import Amps
from sitegen.answers.loads.load_table import NEGLIGIBLE_AMPS, SourceLoad, source_loads
from sitegen.answers.loads.source_loads import Load
from sitegen.answers.loads.state_amps import NO_AMPS
from sitegen.pages.load_page import has_figures, source_details
from sitegen.pages.page_context import PageContext
from sitegen.pages.theme import macro
from sitegen.pages.views import by_text, one_row_each
from sitegen.quantities import NO_BREAK
from sitegen.terminal.load_text import given_text

Figure = tuple[str, str, bool]
"""The amps; more about them; whether they are over the rating."""

Rows = list[tuple[Any, str, list[tuple[Figure, str]]]]


def failure_loads(context: PageContext, views: Sequence[Amps]) -> dict[str, Rows] | None:
    """The rows of the sources that carry something, and of the live buses.

    None where the catalogue has no figures.
    """
    if not has_figures(context):
        return None
    network = context.answers.network
    carrying = [
        {
            s.source: s
            for s in source_loads(network, load, peak)
            if s.amps >= NEGLIGIBLE_AMPS or s.source in load.short_sources
        }
        for load, peak in views
    ]

    def of_source(source: str, k: int) -> Figure | None:
        source_load = carrying[k].get(source)
        return _of_source(source_load, views[k][0]) if source_load else None

    def of_bus(bus: str, k: int) -> Figure | None:
        load, peak = views[k]
        if not load.nodes[bus].live:
            return None
        amps, short = load.buses.get(bus, NO_AMPS), peak.buses.get(bus, NO_AMPS)
        more = f"{NO_BREAK.amps(short)} short-time" if short > amps + NEGLIGIBLE_AMPS else ""
        return NO_BREAK.least_amps(amps, bus in load.short_nodes), more, False

    buses = [bus.id for bus in network.catalogue.buses]
    return {
        "sources": _rows(context, network.sources, of_source, len(views)),
        "buses": _rows(context, buses, of_bus, len(views)),
    }


MACHINES = ("generator", "external-power")

HALF, MORE = 50, 5
"""Percent of its rating from which a source is named first, and by how much that has risen."""


def most_loaded(context: PageContext, views: Sequence[Amps], conditions: Sequence[int]) -> Markup:
    """By view, the generator or external power that is nearest its rating, where the failure has
    loaded it more.

    Parameters
    ----------
    views : the amps.
    conditions : the numbers of their conditions.
    """
    network, tables = context.answers.network, context.answers.load_tables

    def text(load: Load, peak: Load, condition: int) -> str:
        before = {s.source: s.percent for s in tables[condition].sources}
        loaded = [
            (s.percent, s.source)
            for s in source_loads(network, load, peak)
            if s.percent is not None and network.sources[s.source].kind in MACHINES
        ]
        percent, source = max(loaded, default=(NO_AMPS, ""))
        if percent < HALF or percent < (before.get(source) or NO_AMPS) + MORE:
            return ""
        least = "at least " if source in load.short_sources else ""
        return macro("loaded")(least + NO_BREAK.percent(percent), network.names[source])

    texts = [
        text(load, peak, condition)
        for (load, peak), condition in zip(views, conditions, strict=True)
    ]
    return by_text("p", texts, "nearest")


def _of_source(source_load: SourceLoad, load: Load) -> Figure:
    network = load.amps.net.sharing.network
    return (
        given_text(NO_BREAK, network, source_load, load, of_rating=False),
        ", ".join(source_details(source_load, load)),
        bool(source_load.percent and source_load.percent > 100),
    )


def _rows(
    context: PageContext,
    ids: Iterable[str],
    figure: Callable[[str, int], Figure | None],
    count: int,
) -> Rows:
    links = context.fragments.links
    return one_row_each((links[one], [figure(one, k) for k in range(count)]) for one in ids)
