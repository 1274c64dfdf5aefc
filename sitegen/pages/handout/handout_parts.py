"""The parts of a handout, in the order that its author has chosen."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from sitegen.pages.handout import (
    bus_blocks,
    failure_blocks,
    fill_in_sheets,
    function_table,
    indication_table,
    load_tables,
    loss_matrix,
    printed_index,
)
from sitegen.pages.handout.handout_context import HandoutContext
from sitegen.pages.handout.opening_parts import cover, diagram, notes
from sitegen.pages.theme import fill

Values = Mapping[str, Any]

PARTS: Mapping[str, tuple[str, Callable[[HandoutContext], Values]]] = {
    "diagram": ("Diagram", diagram),
    "buses": ("Buses", bus_blocks.values),
    "function-losses": ("Which failure takes which function", loss_matrix.of_functions),
    "equipment-losses": ("Which failure takes which equipment", loss_matrix.of_equipment),
    "failures": ("Failure by failure", failure_blocks.values),
    "indications": ("What you see", indication_table.values),
    "functions": ("Functions, and what is left", function_table.values),
    "loads": ("Loads", load_tables.loads),
    "battery": ("Time on battery", load_tables.battery),
    "notes": ("Notes", notes),
    "index": ("Index", printed_index.values),
    "blank-diagram": ("Diagram to fill in", fill_in_sheets.diagram),
    "blank-buses": ("Buses to fill in", fill_in_sheets.buses),
}
"""The title of each part and the values of its template. A new part is a line here."""

OWN_SHEETS = ("diagram", "blank-diagram")
"""These fill a page and have their title inside."""


@dataclass(frozen=True)
class Part:
    """One part of a handout."""

    section: str
    number: int | None
    title: str
    body: Markup
    wide: bool
    """Printed in landscape."""

    @property
    def titled(self) -> bool:
        """Whether its title is above it."""
        return self.section not in OWN_SHEETS and self.section != "cover"


def parts(handout: HandoutContext) -> list[Part]:
    """Every part that has content."""
    parts = []
    for section in handout.record.sections:
        title, number = "Cover", handout.numbers.get(section)
        if section == "cover":
            contents = [
                {"number": n, "title": PARTS[s][0], "anchor": s} for s, n in handout.numbers.items()
            ]
            values: Values = cover(handout, contents)
        elif section in handout.numbers:
            title, make = PARTS[section]
            values = make(handout)
        else:
            continue
        shared = {**handout.context.lookups, "number": number, "title": title}
        body = Markup(fill(f"handout/{section}", {**shared, **values}))
        parts.append(Part(section, number, title, body, bool(values.get("wide", False))))
    return parts
