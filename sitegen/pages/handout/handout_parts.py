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
from sitegen.pages.handout.handout_context import Course
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

MAKERS: Mapping[str, Callable[[Course], Values]] = {
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
"""What each part's template is given. A new part is a line here, one above, and a template."""

OWN_SHEETS = ("diagram", "blank-diagram")
"""These fill a page and have their title on it."""


@dataclass(frozen=True)
class Part:
    """One part of a handout."""

    section: str
    number: int | None
    title: str
    body: Markup
    wide: bool
    """It lies on its side."""

    @property
    def titled(self) -> bool:
        """Whether its title stands above it."""
        return self.section not in OWN_SHEETS and self.section != "cover"


def parts(course: Course) -> list[Part]:
    """Every part that has anything to say."""
    found = []
    for section in course.handout.sections:
        if section == "cover":
            contents = [
                {"number": n, "title": TITLES[s], "anchor": s} for s, n in course.numbers.items()
            ]
            values: Values = cover(course, contents)
        elif section in course.numbers:
            values = MAKERS[section](course)
        else:
            continue
        shared = {"number": course.numbers.get(section), "title": TITLES[section]}
        marks = course.context.pictures.marks
        body = fill(f"handout/{section}", {"marks": marks, **shared, **values})
        found.append(
            Part(
                section,
                course.numbers.get(section),
                TITLES[section],
                Markup(body),
                bool(values.get("wide", False)),
            )
        )
    return found
