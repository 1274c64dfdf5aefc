"""Numbers in place of names: a drawing to fill in, and the order of its key."""

from __future__ import annotations

import re

from markupsafe import Markup

from sitegen.diagram.drawing import Drawing
from sitegen.diagram.symbols import environment

NAMING = re.compile(r"<title>[^<]*</title>| data-part=\"[^\"]*\"")
"""What shows a name to a pointer or a screen reader."""

RADIUS = 9
"""Of the disc under a number, in drawing units."""


def numbers(drawing: Drawing) -> dict[str, int]:
    """By id of a source, bus or device its number, from the top down and from left to right.

    Parameters
    ----------
    drawing : a laid-out drawing.

    Returns
    -------
    In the order of the numbers, from 1. A device of several poles has one number at all of them.
    """
    parts = dict.fromkeys(key.id for key, _, _ in drawing.labels)
    return {part: k for k, part in enumerate(parts, 1)}


def discs(drawing: Drawing) -> Markup:
    """The numbers of a drawing as SVG, each on a disc where the name begins."""
    number = numbers(drawing)
    offset = {"start": RADIUS, "middle": 0, "end": -RADIUS}
    discs = [(x + offset[anchor], y, number[key.id]) for key, (x, y), anchor in drawing.labels]
    template = environment().get_template("numbers.svg.jinja")
    return Markup(template.render(discs=discs, radius=RADIUS))
