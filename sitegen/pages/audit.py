"""The audit: what a single failure must not take, and does."""

from __future__ import annotations

from collections.abc import Sequence

from sitegen.network.audit import Weakness
from sitegen.network.audit import audit as find_weaknesses
from sitegen.network.scenarios import Fault
from sitegen.pages.links import AUDIT, PROTECTION, function_page
from sitegen.pages.sets import faults
from sitegen.pages.sheet import Page, Sheet
from sitegen.pages.views import classes


def pages(sheet: Sheet) -> list[Page]:
    """One page, where the catalogue has functions."""
    if not sheet.answers.network.catalogue.functions:
        return []
    return [sheet.page(AUDIT, lambda: _page(sheet))]


def _page(sheet: Sheet) -> str:
    answers = sheet.answers
    found = find_weaknesses(answers.every_fault)
    conditions = answers.conditions
    counts = [sum(c.id in w.conditions for w in found.essential) for c in conditions]
    functions = answers.network.catalogue.functions
    return sheet.fill(
        "audit",
        AUDIT,
        "Single-failure audit",
        "Functions",
        rows=sheet.by_condition([f"{n} found" if n else "none found" for n in counts]),
        protection=PROTECTION,
        essential=_by_function(sheet, found.essential),
        independent=_by_function(sheet, found.independent),
        none_essential=_none(sheet, found.essential),
        none_independent=_none(sheet, found.independent),
        essential_count=sum(f.essential for f in functions),
        pair_count=sum(len(f.independent) for f in functions),
    )


def _none(sheet: Sheet, found: Sequence[Weakness]) -> str | None:
    """The classes of the views in which nothing was found; None if something was in every one."""
    conditions = sheet.answers.conditions
    mask = sum(
        1 << i for i, c in enumerate(conditions) if not any(c.id in w.conditions for w in found)
    )
    return classes(mask, len(conditions)) if mask else None


def _by_function(sheet: Sheet, found: Sequence[Weakness]) -> list[dict[str, object]]:
    """The weaknesses by function (and pair), each failure in the views of its conditions."""
    conditions = [c.id for c in sheet.answers.conditions]
    count = len(conditions)
    names = sheet.answers.network.names
    groups: dict[tuple[str, tuple[str, ...]], dict[str, dict[tuple[str, ...], list[Fault]]]] = {}
    for w in found:
        of_component = groups.setdefault((w.function, w.items), {}).setdefault(w.fault[0], {})
        of_component.setdefault(w.conditions, []).append(w.fault)
    rows: list[dict[str, object]] = []
    for (function, items), components in groups.items():
        lines = [
            {"classes": classes(_mask(conditions, where), count), "name": faults(sheet, modes)}
            for by_conditions in components.values()
            for where, modes in by_conditions.items()
        ]
        anywhere = {c for by in components.values() for where in by for c in where}
        rows.append(
            {
                "classes": classes(_mask(conditions, tuple(anywhere)), count),
                "href": function_page(function),
                "name": names[function],
                "items": sheet.pieces.list(items) if items else "",
                "lines": lines,
            }
        )
    return rows


def _mask(conditions: Sequence[str], where: Sequence[str]) -> int:
    return sum(1 << i for i, c in enumerate(conditions) if c in where)
