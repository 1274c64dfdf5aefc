"""One airframe's drawing in two files: for the live drawing, and as a picture without scripts.

The first is a script that only sets a variable, so that it loads from a folder.
"""

from __future__ import annotations

from sitegen.answers.device_ends import by_hazard
from sitegen.catalogue.ata_chapters import chapter, chapter_title
from sitegen.catalogue.kinds import KINDS, MODE_NOUNS
from sitegen.pages.author_text import for_script
from sitegen.pages.links import (
    BOARD,
    LIVE,
    STILL,
    bus_page,
    equipment_page,
    failure_page,
    function_page,
)
from sitegen.pages.live_data import live_data
from sitegen.pages.page_context import DataFile, PageContext
from sitegen.pages.part_cards import part_cards
from sitegen.pages.theme import theme_text
from sitegen.words import in_short


def _file(context: PageContext) -> str:
    answers = context.answers
    network = answers.network
    drawing, parts = context.drawings.unmarked
    catalogue = network.catalogue
    values = {
        "wiring": live_data(network, answers.single_failures, answers.named_failures),
        "drawing": drawing,
        "parts": parts,
        "legend": context.drawings.legend,
        "cards": part_cards(network),
        "modes": MODE_NOUNS,
        "chapters": {
            number: chapter_title(number)
            for number in sorted({chapter(e.ata) for e in network.equipment.values()})
        },
        "conducting": {k.id: k.conducting for k in KINDS.values() if k.role == "device"},
        "hazards": {
            **{i: network.hazard_in_short(i) for i in network.hazards},
            **{
                device: "; ".join(
                    f"{where}: {in_short(hazard)}" for where, hazard in by_hazard(network, sides)
                )
                for device, sides in answers.live_sides.items()
            },
        },
        "board": BOARD if context.has(BOARD) else "",
    }
    pages = {
        failure_page("*"): [one.id for one in (*catalogue.sources, *catalogue.devices)],
        bus_page("*"): [b.id for b in catalogue.buses],
        equipment_page("*"): [e.id for e in catalogue.equipment],
        function_page("*"): [f.id for f in catalogue.functions],
    }
    return f"var airframe = {for_script(values)};\n{_PAGES_BY_ID % for_script(pages)}"


# Pages have the names of what they are about: said once for each kind, they are 2 kB fewer to send.
_PAGES_BY_ID = """\
airframe.pages = {};
Object.entries(%s).forEach(function (kind) {
  kind[1].forEach(function (id) { airframe.pages[id] = kind[0].replace("*", id); });
});
"""


def _still(context: PageContext) -> str:
    """The drawing as a picture, which with `#s3` in its address is as in the fourth condition."""
    drawings, normal = context.drawings, context.answers.normal
    svg = str(drawings.drawn(drawings.whole, normal, resolve=lambda page: None))
    opening, _, content = svg.partition(">")
    style = theme_text("palette.css") + theme_text("diagram.css", len(normal))
    style = style.replace("#view-", "#s").replace(":checked", ":target")
    places = "".join(f'<g id="s{k}"/>' for k in range(len(normal)))
    return f"{opening}><style>{style}</style>{places}<g>{content.replace('</svg>', '</g></svg>')}"


LIVE_FILE = DataFile(LIVE, _file)
STILL_FILE = DataFile(STILL, _still)
