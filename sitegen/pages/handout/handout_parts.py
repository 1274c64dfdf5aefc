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

TITLES = {
    "cover": "Cover",
    "diagram": "Diagram",
    "buses": "Buses",
    "function-losses": "Which failure takes which function",
    "equipment-losses": "Which failure takes which equipment",
    "failures": "Failure by failure",
    "indications": "What you see",
    "functions": "Functions, and what is left",
    "loads": "Loads",
    "battery": "Time on battery",
    "notes": "Notes",
    "index": "Index",
    "blank-diagram": "Diagram to fill in",
    "blank-buses": "Buses to fill in",
}

MAKERS: Mapping[str, Callable[[HandoutContext], Values]] = {
    "diagram": diagram,
    "buses": bus_blocks.values,
    "function-losses": loss_matrix.of_functions,
    "equipment-losses": loss_matrix.of_equipment,
    "failures": failure_blocks.values,
    "indications": indication_table.values,
    "functions": function_table.values,
    "loads": load_tables.loads,
    "battery": load_tables.battery,
    "notes": notes,
    "index": printed_index.values,
    "blank-diagram": fill_in_sheets.diagram,
    "blank-buses": fill_in_sheets.buses,
}
"""The values of each part's template. A new part is a line here, a title above and a template."""

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
        if section == "cover":
            contents = [
                {"number": n, "title": TITLES[s], "anchor": s} for s, n in handout.numbers.items()
            ]
            values: Values = cover(handout, contents)
        elif section in handout.numbers:
            values = MAKERS[section](handout)
        else:
            continue
        shared = {"number": handout.numbers.get(section), "title": TITLES[section]}
        body = fill(f"handout/{section}", {**handout.context.lookups, **shared, **values})
        parts.append(
            Part(
                section,
                handout.numbers.get(section),
                TITLES[section],
                Markup(body),
                bool(values.get("wide", False)),
            )
        )
    return parts
