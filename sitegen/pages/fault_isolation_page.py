"""'Which one failed?': from what the indications show to what has failed, on one page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sitegen.answers.readings import Reading, reading_text
from sitegen.answers.signatures import Signature, Signatures
from sitegen.pages.fragments.failure_sets import by_answer
from sitegen.pages.links import WHICH
from sitegen.pages.page_context import PageContext, PageKind
from sitegen.pages.views import classes
from sitegen.words import counted


def _values(context: PageContext, subject: None) -> Mapping[str, Any]:
    answers = context.answers
    tables = answers.signature_table
    count = len(tables)
    return {
        "rows": context.by_condition([counted(len(f.shown), "signature") for f in tables]),
        "conditions": [
            {
                "classes": classes(1 << i, count),
                "name": condition.name,
                "normal": _normal(context, table),
                "has_ranges": has_ranges(table),
                "branches": branches(context, table),
                **unseen(context, table),
                "harmless": len(table.harmless),
            }
            for i, (condition, table) in enumerate(zip(answers.conditions, tables, strict=True))
        ],
    }


def unseen(context: PageContext, table: Signatures) -> dict[str, object]:
    """What no indication shows; breakers of single items, whose item shows it, are counted."""
    paged = set(context.answers.paged)
    first = table.unseen["expected"]
    listed = tuple(f for f in first if f[0] in paged)
    return {
        "unseen": by_answer(context, {**table.unseen, "expected": listed}),
        "own_breakers": len(first) - len(listed),
    }


def has_ranges(table: Signatures) -> bool:
    """Whether a meter of the healthy aircraft may show anything in a range."""
    return any(shows.band for shows in table.normal.values())


def _normal(context: PageContext, table: Signatures) -> list[dict[str, str]]:
    return [
        {"name": i.name, "shows": reading_text(table.normal[i.id], i.kind)}
        for i in context.answers.network.catalogue.indications
    ]


def branches(context: PageContext, table: Signatures) -> list[dict[str, object]]:
    """The signatures by the voltmeters, which are read first, then by all the rest."""
    indications = context.answers.network.catalogue.indications
    meters = [i.id for i in indications if i.kind == "voltmeter"]
    names = context.answers.network.names
    branches: dict[tuple[Reading, ...], list[Signature]] = {}
    for signature in table.shown:
        readings = dict(signature.readings)
        branches.setdefault(tuple(readings[m] for m in meters), []).append(signature)
    normal = tuple(table.normal[m] for m in meters)
    # The normal pattern last: who comes here has mostly seen a meter off its mark.
    ordered = sorted(branches.items(), key=lambda b: b[0] == normal)
    return [
        {
            "meters": [
                {"name": names[m], "shows": str(shows), "off": shows != table.normal[m]}
                for m, shows in zip(meters, pattern, strict=True)
            ],
            "as_normal": pattern == normal,
            "signatures": [_signature(context, signature, meters) for signature in members],
        }
        for pattern, members in ordered
    ]


def _signature(
    context: PageContext, signature: Signature, meters: Sequence[str]
) -> dict[str, object]:
    readings = dict(signature.readings)
    return {
        "seen": [
            {"name": i.name, "shows": reading_text(readings[i.id], i.kind)}
            for i in context.answers.network.catalogue.indications
            if i.id in signature.changed and i.id not in meters
        ],
        "causes": by_answer(context, signature.faults),
    }


PAGE: PageKind[None] = PageKind(
    template="fault-isolation",
    subjects=lambda context: [None] if context.answers.network.catalogue.indications else [],
    path=lambda _: WHICH,
    title=lambda _: "Which one failed?",
    kind=lambda context, _: "From what you see",
    values=_values,
)
