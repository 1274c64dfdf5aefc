"""How loaded the sources and the buses are in a failure, view by view."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from markupsafe import Markup

from sitegen.answers.airframe_answers import Amps
from sitegen.answers.loads.load_table import NEGLIGIBLE_AMPS, SourceLoad, source_loads
from sitegen.answers.loads.source_loads import Load
from sitegen.pages.load_page import beside, has_figures
from sitegen.pages.page_context import PageContext
from sitegen.pages.views import by_answer, classes
from sitegen.solver.load_figures import whole

Figure = tuple[str, str, bool]
"""The amps; what stands beside them; whether they are over the rating."""


def failure_loads(context: PageContext, views: Sequence[Amps]) -> dict[str, Markup] | None:
    """The rows of the sources that carry something, and of the live buses.

    None where the catalogue has no figures.
    """
    if not has_figures(context):
        return None
    network = context.answers.network
    carrying = [
        {s.source: s for s in source_loads(network, load, peak) if s.amps >= NEGLIGIBLE_AMPS}
        for load, peak in views
    ]

    def of_source(source: str, k: int) -> Figure | None:
        found = carrying[k].get(source)
        return _of_source(found, views[k][0]) if found else None

    def of_bus(bus: str, k: int) -> Figure | None:
        load, peak = views[k]
        if not load.loss.nodes[bus].live:
            return None
        amps, short = load.buses.get(bus, 0.0), peak.buses.get(bus, 0.0)
        more = f"{short:.1f}\u00a0A short-time" if short > amps + NEGLIGIBLE_AMPS else ""
        return load.least_at(bus) + f"{amps:.1f}\u00a0A", more, False

    buses = [bus.id for bus in network.catalogue.buses]
    return {
        "sources": _rows(context, network.sources, of_source, len(views)),
        "buses": _rows(context, buses, of_bus, len(views)),
    }


def _of_source(found: SourceLoad, load: Load) -> Figure:
    text = load.least_from(found.source) + f"{found.amps:.1f}\u00a0A"
    if found.percent is not None:
        text += f", {whole(found.percent)}\u00a0%"
    return text, ", ".join(beside(found, load)), bool(found.percent and found.percent > 100)


def _rows(
    context: PageContext,
    ids: Iterable[str],
    figure: Callable[[str, int], Figure | None],
    count: int,
) -> Markup:
    links = context.fragments.links

    def row(one: str, amps: str, more: str, over: bool, mask: int) -> str:
        second = f'<span class="beside{" over" if over else ""}">{more}</span>' if more else ""
        return (
            f'<li class="reading{classes(mask, count)}"><span>{links[one]}</span>'
            f" <b>{amps}</b>{second}</li>"
        )

    return Markup(
        "".join(
            row(one, *found, mask)
            for one in ids
            for found, mask in by_answer([figure(one, k) for k in range(count)]).items()
        )
    )
