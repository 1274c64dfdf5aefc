"""How loaded the sources and the buses are in a failure, view by view."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from sitegen.answers.loads.load_table import SourceLoad, source_loads
from sitegen.answers.loads.source_loads import Load, LoadPair
from sitegen.answers.loads.state_amps import NO_AMPS
from sitegen.answers.loads.worst_cases import NEGLIGIBLE_AMPS
from sitegen.pages.load_page import has_figures, source_details
from sitegen.pages.page_context import PageContext, once_per_context
from sitegen.pages.theme import macro
from sitegen.pages.views import by_text, one_row_each
from sitegen.quantities import NO_BREAK
from sitegen.terminal.load_text import given_text

Figure = tuple[str, str, bool]
"""The amps; more about them; whether they are over the rating."""

Figures = dict[str, Figure]

ALL_AS_BEFORE = "Every source gives, and every live bus feeds, what it does with nothing failed."
OTHERS_AS_BEFORE = "The other sources and live buses: as with nothing failed."

GIVES_NOTHING: Figure = ("gives nothing", "", False)

Rows = list[tuple[Any, str, list[tuple[Figure, str]]]]


@dataclass(frozen=True)
class FailureLoads:
    """What the sources give and the buses feed, where that is not as with nothing failed."""

    sources: Rows
    buses: Rows
    as_before: Markup
    """By view, the sentence about those that have no row."""


def failure_loads(
    context: PageContext, views: Sequence[LoadPair], conditions: Sequence[int]
) -> FailureLoads | None:
    """The rows of the sources that carry something, and of the live buses, where it has changed.

    None where the catalogue has no figures.

    Parameters
    ----------
    views : the amps.
    conditions : the numbers of their conditions.
    """
    if not has_figures(context):
        return None
    network = context.answers.network
    normal = _figures_before(context)
    now = _figures(context, views)
    count = len(views)

    def rows(ids: Sequence[str]) -> Rows:
        links, sources = context.fragments.links, network.sources
        found = [
            [
                _unless_the_same(now[k], normal[conditions[k]], one, one in sources)
                for k in range(count)
            ]
            for one in ids
        ]
        return one_row_each((links[one], figures) for one, figures in zip(ids, found, strict=True))

    return FailureLoads(
        rows(list(network.sources)),
        rows([bus.id for bus in network.catalogue.buses]),
        by_text("p", [_as_before(now[k], normal[conditions[k]]) for k in range(count)]),
    )


def _unless_the_same(now: Figures, before: Figures, one: str, is_source: bool) -> Figure | None:
    figure = now.get(one)
    if figure is None and one in before and is_source:
        return GIVES_NOTHING
    return None if figure == before.get(one) else figure


def _as_before(now: Figures, before: Figures) -> str:
    """What a reader may take for granted of those that are not listed."""
    same = sum(figure == before.get(one) for one, figure in now.items())
    if not same:
        return ""
    return ALL_AS_BEFORE if same == len(now) else OTHERS_AS_BEFORE


@once_per_context
def _figures_before(context: PageContext) -> list[Figures]:
    """By condition, the figures with nothing failed."""
    return _figures(context, [(t.load, t.peak) for t in context.answers.load_tables])


def _figures(context: PageContext, views: Sequence[LoadPair]) -> list[Figures]:
    """By view and by source that carries something or live bus: its figure."""
    network = context.answers.network
    buses = [bus.id for bus in network.catalogue.buses]
    # Most views of a page have the amps of another.
    known: dict[tuple[int, int], Figures] = {}
    for load, peak in views:
        key = id(load.amps), id(peak.amps)
        if key not in known:
            of_sources = (
                (s.source, _of_source(s, load))
                for s in source_loads(network, load, peak)
                if s.amps >= NEGLIGIBLE_AMPS or s.source in load.short_sources
            )
            of_buses = ((bus, _of_bus(bus, load, peak)) for bus in buses if load.nodes[bus].live)
            known[key] = dict([*of_sources, *of_buses])
    return [known[id(load.amps), id(peak.amps)] for load, peak in views]


def _of_bus(bus: str, load: Load, peak: Load) -> Figure:
    amps, short = load.buses.get(bus, NO_AMPS), peak.buses.get(bus, NO_AMPS)
    more = f"{NO_BREAK.amps(short)} short-time" if short > amps + NEGLIGIBLE_AMPS else ""
    return NO_BREAK.least_amps(amps, bus in load.short_nodes), more, False


MACHINES = ("generator", "external-power")

HALF, MORE = 50, 5
"""Percent of its rating from which a source is named first, and by how much that has risen."""


def most_loaded(
    context: PageContext, views: Sequence[LoadPair], conditions: Sequence[int]
) -> Markup:
    """By view, the generator or external power that is nearest its rating, where the failure has
    loaded it more.

    Parameters
    ----------
    views : the amps.
    conditions : the numbers of their conditions.
    """
    network, tables = context.answers.network, context.answers.load_tables

    def text(load: Load, peak: Load, condition: int) -> str:
        before = {s.source: s for s in tables[condition].sources}
        loaded = [
            (s.percent, s.source, s)
            for s in source_loads(network, load, peak)
            if s.percent is not None and network.sources[s.source].kind in MACHINES
        ]
        percent, source, of = max(loaded, default=(NO_AMPS, "", None))
        was = before.get(source)
        if of is None or percent < HALF or percent < ((was and was.percent) or NO_AMPS) + MORE:
            return ""
        least = "at least " if source in load.short_sources else ""
        short_time = ""
        if of.is_short_time_over and of.peak_percent and not (was and was.is_short_time_over):
            short_time = NO_BREAK.percent(of.peak_percent)
        return macro("loaded")(least + NO_BREAK.percent(percent), network.names[source], short_time)

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
