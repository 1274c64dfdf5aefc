"""The load analysis of an airframe: amps on every source, bus and feeder, in each condition."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from sitegen.answers.loads.load_table import LoadTable, SourceLoad, most_first
from sitegen.answers.loads.source_loads import Load
from sitegen.answers.loads.state_amps import NO_AMPS
from sitegen.answers.loads.worst_cases import NEGLIGIBLE_AMPS, WorstCase
from sitegen.pages.fragments.failure_sets import faults
from sitegen.pages.links import LOADS, LOADS_TABLE, PROTECTION
from sitegen.pages.page_context import DataFile, PageContext, PageKind
from sitegen.pages.views import classes
from sitegen.quantities import NO_BREAK, NOT_KNOWN, Fraction, exactly, whole
from sitegen.terminal.load_csv import load_csv
from sitegen.terminal.load_text import (
    FIGURES,
    bus_text,
    carried_of,
    given_text,
    margin_text,
    opens_text,
    over_at_worst,
    over_rating_text,
    peak_at_worst,
    sources_among,
    worst_amps,
)
from sitegen.terminal.voltage_text import (
    BY_THE_TABLE,
    MOST_DROPS,
    drop_volts,
    feeder_drops,
    no_length_text,
    sag_effects,
    sag_words,
    supply_words,
)
from sitegen.words import counted

MOST_DRAWING = 24
"""Items in the list of what draws most."""

HIGH = 80.0
"""Percent of a rating above which a load is marked (AC 43.13-1B, 11-35)."""

OPENS_AT_WORST = {"must": "opens at worst", "may": "may open at worst"}


def _table(context: PageContext) -> str:
    return load_csv(context.answers.network, context.answers.load_tables)


def has_figures(context: PageContext) -> bool:
    """Whether the catalogue has the amps of any equipment."""
    return any(e.has_amps for e in context.answers.network.equipment.values())


@dataclass(frozen=True)
class Amount:
    """A line of the page: a name, a figure, and a bar."""

    name: Markup
    amps: str
    share: str
    """How long the bar is, %; empty for none."""
    more: str = ""
    worst: str = ""
    """The failure that loads it more."""
    high: bool = False


def _values(context: PageContext, subject: None) -> Mapping[str, Any]:
    conditions, tables = context.answers.conditions, context.answers.load_tables
    columns = {c.id: c.name for c in context.answers.network.catalogue.load_columns}
    network, totals = context.answers.network, []
    for table in tables:
        total = sum(
            (
                s.amps
                for s in table.sources
                if context.answers.network.sources[s.source].kind != "converter"
            ),
            NO_AMPS,
        )
        totals.append(f"{whole(total)}\u00a0A in all")
    return {
        "rows": context.by_condition(totals),
        "drawing": context.drawings.live(),
        "over_rating": over_rating_text(network, tables[0]),
        "no_length": no_length_text(network),
        "table_file": LOADS_TABLE,
        "protection": PROTECTION,
        "caution_of_figures": FIGURES,
        "by_the_table": BY_THE_TABLE,
        "conditions": [
            {
                "classes": classes(1 << i, len(conditions)),
                "name": condition.name,
                "column": columns.get(condition.loads or "", ""),
                "missing": _missing(table),
                "over": _over_at_worst(context, table),
                "short_time_over": [
                    (
                        _after(context, worst),
                        context.fragments.links[source],
                        peak_at_worst(NO_BREAK, allowed, worst),
                    )
                    for source, allowed, worst in table.short_time_over_at_worst(network)
                ],
                "not_known": [
                    (
                        _after(context, case),
                        Markup(", ").join(sources_among(network, found, context.fragments.links)),
                    )
                    for case, found in table.not_known_after()
                ],
                "nearest": _nearest(context, table),
                "hardest": _hardest(context, table),
                "sources": list(source_amounts(context, table)),
                "buses": list(_buses(context, table)),
                "devices": list(_devices(context, table)),
                "drops": list(_drops(context, table)),
                "sags": list(_sags(context, table)),
                "equipment": list(_equipment(context, table)),
                "less": _less(table),
                "unknown": context.fragments.list(table.load.unknown) if table.load.unknown else "",
                "unknown_count": counted(len(table.load.unknown), "item"),
            }
            for i, (condition, table) in enumerate(zip(conditions, tables, strict=True))
        ],
    }


def _missing(table: LoadTable) -> str:
    number = len(table.load.unknown)
    have = "has" if number == 1 else "have"
    return f"At least: {counted(number, 'item')} {have} no figure." if number else ""


def source_amounts(context: PageContext, table: LoadTable) -> Iterator[Amount]:
    """How loaded each source is."""
    network = context.answers.network
    for source in table.sources:
        record = network.sources[source.source]
        yield Amount(
            name=context.fragments.links[source.source],
            amps=given_text(NO_BREAK, network, source, table.load, of_rating=True),
            more=", ".join(
                filter(
                    None,
                    (
                        *source_details(source, table.load),
                        sag_words(NO_BREAK, network.names, table, source.source),
                    ),
                )
            ),
            share=_share(source.percent),
            high=bool(source.percent and source.percent > HIGH),
            worst=_worst(context, table.worst_sources.get(source.source), source.amps, record.amps),
        )


def source_details(source: SourceLoad, load: Load) -> Iterator[str]:
    """More about a source's amps: the margin, the short-time amps, its input."""
    yield from margin_text(NO_BREAK, source, load)
    if source.source in load.converters:
        unknown = source.source in load.short_sources or source.source in load.unknown
        taken = NO_BREAK.least_amps(load.converters[source.source], unknown)
        yield f"takes {'an amount ' if taken == NOT_KNOWN else ''}{taken} at its input"


