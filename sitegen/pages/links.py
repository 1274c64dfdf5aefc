"""The names of a site's files. Pages lie flat in their airframe's folder; links are relative.

Every kind of page has a prefix of its own, and none is the start of another, so two pages never
meet under one name.
"""

from __future__ import annotations

INDEX = "index.html"
A_TO_Z = "a-to-z.html"
CHANGES = "changes.html"
NOTES = "notes.html"
FAILURES = "failures.html"
BUSES = "buses.html"
PANELS = "panels.html"
FUNCTIONS = "functions.html"
CONDITIONS = "conditions.html"
PAPER = "paper.html"
SEARCH = "search.js"
AUDIT = "audit.html"
WHICH = "which-failed.html"
PROTECTION = "protection.html"
LOADS = "loads.html"
LOADS_TABLE = "loads.csv"
OVERVIEW = "overview.html"
LIVE = "live.js"
STILL = "drawing.svg"
BOARD = "board.html"
DIAGNOSE = "diagnose.html"
UNCHECKED = "unchecked.html"
PRACTISE = "practise.html"
HANDOUT = "handout.html"
BLANK = "blank.html"
FILES = "files.json"
MANIFEST = "manifest.json"


def bus_page(bus: str) -> str:
    """The page of a bus."""
    return f"bus-{bus}.html"


def failure_page(component: str) -> str:
    """The page that says what is lost with a source, a bus or a device."""
    return f"failure-{component}.html"


def named_failure_page(failure: str) -> str:
    """The page of a failure that the catalogue names."""
    return f"named-failure-{failure}.html"


def equipment_page(equipment: str) -> str:
    """The page of a piece of equipment."""
    return f"equipment-{equipment}.html"


def indication_page(indication: str) -> str:
    """The page of a meter, lamp or flag."""
    return f"indication-{indication}.html"


def panel_page(panel: str) -> str:
    """The page of a panel."""
    return f"panel-{panel}.html"


def place_on_panel(panel: str, component: str) -> str:
    """A breaker's place on the page of its panel."""
    return f"{panel_page(panel)}#at-{component}"


def bus_on_panel(panel: str, bus: str) -> str:
    """A panel with the breakers of one bus picked out."""
    return f"{panel_page(panel)}#bus-{bus}"


def function_page(function: str) -> str:
    """The page of a function."""
    return f"function-{function}.html"


def condition_place(condition: str) -> str:
    """Where it says what a condition is."""
    return f"{CONDITIONS}#condition-{condition}"


def condition_time(condition: str) -> str:
    """Where it says how long the batteries last in a condition with nothing failed."""
    return f"{CONDITIONS}#time-{condition}"


def differences_page(airframe: str) -> str:
    """The page of how another airframe differs from this one."""
    return f"differences-{airframe}.html"


def note_page(note: str) -> str:
    """The page of a note."""
    return f"note-{note}.html"


def handout_page(handout: str, number: int) -> str:
    """The page of a handout; the first of an airframe has the plain name."""
    return f"handout-{handout}.html" if number else HANDOUT


def blank_page(bus: str) -> str:
    """The diagram of a bus to fill in."""
    return f"blank-{bus}.html"
