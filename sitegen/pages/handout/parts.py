"""The parts of a handout, in the order that its author has chosen."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from sitegen.pages.handout import amps, blanks, buses, failures, functions, index, matrix, seen
from sitegen.pages.handout.course import Course
from sitegen.pages.handout.front import cover, diagram, notes
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
    "buses": buses.values,
    "function-losses": matrix.of_functions,
    "equipment-losses": matrix.of_equipment,
    "failures": failures.values,
    "indications": seen.values,
    "functions": functions.values,
    "loads": amps.loads,
    "battery": amps.battery,
    "notes": notes,
    "index": index.values,
    "blank-diagram": blanks.diagram,
    "blank-buses": blanks.buses,
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
        marks = course.sheet.pictures.marks
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