def _buses(context: PageContext, table: LoadTable) -> Iterator[Amount]:
    for bus in context.answers.network.catalogue.buses:
        state = table.load.nodes[bus.id]
        amps, short = table.load.buses.get(bus.id, NO_AMPS), table.peak.buses.get(bus.id, NO_AMPS)
        yield Amount(
            name=context.fragments.links[bus.id],
            amps=bus_text(NO_BREAK, table.load, bus.id) if state.live else "dead",
            more=f"{NO_BREAK.amps(short)} short-time" if short > amps + NEGLIGIBLE_AMPS else "",
            share="",
        )


def _devices(context: PageContext, table: LoadTable) -> Iterator[Amount]:
    network = context.answers.network
    for device, carried in table.listed_devices(network).items():
        component = network.components[device]
        percent = 100 * carried.most / exactly(component.amps) if component.amps else None
        yield Amount(
            name=context.fragments.failing[device],
            amps=carried_of(NO_BREAK, carried, component.amps) + opens_text(table, device),
            share=_share(percent),
            high=bool(percent and percent > 100),
            more=OPENS_AT_WORST.get(table.opens_at_worst.get(device, ""), ""),
            worst=_worst(context, table.worst_devices.get(device), carried.most, component.amps)
            + _opens_after(context, table.must_open_after.get(device), component.amps),
        )


def _drops(context: PageContext, table: LoadTable) -> Iterator[Amount]:
    network, links = context.answers.network, context.fragments.links
    for branch, drop in feeder_drops(network, table.drops):
        ends = Markup("{} to {}").format(links[branch.origin], links[branch.target])
        yield Amount(ends, drop_volts(NO_BREAK, drop), "", f"at {NO_BREAK.amps(drop.amps)}")
    for supply in table.drops.highest_first()[:MOST_DROPS]:
        name = Markup("{} on {}").format(links[supply.item], links[supply.bus])
        highest = max((drop for drop, _ in supply.judged), key=lambda drop: drop.volts)
        words = supply_words(NO_BREAK, supply)
        yield Amount(name, drop_volts(NO_BREAK, highest), "", words, high=supply.excess > 1)


def _sags(context: PageContext, table: LoadTable) -> Iterator[Markup]:
    """What follows from the sags."""
    for sag in table.sags:
        effects = [
            Markup("{} {}").format(words, context.fragments.list(ids))
            for words, ids in sag_effects(sag)
        ]
        if effects:
            item = context.fragments.links.get(sag.item, "")
            when = Markup("While {} starts").format(item) if item else "With continuous amps"
            yield Markup("{}: {}").format(when, Markup("; ").join(effects))


def _opens_after(context: PageContext, case: WorstCase | None, rated: float | None) -> Markup:
    """The failure after which a device must open that need not at its worst."""
    if case is None:
        return Markup("")
    return Markup("; opens {}: {}").format(worst_amps(NO_BREAK, case, rated), _after(context, case))


