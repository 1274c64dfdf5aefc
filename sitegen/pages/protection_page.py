"""The audit of protection: what the breakers, fuses and links of an airframe do not protect."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from markupsafe import Markup

from sitegen.network.protection import (
    NotFirst,
    Overload,
    OverWire,
    Protection,
    UnclearedShort,
    protection,
)
from sitegen.pages.links import PROTECTION
from sitegen.pages.load_text import FIGURES
from sitegen.pages.sheet import Page, Sheet
from sitegen.pages.words import counted
from sitegen.reference import wire_rows


def pages(sheet: Sheet) -> list[Page]:
    """One page."""
    return [sheet.page(PROTECTION, lambda: _page(sheet))]


def _page(sheet: Sheet) -> str:
    found = protection(sheet.answers.network, wire_rows())
    return sheet.fill(
        "protection",
        PROTECTION,
        "Protection audit",
        "Breakers, fuses and links",
        caution_of_figures=FIGURES,
        rules=_rules(sheet, found),
    )


def _rules(sheet: Sheet, found: Protection) -> list[dict[str, Any]]:
    def rule(title: str, source: str, records: Sequence[Any], says: Callable[..., Markup]) -> Any:
        return {"title": title, "source": source, "lines": [says(sheet, r) for r in records]}

    circular = "FAA AC 43.13-1B"
    return [
        rule(
            "Generators loaded over 80 %, with no loadmeter",
            f"{circular}, 11-35: a rule of thumb, with nothing failed.",
            found.generators,
            _overload,
        ),
        rule(
            "Breakers and fuses too large for their wire",
            f"{circular}, Table 11-3, DC, copper; where the catalogue names the gauge.",
            found.wires,
            _over_wire,
        ),
        rule(
            "Smaller than the load behind them",
            f"{circular}, 11-48, by what the catalogue says is drawn; with nothing failed.",
            found.loads,
            _overload,
        ),
        rule(
            "Not smaller than the one upstream",
            "It would not open first, and more would go down with it. Common practice.",
            found.order,
            _not_first,
        ),
        rule(
            "One side of a double feed too weak for the whole bus",
            "Each feeder as if it were the only one left. Common practice.",
            found.sides,
            _overload,
        ),
        rule(
            "Shorts that nothing clears before a source",
            "Not counted: a bus that is fed by that source alone. Common practice.",
            found.shorts,
            _short,
        ),
    ]


def _overload(sheet: Sheet, found: Overload) -> Markup:
    least = f"at least ({counted(len(found.unknown), 'item')} without figures) "
    bus = Markup(", to {}").format(sheet.pieces.links[found.bus]) if found.bus else Markup("")
    return Markup("{}{}: {}{:.1f}\u00a0A in {}; it may carry {:g}\u00a0A.").format(
        sheet.pieces.failing[found.component],
        bus,
        least if found.unknown else "",
        found.amps,
        sheet.answers.network.condition_names[found.condition],
        found.limit,
    )


def _over_wire(sheet: Sheet, found: OverWire) -> Markup:
    return Markup("{}: {:g}\u00a0A on {} gauge wire, which {:g}\u00a0A protects.").format(
        sheet.pieces.failing[found.component], found.rating, found.gauge, found.allowed
    )


def _not_first(sheet: Sheet, found: NotFirst) -> Markup:
    failing = sheet.pieces.failing
    return Markup("{}: {:g}\u00a0A, behind {} of {:g}\u00a0A; {} goes down with either.").format(
        failing[found.component],
        found.rating,
        failing[found.upstream],
        found.upstream_rating,
        sheet.pieces.links[found.bus],
    )


def _short(sheet: Sheet, found: UnclearedShort) -> Markup:
    pieces = sheet.pieces
    more = Markup("")
    if found.drawn_in:
        more += Markup(" {} did not feed it before the fault.").format(pieces.list(found.drawn_in))
    if found.also:
        more += Markup(" Down with it: {}.").format(pieces.list(found.also))
    return Markup("{}: a short on it reaches {} in {}.{}").format(
        pieces.failing[found.bus],
        pieces.list(found.sources),
        sheet.answers.network.condition_names[found.condition],
        more,
    )
