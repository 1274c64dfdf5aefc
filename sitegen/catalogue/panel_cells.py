"""A column whose cells have a panel and a position on it: `P1 A3`, `Overhead/B12`."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sitegen.catalogue.list_names import bare_name

_AT = r"(?P<at>[A-Za-z]{1,3}-?[0-9]{1,2})"
_GAP = r"(?:\s+|\s*[/,;:|(@-]\s*)"
_PATTERNS = (
    rf"(?P<panel>\S.*?){_GAP}(?:pos(?:ition|\.)? ?)?{_AT}\)?",
    rf"{_AT}{_GAP}(?:on )?(?P<panel>[^\s(].*?)\)?",
    rf"(?P<panel>[A-Za-z]+[0-9]+){_AT}",
)


@dataclass(frozen=True)
class JoinedCells:
    """How a column's cells are divided."""

    column: str
    """The meaning that its heading has: `panel` or `at`."""
    pattern: str
    example: str

    def part(self, text: str, meaning: str) -> str:
        """The panel or the position (`at`) in a cell.

        >>> JoinedCells("panel", _PATTERNS[0], "").part("Overhead/B12", "at")
        'B12'
        """
        match = re.fullmatch(self.pattern, text, re.IGNORECASE)
        if match is None:
            return text if meaning == self.column else ""
        return match[meaning]


def joined_cells(texts: Mapping[str, Sequence[str]]) -> JoinedCells | None:
    """The column in which the cells have a panel and a position, and no other column has one.

    One cell in ten may be written otherwise; it stays as it is. A position is of one breaker, and a
    panel of many: a column `Panel P1`, `Panel P2`, repeated in most rows, has panels only.

    Parameters
    ----------
    texts : the filled cells of the columns `panel` and `at`, as far as there are such.
    """
    filled_columns = [(meaning, cells) for meaning, cells in texts.items() if cells]
    if len(filled_columns) != 1:
        return None
    ((meaning, cells),) = filled_columns
    different = set(cells)
    possible = []
    for pattern in _PATTERNS:
        every = (re.fullmatch(pattern, cell, re.IGNORECASE) for cell in different)
        matches = [match for match in every if match]
        if 10 * (len(different) - len(matches)) > len(different):
            continue
        panels = {bare_name(match["panel"]) for match in matches}
        if meaning == "at" or (len(panels) < len(different) and 2 * len(different) > len(cells)):
            possible.append((len(panels), pattern))
    if not possible:
        return None
    pattern = min(possible, key=lambda p: p[0])[1]
    example = next(cell for cell in cells if re.fullmatch(pattern, cell, re.IGNORECASE))
    return JoinedCells(meaning, pattern, example)