def _equipment(context: PageContext, table: LoadTable) -> Iterator[Amount]:
    for item, amps in most_first(table.load.drawn)[:MOST_DRAWING]:
        peak = table.peak.drawn.get(item, amps)
        short = f", {NO_BREAK.amps(peak)} short-time" if peak > amps + NEGLIGIBLE_AMPS else ""
        yield Amount(
            name=context.fragments.links[item],
            amps=f"{NO_BREAK.short_amps(amps)}{short}",
            share="",
        )


def _less(table: LoadTable) -> str:
    """How many items draw less than those listed; empty for none."""
    number = len(table.load.drawn) - MOST_DRAWING
    return (
        f"{counted(number, 'item')} that {'draws' if number == 1 else 'draw'} less"
        if number > 0
        else ""
    )


def _share(percent: Fraction | None) -> str:
    """How long a bar is; empty for none."""
    return "" if percent is None else str(min(whole(percent), 100))


def _worst(
    context: PageContext, worst: WorstCase | None, amps: Fraction, rated: float | None
) -> Markup:
    """The failure that loads it more, and how much."""
    if worst is None or not worst.exceeds(amps):
        return Markup("")
    return Markup("At worst {}: {}").format(
        worst_amps(NO_BREAK, worst, rated), _after(context, worst)
    )


def _after(context: PageContext, worst: WorstCase) -> Markup:
    """What has failed in a worst case, and whether the crew has acted."""
    named = worst.named(context.answers.network)
    if named:
        failed = context.fragments.failing_or_named[named.id]
    else:
        failed = Markup(" with ").join(faults(context, [fault]) for fault in worst.failed)
    return failed + (", once the crew has acted" if worst.acted_on else "")


def _over_at_worst(context: PageContext, table: LoadTable) -> list[tuple[Markup, list[Markup]]]:
    """(what fails, what it brings over its rating more than anything else)."""
    network = context.answers.network
    return [
        (
            _after(context, group[0][2]),
            [
                Markup("{} <b>{}</b>").format(
                    context.fragments.links[over[0]],
                    over_at_worst(NO_BREAK, network, table, *over),
                )
                for over in group
            ],
        )
        for group in table.over_at_worst(network)
    ]


def _nearest(context: PageContext, table: LoadTable) -> Markup:
    """The source or device that is nearest its rating with nothing failed."""
    network, links = context.answers.network, context.fragments
    loaded: list[tuple[Fraction, Markup, str]] = [
        (
            source.percent,
            links.links[source.source],
            given_text(NO_BREAK, network, source, table.load, of_rating=True),
        )
        for source in table.sources
        if source.percent
    ]
    for device, carried in table.listed_devices(network).items():
        rated = network.components[device].amps
        if rated:
            amps = carried_of(NO_BREAK, carried, rated)
            loaded.append((100 * carried.most / exactly(rated), links.failing[device], amps))
    share, name, amps = max(loaded, key=lambda one: one[0], default=(None, Markup(""), ""))
    if not share or share > 100:  # what is over its rating is said first
        return Markup("")
    return Markup("Nearest its rating with nothing failed: {} <b>{}</b>.").format(name, amps)


def _hardest(context: PageContext, table: LoadTable) -> Markup:
    """The source that comes nearest to its rating after a failure."""
    network = context.answers.network
    loaded = [
        (worst.amps / exactly(rated), source.source, worst, rated)
        for source in table.sources
        for worst, rated in [
            (table.worst_sources.get(source.source), network.sources[source.source].amps)
        ]
        if worst and rated and worst.exceeds(source.amps)
    ]
    if not loaded:
        return Markup("")
    share, source, worst, rated = max(loaded, key=lambda one: one[0])
    if share > 1:  # said among what is over its rating
        return Markup("")
    return Markup(
        "Source nearest its rating after a failure, short-time loads apart: {} <b>{}</b>: {}."
    ).format(
        context.fragments.links[source],
        worst_amps(NO_BREAK, worst, rated),
        _after(context, worst),
    )


def _with_figures(context: PageContext) -> list[None]:
    return [None] if has_figures(context) else []


PAGE: PageKind[None] = PageKind(
    template="load",
    subjects=_with_figures,
    path=lambda _: LOADS,
    title=lambda _: "Loads",
    kind=lambda context, _: "Amps",
    values=_values,
)
TABLE = DataFile(LOADS_TABLE, _table, _with_figures)
