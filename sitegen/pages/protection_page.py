"""The audit of protection: what the breakers, fuses and links of an airframe do not protect."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from markupsafe import Markup

from sitegen.answers.protection.protection_audit import protection
from sitegen.answers.protection.protection_records import (
    NotFirst,
    Overload,
    OverWire,
    Protection,
    UnclearedShort,
)
from sitegen.catalogue.wire_chart import wire_rows
from sitegen.pages.links import PROTECTION
from sitegen.pages.page_context import PageContext, PageKind, one_page
from sitegen.quantities import NO_BREAK
from sitegen.terminal.load_text import FIGURES
from sitegen.words import counted


def _values(context: PageContext, subject: None) -> Mapping[str, Any]:
    audit = protection(context.answers.network, wire_rows())
    return {
        "caution_of_figures": FIGURES,
        "rules": _rules(context, audit),
    }


def _rules(context: PageContext, audit: Protection) -> list[dict[str, Any]]:
    def rule(title: str, source: str, records: Sequence[Any], line: Callable[..., Markup]) -> Any:
        return {"title": title, "source": source, "lines": [line(context, r) for r in records]}

    circular = "FAA AC 43.13-1B"
    return [
        rule(
            "Generators loaded over 80 %, with no loadmeter",
            f"{circular}, 11-35: a rule of thumb, with nothing failed.",
            audit.generators,
            _overload,
        ),
        rule(
            "Breakers and fuses too large for their wire",
            f"{circular}, Table 11-3, DC, copper; where the catalogue names the gauge.",
            audit.wires,
            _over_wire,
        ),
        rule(
            "Rated below the load that they feed",
            f"{circular}, 11-48, by what the catalogue says is drawn; with nothing failed.",
            audit.loads,
            _overload,
        ),
        rule(
            "Not smaller than the one upstream",
            "It would not open first, and more would go down with it. Common practice.",
            audit.order,
            _not_first,
        ),
        rule(
            "One side of a double feed too weak for the whole bus",
            "Each feeder as if it were the only one left. Common practice.",
            audit.sides,
            _overload,
        ),
        rule(
            "Shorts that nothing clears before a source",
            "Not counted: a bus that is fed by that source alone. Common practice.",
            audit.shorts,
            _short,
        ),
    ]


def _overload(context: PageContext, record: Overload) -> Markup:
    least = f"at least ({counted(len(record.unknown), 'item')} without figures) "
    bus = (
        Markup(", to {}").format(context.fragments.links[record.bus]) if record.bus else Markup("")
    )
    return Markup("{}{}: {}{} in {}; it may carry {}.").format(
        context.fragments.failing[record.component],
        bus,
        least if record.unknown else "",
        NO_BREAK.amps(record.amps),
        context.answers.network.condition_names[record.condition],
        NO_BREAK.rated(record.limit),
    )


def _over_wire(context: PageContext, record: OverWire) -> Markup:
    return Markup("{}: {} on {} gauge wire, which {} protects.").format(
        context.fragments.failing[record.component],
        NO_BREAK.rated(record.rating),
        record.gauge,
        NO_BREAK.rated(record.allowed),
    )


def _not_first(context: PageContext, record: NotFirst) -> Markup:
    failing = context.fragments.failing
    return Markup("{}: {}, fed through {} of {}; {} goes down with either.").format(
        failing[record.component],
        NO_BREAK.rated(record.rating),
        failing[record.upstream],
        NO_BREAK.rated(record.upstream_rating),
        context.fragments.links[record.bus],
    )


def _short(context: PageContext, record: UnclearedShort) -> Markup:
    fragments = context.fragments
    more = Markup("")
    if record.drawn_in:
        more += Markup(" {} did not feed it before the fault.").format(
            fragments.list(record.drawn_in)
        )
    if record.also:
        more += Markup(" Down with it: {}.").format(fragments.list(record.also))
    return Markup("{}: a short on it reaches {} in {}.{}").format(
        fragments.failing[record.bus],
        fragments.list(record.sources),
        context.answers.network.condition_names[record.condition],
        more,
    )


PAGE: PageKind[None] = PageKind(
    template="protection",
    subjects=one_page,
    path=lambda _: PROTECTION,
    title=lambda _: "Protection audit",
    kind=lambda context, _: "Breakers, fuses and links",
    values=_values,
)
