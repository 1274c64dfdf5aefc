"""The file that the live drawing reads: one airframe's wiring, its drawing, and its pages.

A script that only sets a variable, so that it loads from a folder.
"""

from __future__ import annotations

from sitegen.pages.author_text import for_script
from sitegen.pages.links import LIVE, bus_page, equipment_page, failure_page, function_page
from sitegen.pages.live_data import live_data
from sitegen.pages.page_context import DataFile, PageContext


def _file(context: PageContext) -> str:
    network = context.answers.network
    drawing, parts = context.drawings.unmarked
    catalogue = network.catalogue
    values = {
        "wiring": live_data(network),
        "drawing": drawing,
        "parts": parts,
        "pages": {
            **{s.id: failure_page(s.id) for s in catalogue.sources},
            **{d.id: failure_page(d.id) for d in catalogue.devices},
            **{b.id: bus_page(b.id) for b in catalogue.buses},
            **{e.id: equipment_page(e.id) for e in catalogue.equipment},
            **{f.id: function_page(f.id) for f in catalogue.functions},
        },
    }
    return f"var airframe = {for_script(values)};\n"


LIVE_FILE = DataFile(LIVE, _file)
