"""The header and footer of every printed page, and its size."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from sitegen.pages.handout.handout_context import HandoutContext
from sitegen.pages.page_context import frame

SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height, mm (ISO 216; ANSI/ASME Y14.1 A)."""

NAMES = {"a4": "A4", "letter": "Letter"}
"""As CSS and people call them."""

SIDE, HEAD, FOOT = 12.0, 15.0, 17.0
"""Margins of a page, mm; `handout.css` has the same."""

KEY_COLUMN = 40.0
"""Beside a drawing in landscape, for its title and legend, mm."""
KEY_ROWS = 42.0
"""Above and below a drawing in portrait, mm."""


def paper_style(handout: HandoutContext) -> Markup:
    """The rules of this handout's pages: their size, and the lines at head and foot."""
    shared = frame(handout.context.answers.network.catalogue)
    whose = f"{shared['aircraft']}, {handout.context.answers.airframe.name}"
    edges = (
        ("top-left", quoted(whose)),
        ("top-center", quoted(handout.record.name)),
        ("top-right", quoted(f"Revision {shared['revision']} of {shared['revised']}")),
        ("bottom-left", quoted(str(shared["caution"]))),
        ("bottom-right", '"Page " counter(page) " of " counter(pages)'),
    )
    size = NAMES[handout.paper]
    boxes = "".join(f"@{place}{{content:{text}}}" for place, text in edges)
    return Markup(f"@page{{size:{size};{boxes}}}@page lying{{size:{size} landscape}}")


def on_one_page(handout: HandoutContext, section: str) -> dict[str, Any]:
    """How the whole drawing is set on its page, and what this section explains below it."""
    whole, paper = handout.context.drawings.whole, handout.paper
    explained = handout.explained_conditions if handout.explains == section else []
    letters = sum(len(f"{c.name} {c.note} {set_so}") for c, set_so in explained)
    return {
        "wide": landscape(whole.width, whole.height, paper),
        "height": f"{drawn_height(whole.width, whole.height, paper, letters):.1f}",
        "explained": explained,
    }


def quoted(text: str) -> str:
    r"""A text as a CSS string, which nothing in it can end.

    >>> quoted('Say "no"')
    '"Say \\22 no\\22 "'
    """
    safe = "".join(c if c.isalnum() or c in " ,.;:'()/+-" else f"\\{ord(c):x} " for c in text)
    return f'"{safe}"'


def landscape(width: float, height: float, paper: str) -> bool:
    """Whether a drawing is larger on a page in landscape."""
    return _scale(width, height, paper, True) > _scale(width, height, paper, False)


def drawn_height(width: float, height: float, paper: str, text_below: int = 0) -> float:
    """The height of a drawing that fills its page above a paragraph of this many letters, mm."""
    across = landscape(width, height, paper)
    fills = height * _scale(width, height, paper, across)
    _, long = SIZES[paper]
    return fills if across else min(fills, long - HEAD - FOOT - KEY_ROWS - _depth(text_below))


def _depth(letters: int) -> float:
    """The height of a paragraph with its heading, mm; none for no text."""
    return 14.0 + 4.0 * (letters // 100) if letters else 0.0


def _scale(width: float, height: float, paper: str, in_landscape: bool) -> float:
    short, long = SIZES[paper]
    if in_landscape:
        room = long - 2 * SIDE - KEY_COLUMN, short - HEAD - FOOT - 2
    else:
        room = short - 2 * SIDE, long - HEAD - FOOT - KEY_ROWS
    return min(room[0] / width, room[1] / height)
