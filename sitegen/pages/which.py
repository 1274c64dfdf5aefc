"""'Which one failed?': from what the indications show to what has failed, on one sheet."""

from __future__ import annotations

from collections.abc import Sequence

from sitegen.network.looks import Look, Looks
from sitegen.pages.links import WHICH
from sitegen.pages.sets import by_component
from sitegen.pages.sheet import Page, Sheet
from sitegen.pages.views import classes
from sitegen.pages.words import counted


def pages(sheet: Sheet) -> list[Page]:
    """One page, where the catalogue has indications."""
    if not sheet.answers.network.catalogue.indications:
        return []
    return [sheet.page(WHICH, lambda: _page(sheet))]


def _page(sheet: Sheet) -> str:
    answers = sheet.answers
    found = answers.looks
    count = len(found)
    return sheet.fill(
        "which",
        WHICH,
        "Which one failed?",
        "From what you see",
        rows=sheet.by_condition([counted(len(f.shown), "look") for f in found]),
        conditions=[
            {
                "classes": classes(1 << i, count),
                "name": condition.name,
                "normal": _normal(sheet, table),
                "branches": branches(sheet, table),
                "unseen": by_component(sheet, table.unseen),
                "harmless": len(table.harmless),
            }
            for i, (condition, table) in enumerate(zip(answers.conditions, found, strict=True))
        ],
    )


def _normal(sheet: Sheet, table: Looks) -> list[dict[str, str]]:
    names = sheet.answers.network.names
    return [{"name": names[i], "shows": shows} for i, shows in table.normal.items()]


def branches(sheet: Sheet, table: Looks) -> list[dict[str, object]]:
    """The looks by what the voltmeters read, as one reads them first, then by all the rest."""
    indications = sheet.answers.network.catalogue.indications
    meters = [i.id for i in indications if i.kind == "voltmeter"]
    names = sheet.answers.network.names
    branches: dict[tuple[str, ...], list[Look]] = {}
    for look in table.shown:
        readings = dict(look.readings)
        branches.setdefault(tuple(readings[m] for m in meters), []).append(look)
    normal = tuple(table.normal[m] for m in meters)
    # The normal pattern last: who comes here has mostly seen a meter off its mark.
    ordered = sorted(branches.items(), key=lambda b: b[0] == normal)
    return [
        {
            "meters": [
                {"name": names[m], "shows": shows, "off": shows != table.normal[m]}
                for m, shows in zip(meters, pattern, strict=True)
            ],
            "as_normal": pattern == normal,
            "looks": [_look(sheet, look, meters) for look in members],
        }
        for pattern, members in ordered
    ]


def _look(sheet: Sheet, look: Look, meters: Sequence[str]) -> dict[str, object]:
    names = sheet.answers.network.names
    readings = dict(look.readings)
    return {
        "seen": [{"name": names[i], "shows": readings[i]} for i in look.changed if i not in meters],
        "causes": by_component(sheet, look.faults),
    }
