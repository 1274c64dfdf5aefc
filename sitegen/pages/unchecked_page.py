"""The check sheet: the lines of the catalogue that nobody has checked, to print and to sign."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from sitegen.catalogue.lines import CatalogueLine
from sitegen.catalogue.model import Checked
from sitegen.pages.links import UNCHECKED
from sitegen.pages.page_context import PageContext, PageKind, one_page
from sitegen.words import day


def _values(context: PageContext, subject: None) -> Mapping[str, Any]:
    lines = context.answers.catalogue_lines
    parts: dict[str, list[dict[str, Any]]] = {}
    for line in lines.unchecked:
        parts.setdefault(line.title, []).append(_row(context, line))
    return {
        "parts": parts,
        "total": len(lines.lines),
        "count": len(lines.unchecked),
        "checkers": "; ".join(_checkers(lines.lines)),
    }


def _row(context: PageContext, line: CatalogueLine) -> dict[str, Any]:
    place = context.answers.reading.locations.at(*line.path)
    is_record = len(line.path) == 2
    return {
        "name": context.fragments.links.get(line.record_id, line.name) if is_record else line.name,
        "facts": line.facts,
        "reference": line.reference,
        "place": f"{place.file}:{place.line}",
    }


def _checkers(lines: Sequence[CatalogueLine]) -> Iterator[str]:
    """Who has checked how many lines, and when the last."""
    checks: dict[str, list[Checked]] = {}
    for line in lines:
        if line.checked:
            checks.setdefault(line.checked.by, []).append(line.checked)
    for name, done in checks.items():
        yield f"{len(done)} by {name}, the last on {day(max(one.on for one in done))}"


PAGE: PageKind[None] = PageKind(
    template="unchecked",
    subjects=one_page,
    path=lambda _: UNCHECKED,
    title=lambda _: "What has not been checked",
    kind=lambda context, _: "Check sheet",
    values=_values,
    depends_on=lambda context, _: [],
)
